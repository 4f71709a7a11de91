"""Who may spot a drill on a day.

18 as the youngest age at every drill that is held: common practice, no source. A studio sets its
own.
"""

import datetime
from dataclasses import dataclass
from typing import Literal

YOUNGEST = 18
Unfit = Literal["missing", "expired", "too-young"]


@dataclass(frozen=True)
class Training:
    """Somebody was trained to spot a drill: until when, the last day with; age: in whole years on
    ``day``, on which it was written down."""

    day: datetime.date
    age: int
    until: datetime.date

    def age_on(self, day: datetime.date) -> int:
        """The least that it may be by then."""
        before = (day.month, day.day) < (self.day.month, self.day.day)
        return self.age + day.year - self.day.year - before


def why_unfit(training: Training | None, youngest: int, day: datetime.date) -> Unfit | None:
    """Why somebody may not spot a drill on a day; None: they may. youngest: in whole years."""
    if training is None:
        return "missing"
    if training.until < day:
        return "expired"
    return "too-young" if training.age_on(day) < youngest else None
