"""Pauses, and what hurts. Shared: used by the child page, the floor and review."""

import datetime
from collections.abc import Iterable

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from progression.log.lines import FALL, HANDS_AGAIN, STOP_SIGN
from readiness.record.latest_events import LatestEvents
from readiness.words.names import Names
from readiness.words.numbers import join_words

# To whom of the family something was said; what is no code was written by hand.
WHOM: dict[str, Lazy] = {
    "guardian-here": gettext_lazy("a parent or guardian, here"),
    "guardian-phone": gettext_lazy("a parent or guardian, by phone"),
    "other-adult": gettext_lazy("another adult who takes the child home"),
}


def why_paused(names: Names, events: LatestEvents, since: datetime.date) -> str:
    """What somebody wrote when they paused the child; else what hurt."""
    pause = events.pause_since(since)
    if pause is not None:
        return pause.word
    return _why_pain_paused(names, events, since)


def _why_pain_paused(names: Names, events: LatestEvents, since: datetime.date) -> str:
    """What hurt, and by which rule that is a pause; what hurt last where none is found, as of two
    records that were merged."""
    ladder = names.ladder.engine
    for place in (place for place, day in events.pains if day == since):
        values = {"place": names.place(place), "days": ladder.pain_again_days}
        if place in ladder.pains and ladder.pains[place].pause:
            return _("Something hurt: %(place)s. There it is a pause at once.") % values
        before = [day for each, day in events.pains if each == place and day < since]
        if before and (since - before[-1]).days <= ladder.pain_again_days:
            values |= {"before": names.date(before[-1]), "day": names.date(since)}
            form = _(
                "The same place hurt twice: %(place)s, on %(before)s and on %(day)s. Within "
                "%(days)s days that is a pause."
            )
            return form % values
    return pain_text(names, events.pain.word) if events.pain else ""


def paused_since(names: Names, day: datetime.date) -> str:
    return _("Paused since %(day)s") % {"day": names.date(day)}


def paused_until_lifted(names: Names, day: datetime.date) -> str:
    return _("Paused since %(day)s, until a director lifts it") % {"day": names.date(day)}


def pause_ends(by: str) -> str:
    return _("%(by)s lifted it today: it ends tomorrow.") % {"by": by}


def hurts_today(names: Names, places: Iterable[str]) -> str:
    """What was said to hurt today, and what follows from it; empty if nothing."""
    hurting = [names.place(place) for place in dict.fromkeys(places)]
    if not hurting:
        return ""
    form = _(
        "Told today that something hurts: %(places)s. Does nothing that loads it today; ask "
        "again at the next class. The same place again within %(days)s days is a pause."
    )
    return form % {"places": join_words(hurting), "days": names.ladder.engine.pain_again_days}


def gone_or_still_there(names: Names, place: str, day: datetime.date) -> str:
    """The question about what hurt on an earlier day."""
    form = _(
        "%(place)s, on %(day)s: gone, or still there? Until it is gone, nothing that loads it."
    )
    return form % {"place": names.place(place), "day": names.date(day)}


def hurts_today_short(names: Names, events: LatestEvents) -> str:
    """What was said last to hurt today, for a list; empty if nothing."""
    pain = events.pain
    if pain is None or pain.day != names.day:
        return ""
    values = {"place": names.place(pain.word)}
    return _("Hurts today: %(place)s; does nothing that loads it") % values


def told_text(names: Names, about: str, whom: str, asked_for: str = "") -> str:
    """``asked_for``: whom the family asked for, or empty."""
    others = {FALL: _("a fall"), STOP_SIGN: _("a stop sign"), HANDS_AGAIN: _("hands again")}
    values = {"about": others.get(about) or names.place(about), "whom": WHOM.get(whom, whom)}
    if asked_for:
        form = _("Family told of %(about)s: %(whom)s; they asked for %(asked)s")
        return form % (values | {"asked": asked_for})
    return _("Family told of %(about)s: %(whom)s") % values


def gone_text(names: Names, place: str) -> str:
    values = {"place": names.place(place)}
    return _("No longer hurts: %(place)s") % values


def pain_text(names: Names, place: str) -> str:
    values = {"place": names.place(place)}
    return _("Something hurt: %(place)s") % values
