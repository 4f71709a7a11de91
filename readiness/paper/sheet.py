"""The class sheet for an evening without a tablet. Its columns are those of the paper log, word for
word and in their order, so that what is typed from it is read."""

import datetime
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from readiness.engine.reading import RE_CHECK
from readiness.paper.bring_in import current_ladder
from readiness.record.ladders import Ladders
from readiness.record.standings import Reading, read_many
from readiness.words.head import head_step_now
from readiness.words.names import Names
from readiness.words.re_check import brings_back_short
from studio.models import Child, ClassGroup
from studio.people.class_dates import ONE_DAY, Evening, evenings
from studio.people.class_lists import belonged
from studio.people.names import fold

HEADS = (
    "date", "child", "drill", "surface", "support", "value", "faults", "caught", "coach", "note",
)  # fmt: skip
# So far ahead the next date of a class is looked for.
LOOKED_AHEAD = 28 * ONE_DAY


def evening_on(group: ClassGroup, asked: str, now: datetime.datetime) -> Evening | None:
    """The evening that somebody asked for, such as 2026-03-04; else today's or the next one."""
    today = group.location.day_of(now)
    try:
        day = datetime.date.fromisoformat(asked)
        first, last = day, day
    except ValueError:
        first, last = today, today + LOOKED_AHEAD
    found = (each for each in evenings([group], first, last) if not each.state)
    return next(found, None)


def _stop_sign(fault: Mapping[str, Any]) -> str:
    when = {"second": _("the second"), "unheld": _("where nobody holds")}.get(fault["stop"])
    return f"{fault['key']} ({when})" if when else str(fault["key"])


def marks_of(children: Sequence[Child], today: datetime.date) -> dict[int, list[str]]:
    """What stands beside a name, so that nobody on paper is taken for somebody who may: as of
    today, by child."""
    return {
        reading.child.pk: list(_marks(reading)) for reading in read_many(children, today, Ladders())
    }


def _marks(reading: Reading) -> Iterator[str]:
    read, names = reading.read, Names(reading.child.called, reading.ladder, reading.read.day)
    if read.head_step is not None:
        yield head_step_now(read.head_step)
    elif read.is_held:
        yield _("paused")
    if read.state.consent in ("no", "not-asked"):
        yield _("no yes to hands")
    pains = reading.ladder.pain_names
    places = {*read.state.sore, *(place for day, place in read.state.pains if day == read.day)}
    if places:
        named = ", ".join(sorted(pains.get(place, place) for place in places))
        yield _("hurts: %(places)s") % {"places": named}
    for stage in read.stages:
        if stage.state == RE_CHECK:
            yield brings_back_short(names, stage, read, reading.given_today)


def sheet_context(evening: Evening, now: datetime.datetime) -> dict[str, Any]:
    """Each child of that evening, visitors among them; the faults' keys, stop signs apart."""
    ladder = current_ladder(now)
    here = Child.objects.filter(belonged(evening.group.pk, evening.day))
    children = list(here.exclude(left_on__lte=evening.day).order_by("search_key", "pk"))
    faults = list(ladder.faults.values()) if ladder else []
    stops = ("yes", "second", "unheld")
    alike = Counter(fold(child.name) for child in children)
    marks = marks_of(children, evening.group.location.day_of(now))
    return {
        "evening": evening,
        "heads": HEADS,
        "children": [(child, marks[child.pk]) for child in children],
        # The file needs a column more for these.
        "alike": [child for child in children if alike[fold(child.name)] > 1],
        "stop_signs": [_stop_sign(each) for each in faults if each["stop"] in stops],
        "faults": [each["key"] for each in faults if each["stop"] not in stops],
    }
