"""The class sheet for an evening without a tablet. Its columns are those of the paper log, word for
word and in their order, so that what is typed from it is read."""

import datetime
from collections import Counter
from typing import Any

from readiness.paper.bring_in import current_ladder
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


def sheet_context(evening: Evening, now: datetime.datetime) -> dict[str, Any]:
    """Each child of that evening, visitors among them; the faults' keys, stop signs apart."""
    ladder = current_ladder(now)
    here = Child.objects.filter(belonged(evening.group.pk, evening.day))
    children = list(here.exclude(left_on__lte=evening.day).order_by("search_key", "pk"))
    faults = list(ladder.faults.values()) if ladder else []
    stops = ("yes", "second", "unheld")
    alike = Counter(fold(child.name) for child in children)
    return {
        "evening": evening,
        "heads": HEADS,
        "children": children,
        # The file needs a column more for these.
        "alike": [child for child in children if alike[fold(child.name)] > 1],
        "stop_signs": [each["key"] for each in faults if each["stop"] in stops],
        "faults": [each["key"] for each in faults if each["stop"] not in stops],
    }
