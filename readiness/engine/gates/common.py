"""What all kinds of gate share: the record they read, and what a reading says."""

import datetime
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, NamedTuple, Protocol, Self

from readiness.engine.clean_rate import DayTurns, Decay
from readiness.engine.evidence import ANY, Evidence, LoggedAs, Scope, Surfaces

Data = dict[str, Any]
# What tells authors apart on a tablet: a number, or a mark in its place.
AuthorMark = Callable[[int], int | str]

UNMET_MOST = 0.99
# As many clean turns at one drill as a good class has room for (common practice, no source).
TURNS_IN_A_CLASS = 8


class Rules(Surfaces, Protocol):
    """What gates need of the ladder: the order of surfaces, how evidence fades, and under which
    drills the turns of one stand."""

    @property
    def decay(self) -> Decay: ...

    def logged_as(self, drill: str) -> Sequence[LoggedAs]: ...


class Record(NamedTuple):
    """A child's evidence up to ``until``, as it counts on ``day`` for ``surface``."""

    evidence: Evidence
    rules: Rules
    day: datetime.date
    until: datetime.date
    surface: str | None = None

    def days(self, drill: str, within: int) -> list[datetime.date]:
        """Days with turns at the drill; exactly ``within`` days ago still counts."""
        first = self.day - datetime.timedelta(days=within)
        return self.evidence.days(drill, self.until, first)

    def clean_days(self, drill: str, scope: Scope = ANY) -> list[DayTurns]:
        return self.evidence.clean_days(drill, self.rules, self.until, scope)

    def age(self, day: datetime.date) -> int:
        return (self.day - day).days


@dataclass(frozen=True)
class GateReading:
    """One gate on a day.

    progress: 0 to 1, 1 if and only if met. value, need: what was reached and what is required,
    in the gate's own unit (sureness 0 to 1, seconds, reps, grade, turns, graders).
    stale_on: the first day on which, with nothing more, it is not met; None if it never
    falls, or is not met now. parts: further numbers for the sentence, by name.
    """

    gate: "Gate"
    met: bool
    progress: float
    value: float
    need: float
    stale_on: datetime.date | None = None
    parts: Mapping[str, float] = field(default_factory=dict)
    days: tuple[datetime.date, ...] = ()


@dataclass(frozen=True)
class Gate(ABC):
    """One requirement, met or not on the record of one drill."""

    KIND: ClassVar[str]

    code: str
    drill: str

    @classmethod
    @abstractmethod
    def from_data(cls, data: Mapping[str, Any], measure: str) -> Self:
        """From a gate of a checked ladder file; ``measure``: the drill's."""

    @abstractmethod
    def read_record(self, record: Record) -> GateReading:
        """The reading without its stale day."""

    @property
    @abstractmethod
    def looks_back(self) -> int:
        """How many days back it looks at days one by one."""

    @abstractmethod
    def within_one_class(self, reading: GateReading, record: Record) -> bool:
        """True if turns of this one day can meet the gate, which is not met."""

    def lacks_only_turns(self, reading: GateReading) -> bool:
        """True if it is not met, and more turns like those that count would meet it."""
        return False

    @property
    def kind(self) -> str:
        return self.KIND

    @property
    def drills(self) -> tuple[str, ...]:
        """The drills whose turns count for it, its own first."""
        return (self.drill,)

    @property
    def asks_surface(self) -> bool:
        """True if it is read for the surface of the signature."""
        return False

    @property
    def stale_after(self) -> int | None:
        """After how many days with nothing more the gate is surely unmet; None: never."""
        return self.looks_back + 1

    def tablet_rule(self) -> Data | None:
        """The gate's numbers for a tablet; None for a kind that no tablet reads."""
        return None

    def tablet_start(
        self, record: Record, surfaces: Sequence[str | None], author_mark: AuthorMark
    ) -> Any:
        """What the days up to ``record.until`` give the gate, for the day's turns to be added.

        surfaces: those that a signature may be for, easiest first.
        """
        raise TypeError(f"not a gate that a tablet reads: {self!r}")

    def read(
        self, evidence: Evidence, day: datetime.date, rules: Rules, surface: str | None = None
    ) -> GateReading:
        """Read at the end of ``day``, for ``surface`` where the gate asks for one."""
        record = Record(evidence, rules, day, day, surface)
        reading = self.read_record(record)
        return replace(reading, stale_on=self._stale_on(record)) if reading.met else reading

    def read_for_entry(
        self, evidence: Evidence, day: datetime.date, rules: Rules, surface: str | None = None
    ) -> GateReading:
        """The same without its stale day."""
        return self.read_record(Record(evidence, rules, day, day, surface))

    def _stale_on(self, record: Record) -> datetime.date | None:
        """Bisection: waiting never opens a gate, so once unmet it stays unmet."""
        if self.stale_after is None:
            return None
        low, high = 1, self.stale_after
        while low < high:
            middle = (low + high) // 2
            later = record.day + datetime.timedelta(days=middle)
            if self.read_record(record._replace(day=later)).met:
                low = middle + 1
            else:
                high = middle
        return record.day + datetime.timedelta(days=low)


def capped(met: bool, share: float) -> float:
    """Progress: 1 if and only if met."""
    return 1.0 if met else min(UNMET_MOST, share)
