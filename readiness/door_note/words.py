"""The sentences of a door note, in the language that is active. An empty value leaves its sentence
out."""

import datetime
from collections.abc import Mapping, Sequence

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext

from readiness.models import DoorNote

Kind = DoorNote.Kind
Values = Mapping[str, object]

# Between the note in the family's language and the same in the studio's.
BETWEEN_LANGUAGES = "\n\n\n"

DID: dict[str, Lazy] = {
    "stopped": gettext_lazy("stopped for today"),
    "shapes": gettext_lazy("went on with shapes on the floor"),
    "hands": gettext_lazy("went on with a coach's hands"),
}
# By the fault of the turn, what says more of it first.
SEEN: dict[str, Lazy] = {
    "caught": gettext_lazy("a coach had to catch"),
    "half-hearted": gettext_lazy("one turn slowed half way"),
    "feet-move": gettext_lazy("the feet moved before the jump"),
    "arms-give": gettext_lazy("the arms bent"),
    "turns-in-air": gettext_lazy("one turn went sideways"),
    "drops-in": gettext_lazy("the last part of the back bend was a drop"),
    "reaches-behind": gettext_lazy("a hand went behind"),
}
RED_FLAGS: Sequence[Lazy] = (
    gettext_lazy("a sore or painful neck"),
    gettext_lazy("a fit"),
    gettext_lazy("passing out"),
    gettext_lazy("being hard to wake"),
    gettext_lazy("vomiting more than once"),
    gettext_lazy("a headache that is bad or grows"),
    gettext_lazy("seeing double or not seeing"),
    gettext_lazy("weak or tingling arms or legs"),
    gettext_lazy("growing confusion"),
    gettext_lazy("growing restlessness or anger"),
    gettext_lazy("a dent or swelling of the skull"),
)


def seen_text(faults: Sequence[str]) -> str:
    said = next((SEEN[key] for key in SEEN if key in faults), None)
    return str(said) if said else _("a turn was not sure")


def note_words(kind: str, values: Values) -> str:
    """All of it, an empty line between paragraphs; what to look for is a line each."""
    body = {Kind.FALL: _fall, Kind.HEAD: _head_knock, Kind.HANDS: _hands_again}[Kind(kind)]
    parts = [_head(values), *body(values), _foot(values)]
    return "\n\n".join(part for part in parts if part)


def _with(values: Values, *sentences: str) -> str:
    """The sentences of which every value is known, in a row."""
    said = []
    for sentence in sentences:
        known = _Known(values)
        text = sentence % known
        said += [text] if known.complete else []
    return " ".join(said)


class _Known(dict[str, object]):
    """Values that remember whether one that was asked for is missing."""

    complete = True

    def __getitem__(self, name: str) -> object:
        value = self.get(name, "")
        self.complete = self.complete and value not in ("", None)
        return value


def _head(values: Values) -> str:
    place = [str(values[name]) for name in ("date", "time", "class", "hall") if values.get(name)]
    return _with(
        {**values, "place": pgettext("between day, time, class and hall", ", ").join(place)},
        _("%(place)s."),
        _("For the family of %(full_name)s."),
        _("Given by %(coach)s to %(told)s."),
    )


def _foot(values: Values) -> str:
    return _with(values, _("Questions: %(phone)s."), _("Emergency: %(emergency)s."))


def _fall(values: Values) -> list[str]:
    fell = _("In today's class %(name)s fell, at “%(drill)s”.")
    return [
        _with(
            values,
            # Not every fall is at a drill, and a note says what happened.
            fell if values.get("drill") else _("In today's class %(name)s fell."),
            *([_("%(name)s said that nothing hurts.")] if values.get("nothing_hurts") else []),
            _("We are not clinicians."),
            _("What we did: %(did)s."),
        ),
        _with(
            values,
            _(
                "Tonight and tomorrow please look for pain, swelling, a limp, an arm that is not "
                "used, a stiff or sore neck or back."
            ),
            _("Then no sport; ask a clinician and call us."),
            _("If %(name)s tells of a knock to the head, call us tonight."),
        ),
    ]


def _head_knock(values: Values) -> list[str]:
    plain = _("In today's class %(name)s had a knock to the head.")
    knock = _("In today's class %(name)s had a knock to the head, at “%(drill)s”.")
    # Never left out: a number that is missing is written in by hand.
    number = values.get("emergency") or _("the emergency number")
    call = _("Call %(emergency)s at once for any of these:") % {"emergency": number}
    return [
        _with(
            values,
            knock if values.get("drill") else plain,
            _("%(name)s stopped at once."),
            _("We cannot say what it is, and signs can come hours later."),
            _("Somebody should stay with %(name)s for 24 hours."),
        ),
        "\n".join([call, *(f"· {flag}" for flag in RED_FLAGS)]),
        _with(
            values,
            _("In any case have %(name)s seen by a licensed clinician before any sport."),
            _("First two days: easy days, little screen, no cycling, no climbing."),
            _("Ask a clinician before giving medicine."),
            _("School comes before sport."),
        ),
        _with(
            values,
            _("All tumbling is paused."),
            _(
                "Our rule for children: nothing with the head down before %(clear_days)s days "
                "without any sign, the whole of it not before day %(full_day)s, step by step, only "
                "with a clinician's yes in writing."
            ),
            _("A stricter rule counts."),
        ),
    ]


def _hands_again(values: Values) -> list[str]:
    return [
        _with(
            values,
            _("In today's class, at “%(drill)s”, %(seen)s."),
            _("From now on a coach's hands are there again."),
        ),
        _with(
            values,
            _("It is our rule for everybody; hands leave again step by step."),
            *([_("%(name)s told us: nothing hurts.")] if values.get("nothing_hurts") else []),
            _("Please no practice at home and no reward for going."),
        ),
    ]


def date_text(day: datetime.date) -> str:
    if day.day == 1:
        # French: “jeudi 1er octobre”.
        first = pgettext("date format in a door note, of the first of a month", "l j F Y")
        return date_format(day, first)
    return date_format(day, pgettext("date format in a door note, with the weekday", "l j F Y"))


def time_text(time: datetime.datetime | datetime.time | None) -> str:
    """By the clock of the zone that is in force; empty where it is not known."""
    if isinstance(time, datetime.datetime):
        time = timezone.localtime(time).time()
    return f"{time:%H:%M}" if time else ""
