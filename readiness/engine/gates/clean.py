"""Clean gate: sure enough that turns at a support or less are clean often enough."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any, ClassVar, Self

from readiness.engine.chance import chance_to_meet
from readiness.engine.clean_rate import (
    CleanReading,
    DayTurns,
    DecayedCounts,
    clean_turns_to_open,
    decayed_sums,
    good_days_to_open,
    read_clean,
)
from readiness.engine.evidence import Scope
from readiness.engine.gates.common import (
    TURNS_IN_A_CLASS,
    AuthorMark,
    Data,
    Gate,
    GateReading,
    Record,
)
from readiness.engine.levels import SUPPORT_BY_CODE, Support


@dataclass(frozen=True)
class CleanRule:
    """When a record of clean and not clean turns is enough.

    rate: the true clean rate required (0 to 1). certainty: how sure the record must be.
    days, clean: different days with clean turns, and clean turns, within ``within`` days.
    fresh: the newest clean turn is at most so many days old.
    """

    rate: float
    certainty: float
    days: int
    clean: int
    within: int = 84
    fresh: int = 28


@dataclass(frozen=True)
class CleanGate(Gate):
    KIND: ClassVar[str] = "clean"

    rule: CleanRule
    support: Support
    graded: bool
    signed_surface: bool

    @classmethod
    def from_data(cls, data: Mapping[str, Any], measure: str) -> Self:
        numbers = {
            number.name: data[number.name] for number in fields(CleanRule) if number.name in data
        }
        return cls(
            data["code"],
            data["drill"],
            CleanRule(**numbers),
            SUPPORT_BY_CODE[data.get("support", "hands-on")],
            data.get("graded", False),
            data.get("surface") == "signed",
        )

    @property
    def asks_surface(self) -> bool:
        return self.signed_surface

    @property
    def looks_back(self) -> int:
        return self.rule.within

    @property
    def stale_after(self) -> int:
        return self.rule.fresh + 1

    def scope(self, surface: str | None) -> Scope:
        """Which turns count."""
        return Scope(self.support, surface if self.signed_surface else None, self.graded)

    def read_record(self, record: Record) -> GateReading:
        read = self._read(record)
        parts = {
            "rate": self.rule.rate,
            "turns": read.turns,
            "days": read.clean_days,
            "days_need": self.rule.days,
            "clean": read.clean_turns,
            "clean_need": self.rule.clean,
            "age": record.age(read.newest) if read.newest else -1,
            "fresh": self.rule.fresh,
        }
        need = self.rule.certainty
        return GateReading(self, read.met, read.progress, read.sureness, need, parts=parts)

    def _read(self, record: Record) -> CleanReading:
        days, before = self._turns(record)
        return read_clean(days, record.day, self.rule, record.rules.decay, before)

    def _turns(self, record: Record) -> tuple[list[DayTurns], DecayedCounts | None]:
        scope = self.scope(record.surface)
        before = record.evidence.decayed_before(self.drill, scope)
        return record.clean_days(self.drill, scope), before

    def turns_to_open(
        self, record: Record, coming: Iterable[datetime.date]
    ) -> tuple[int, int] | None:
        """The fewest clean turns that meet it, and on how many of the coming days."""
        days, before = self._turns(record)
        return clean_turns_to_open(days, record.day, self.rule, coming, record.rules.decay, before)

    def good_days(self, record: Record, coming: Iterable[datetime.date], turns: int) -> int | None:
        """On how many of the coming days so many clean turns each meet it."""
        days, before = self._turns(record)
        decay = record.rules.decay
        return good_days_to_open(days, record.day, self.rule, coming, turns, decay, before)

    def chance(self, record: Record, turns: int) -> float:
        """The chance (0 to 1) that it is met after so many turns on the record's day."""
        days, before = self._turns(record)
        return chance_to_meet(days, record.day, self.rule, turns, record.rules.decay, before)

    def within_one_class(self, reading: GateReading, record: Record) -> bool:
        needed = self.turns_to_open(record, [record.day])
        return needed is not None and needed[0] <= TURNS_IN_A_CLASS

    def lacks_only_turns(self, reading: GateReading) -> bool:
        """Of the turns that count, at least the asked share is clean: the rest is number."""
        turns, clean = reading.parts["turns"], reading.parts["clean"]
        return not reading.met and turns > 0 and clean >= self.rule.rate * turns

    def tablet_rule(self) -> Data:
        return {
            "kind": self.kind,
            "drill": self.drill,
            "support": int(self.support),
            "graded": self.graded,
            "rate": self.rule.rate,
            "need": self.rule.certainty,
            "days": self.rule.days,
            "clean": self.rule.clean,
            "fresh": self.rule.fresh,
        }

    def tablet_start(
        self, record: Record, surfaces: Sequence[str | None], author_mark: AuthorMark
    ) -> list[list[float | None]]:
        """A row for each surface with turns that count: rank, sums of clean and missed turns by
        weight, clean days, clean turns, the age of the newest clean day or None, and all turns
        that are lately enough to count."""
        rows = []
        for surface in surfaces:
            here = record._replace(surface=surface)
            days, before = self._turns(here)
            if days or before is not None:
                read = self._read(here)
                sums = decayed_sums(days, record.day, record.rules.decay, before)
                age = record.age(read.newest) if read.newest else None
                rank = record.rules.rank(surface)
                counts = [read.clean_days, read.clean_turns, age, read.turns]
                rows.append([rank, *sums, *counts])
        return rows
