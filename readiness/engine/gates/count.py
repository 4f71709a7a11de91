"""Count gate: so many clean turns, on any days."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Self

from readiness.engine.gates.common import (
    TURNS_IN_A_CLASS,
    AuthorMark,
    Data,
    Gate,
    GateReading,
    Record,
    capped,
)


@dataclass(frozen=True)
class CountGate(Gate):
    """``clean`` clean turns within ``within`` days."""

    KIND: ClassVar[str] = "count"

    clean: int
    within: int

    @classmethod
    def from_data(cls, data: Mapping[str, Any], measure: str) -> Self:
        return cls(data["code"], data["drill"], data["clean"], data.get("within", 365))

    @property
    def looks_back(self) -> int:
        return self.within

    def read_record(self, record: Record) -> GateReading:
        clean = self._clean(record)
        met = clean >= self.clean
        return GateReading(self, met, capped(met, clean / self.clean), clean, self.clean)

    def _clean(self, record: Record) -> int:
        days = record.clean_days(self.drill)
        return sum(clean for day, _, clean in days if record.age(day) <= self.within)

    def within_one_class(self, reading: GateReading, record: Record) -> bool:
        return self.clean - reading.value <= TURNS_IN_A_CLASS

    def lacks_only_turns(self, reading: GateReading) -> bool:
        return not reading.met

    def tablet_rule(self) -> Data:
        return {"kind": self.kind, "drill": self.drill, "need": self.clean}

    def tablet_start(
        self, record: Record, surfaces: Sequence[str | None], author_mark: AuthorMark
    ) -> int:
        """The clean turns so far."""
        return self._clean(record)
