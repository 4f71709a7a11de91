"""Reach gate: a value reached on so many different days: what is kept after days is learned.

Turns from before a drill was split count for the easier half only (``Ladder.logged_as``).
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Self

from readiness.engine.evidence import Evidence
from readiness.engine.gates.common import (
    AuthorMark,
    Data,
    Gate,
    GateReading,
    Record,
    Rules,
    capped,
)


@dataclass(frozen=True)
class ReachGate(Gate):
    """``at_least`` seconds, reps or grade on ``days`` days within ``within`` days; of
    ``or_drill`` they are enough as well."""

    KIND: ClassVar[str] = "reach"

    at_least: float
    days: int
    within: int
    graded: bool
    or_drill: str | None = None

    @classmethod
    def from_data(cls, data: Mapping[str, Any], measure: str) -> Self:
        return cls(
            data["code"],
            data["drill"],
            data["at_least"],
            data.get("days", 2),
            data.get("within", 90),
            measure == "grade",
            data.get("or_drill"),
        )

    @property
    def drills(self) -> tuple[str, ...]:
        return (self.drill,) if self.or_drill is None else (self.drill, self.or_drill)

    @property
    def looks_back(self) -> int:
        return self.within

    def read_record(self, record: Record) -> GateReading:
        values = self._values(record)
        ranked = sorted(values.values(), reverse=True)
        nth = ranked[self.days - 1] if len(ranked) >= self.days else 0.0
        met = nth >= self.at_least
        reached = tuple(day for day, value in values.items() if value >= self.at_least)
        best = ranked[0] if ranked else 0.0
        parts = {"days": len(reached), "days_need": self.days, "best": best}
        progress = capped(met, nth / self.at_least)
        return GateReading(self, met, progress, nth, self.at_least, parts=parts, days=reached)

    def _values(self, record: Record) -> dict[datetime.date, float]:
        first = record.day - datetime.timedelta(days=self.within)
        first = max(first, record.evidence.anew.get(self.drill, first))
        return self.day_values(record.evidence, record.rules, record.until, first)

    def day_values(
        self,
        evidence: Evidence,
        rules: Rules,
        until: datetime.date,
        first: datetime.date = datetime.date.min,
    ) -> dict[datetime.date, float]:
        """What each day from ``first`` to ``until`` counts for, oldest first; of two drills the
        better one."""
        values: dict[datetime.date, float] = {}
        for logged in [span for drill in self.drills for span in rules.logged_as(drill)]:
            last = min(until, logged.last)
            for day in evidence.days(logged.drill, last, max(first, logged.first)):
                value = self._day_value(logged.drill, evidence, day)
                values[day] = max(value, values.get(day, 0.0))
        return dict(sorted(values.items()))

    def _day_value(self, drill: str, evidence: Evidence, day: datetime.date) -> float:
        """The day's best; of a grade the day's second-best graded turn, 0 with fewer than two."""
        tallies = evidence.on(drill, day)
        if not self.graded:
            return max((t.best for t in tallies if t.best is not None), default=0.0)
        tops = [top for t in tallies for top in (t.best_graded, t.second_graded) if top is not None]
        return sorted(tops, reverse=True)[1] if len(tops) > 1 else 0.0

    def within_one_class(self, reading: GateReading, record: Record) -> bool:
        return len(set(reading.days) - {record.day}) >= self.days - 1

    def tablet_rule(self) -> Data:
        rule = {
            "kind": self.kind,
            "drill": self.drill,
            "need": self.at_least,
            "days": self.days,
            "graded": self.graded,
        }
        return rule if self.or_drill is None else {**rule, "or_drill": self.or_drill}

    def tablet_start(
        self, record: Record, surfaces: Sequence[str | None], author_mark: AuthorMark
    ) -> list[float]:
        """The best days' values."""
        return sorted(self._values(record).values(), reverse=True)[: self.days]
