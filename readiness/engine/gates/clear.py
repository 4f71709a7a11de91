"""Clear gate: enough clean turns on later days, and enough days, since the last stop sign.

Where it ``needs_turns``, no turn at all is no record without a stop sign.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Self

from readiness.engine.gates.common import TURNS_IN_A_CLASS, Gate, GateReading, Record, capped


@dataclass(frozen=True)
class ClearGate(Gate):
    KIND: ClassVar[str] = "clear"

    clean: int
    days: int
    needs_turns: bool = False

    @classmethod
    def from_data(cls, data: Mapping[str, Any], measure: str) -> Self:
        needs_turns = data.get("needs_turns", False)
        return cls(data["code"], data["drill"], data["clean"], data["days"], needs_turns)

    @property
    def looks_back(self) -> int:
        return self.days

    @property
    def stale_after(self) -> None:
        return None

    def read_record(self, record: Record) -> GateReading:
        last, clean = record.evidence.clean_since_stop(self.drill, record.rules, record.until)
        if self.needs_turns and record.evidence.last_day(self.drill, record.until) is None:
            return GateReading(self, False, 0.0, 0, self.clean, parts={"no_turns": 1})
        if last is None:
            return GateReading(self, True, 1.0, self.clean, self.clean, parts={"none_ever": 1})
        since = record.age(last)
        share = min(clean / self.clean, since / self.days)
        met = share >= 1
        parts = {"since": since, "days_need": self.days, "none_ever": 0}
        progress = capped(met, share)
        return GateReading(self, met, progress, clean, self.clean, parts=parts, days=(last,))

    def within_one_class(self, reading: GateReading, record: Record) -> bool:
        if not reading.days:
            return True
        rested = record.age(reading.days[0]) >= self.days
        return rested and self.clean - reading.value <= TURNS_IN_A_CLASS
