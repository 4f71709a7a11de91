"""Seen by two: two graders saw clean turns at a support or less."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Self

from readiness.engine.evidence import Scope, counts
from readiness.engine.gates.common import AuthorMark, Data, Gate, GateReading, Record, capped
from readiness.engine.levels import SUPPORT_BY_CODE, Support
from readiness.engine.tallies import Tally

# Two graders, each with this many graded clean turns in one class, need no second day.
SEEN_IN_ONE_CLASS = 3


@dataclass(frozen=True)
class SeenByTwoGate(Gate):
    """On two days or more together, or three turns each in one class, within ``within`` days."""

    KIND: ClassVar[str] = "seen-by-two"

    support: Support
    within: int
    signed_surface: bool

    @classmethod
    def from_data(cls, data: Mapping[str, Any], measure: str) -> Self:
        support = SUPPORT_BY_CODE[data.get("support", "hands-on")]
        signed = data.get("surface") == "signed"
        return cls(data["code"], data["drill"], support, data.get("within", 84), signed)

    @property
    def asks_surface(self) -> bool:
        return self.signed_surface

    @property
    def looks_back(self) -> int:
        return self.within

    def read_record(self, record: Record) -> GateReading:
        by_grader: dict[int, Counter[datetime.date]] = defaultdict(Counter)
        for tally in self._graded_clean(record, record.surface if self.signed_surface else None):
            by_grader[tally.author][tally.day] += tally.graded_clean
        met = any(
            _two_saw(by_grader[one], by_grader[other])
            for one in by_grader
            for other in by_grader
            if one < other
        )
        progress = capped(met, len(by_grader) / 2)
        days = tuple(sorted({day for clean_by_day in by_grader.values() for day in clean_by_day}))
        return GateReading(self, met, progress, len(by_grader), 2, days=days)

    def _graded_clean(self, record: Record, surface: str | None) -> Iterator[Tally]:
        scope = Scope(self.support, surface)
        for day in record.days(self.drill, self.within):
            for tally in record.evidence.on(self.drill, day):
                if tally.graded_clean and counts(tally, record.rules, scope):
                    yield tally

    def within_one_class(self, reading: GateReading, record: Record) -> bool:
        # The first grader's turns stand on an earlier day; the second may see turns today.
        return reading.value >= 1

    def lacks_only_turns(self, reading: GateReading) -> bool:
        return not reading.met

    def tablet_rule(self) -> Data:
        rule = {"kind": self.kind, "drill": self.drill, "support": int(self.support)}
        return {**rule, "one_class": SEEN_IN_ONE_CLASS}

    def tablet_start(
        self, record: Record, surfaces: Sequence[str | None], author_mark: AuthorMark
    ) -> list[list[int | str]]:
        """Author, age in days, rank and graded clean turns, of each tally that counts."""
        return [
            [
                author_mark(tally.author),
                record.age(tally.day),
                record.rules.rank(tally.surface),
                tally.graded_clean,
            ]
            for tally in sorted(self._graded_clean(record, None), key=_in_one_order)
        ]


def _in_one_order(tally: Tally) -> tuple[datetime.date, int, int, str]:
    """However the tallies came: authors are numbered as they are met."""
    return tally.day, tally.author, tally.support, tally.surface


def _two_saw(one: Counter[datetime.date], other: Counter[datetime.date]) -> bool:
    if len(set(one) | set(other)) >= 2:
        return True
    return any(min(one[day], other[day]) >= SEEN_IN_ONE_CLASS for day in one)
