"""The sentences of the show list."""

from collections.abc import Iterator

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.engine.evening.show_list import CLEAN_DAYS, CLEAN_TURNS
from readiness.models import ShowEntry
from readiness.record.show.places import Place
from readiness.words.names import Names
from readiness.words.numbers import join_words
from studio.models import Staff

Kind = ShowEntry.Kind

VERSIONS: dict[str, Lazy] = {
    "yes": gettext_lazy("Yes"),
    "beside": gettext_lazy("Somebody beside"),
    "easy": gettext_lazy("Easy version"),
}
WHY_NOT: dict[str, Lazy] = {
    "show": gettext_lazy("The yes was for a show that is over."),
    "stop-sign": gettext_lazy("The yes is void: a stop sign since."),
    "pause": gettext_lazy("The yes is void: a pause since."),
    "days": gettext_lazy("The yes is void: it is more than 28 days old."),
    "evidence": gettext_lazy("The yes is void: a turn that it stood on was taken back."),
    "merged": gettext_lazy("The yes was given to another record of this child: it counts no more."),
    "closed": gettext_lazy("Not now: the skill is closed, or on re-check."),
}
HISTORY: dict[str, Lazy] = {
    Kind.EASY: gettext_lazy("The easy version"),
    Kind.BESIDE: gettext_lazy("Somebody beside"),
    Kind.RECOMMEND: gettext_lazy("A yes recommended"),
    Kind.YES: gettext_lazy("A yes signed"),
    Kind.FIRST_TURN: gettext_lazy("First turn there done, with a coach beside"),
    Kind.OWN_YES: gettext_lazy("Said yes"),
}
# By drill: the same counts, facing and end pose, no spotter, the head never below the hips.
EASY: dict[str, Lazy] = {
    "walkover-in-dance": gettext_lazy(
        "Kneel and draw (8 counts): 1-2 step back, arms up; 3-4 sink onto the back knee, one hand "
        "to the floor; 5-6 the free leg draws a low half circle; 7-8 rise."
    ),
    "handspring-in-dance": gettext_lazy(
        "Sit, jump, step (4 counts): 1 the sit with arms low; 2 swing and jump tall; 3 land still, "
        "chest round; 4 one long step back into the end pose."
    ),
}


def turns_text(place: Place) -> str:
    """What there is of the six clean turns."""
    record = place.record
    turns = ngettext("%(n)s clean turn", "%(n)s clean turns", record.clean) % {"n": record.clean}
    days = ngettext("%(n)s day", "%(n)s days", len(record.days)) % {"n": len(record.days)}
    return _(
        "%(turns)s of %(need)s at the end of a run-through, on %(days)s of %(need_days)s, on this "
        "floor, in shoes and costume"
    ) % {"turns": turns, "need": CLEAN_TURNS, "days": days, "need_days": CLEAN_DAYS}


def missed_text(names: Names, place: Place) -> str:
    missed = place.record.missed_on
    if missed is None:
        return ""
    return _("On %(day)s the first one was not clean: nothing before it counts.") % {
        "day": names.date(missed)
    }


def still_asked(place: Place, wings: Staff | None) -> str:
    """What a yes still asks for on the day of the show; "" with nothing."""
    missing = list(_missing_on_the_day(place, wings))
    if place.version != "yes" or place.day != place.number.show.on or not missing:
        return ""
    return _("Not before: %(what)s.") % {"what": join_words(missing)}


def _missing_on_the_day(place: Place, wings: Staff | None) -> Iterator[str]:
    if wings is None:
        yield _("somebody in the wings")
    if place.said_on_the_day(Kind.FIRST_TURN) is None:
        yield _("the first turn there, with a coach beside")
    if place.said_on_the_day(Kind.OWN_YES) is None:
        yield _("%(name)s’s own yes") % {"name": place.child.listed}
