"""First turn of the day: on the latest day it was clean and graded, at a support or less."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Self

from readiness.engine.evidence import Scope, counts
from readiness.engine.gates.common import AuthorMark, Data, Gate, GateReading, Record
from readiness.engine.levels import SUPPORT_BY_CODE, Support
from readiness.engine.tallies import Tally


@dataclass(frozen=True)
class FirstTurnGate(Gate):
    """The latest day counts within ``within`` days."""

    KIND: ClassVar[str] = "first-turn"

    support: Support
    within: int
    signed_surface: bool

    @classmethod
    def from_data(cls, data: Mapping[str, Any], measure: str) -> Self:
        support = SUPPORT_BY_CODE[data.get("support", "hands-on")]
        signed = data.get("surface") == "signed"
        return cls(data["code"], data["drill"], support, data.get("within", 28), signed)

    @property
    def asks_surface(self) -> bool:
        return self.signed_surface

    @property
    def looks_back(self) -> int:
        return self.within

    def read_record(self, record: Record) -> GateReading:
        days = record.days(self.drill, self.within)
        surface = record.surface if self.signed_surface else None
        met = self._good_first_turn(record, surface) is not None
        return GateReading(self, met, float(met), float(met), 1, days=tuple(days[-1:]))

    def _good_first_turn(self, record: Record, surface: str | None) -> Tally | None:
        """The first turn of the latest day, by its tally; None if it does not meet the gate."""
        days = record.days(self.drill, self.within)
        first = record.evidence.first_turn(self.drill, days[-1]) if days else None
        if first is None or not first.first_clean or not first.first_graded:
            return None
        return first if counts(first, record.rules, Scope(self.support, surface)) else None

    def within_one_class(self, reading: GateReading, record: Record) -> bool:
        return not record.evidence.on(self.drill, record.day)

    def tablet_rule(self) -> Data:
        return {"kind": self.kind, "drill": self.drill, "support": int(self.support)}

    def tablet_start(
        self, record: Record, surfaces: Sequence[str | None], author_mark: AuthorMark
    ) -> int | None:
        """The rank of the latest first turn's surface, if the turn meets the gate."""
        first = self._good_first_turn(record, None)
        return None if first is None else record.rules.rank(first.surface)
