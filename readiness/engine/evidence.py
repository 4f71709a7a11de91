"""One child's tallies, arranged so that gates can be read on any day."""

import copy
import datetime
from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol, TypeVar

from readiness.engine.clean_rate import DayTurns, DecayedCounts
from readiness.engine.levels import Support
from readiness.engine.tallies import FaultCounts, Tally


class Surfaces(Protocol):
    """The order of surfaces, as the ladder has it."""

    def rank(self, surface: str | None) -> int: ...


class LoggedAs(NamedTuple):
    """Turns of a drill stand under ``drill`` from ``first`` to ``last``, both with."""

    drill: str
    first: datetime.date = datetime.date.min
    last: datetime.date = datetime.date.max


@dataclass(frozen=True)
class Scope:
    """Which turns count: at ``support`` or less, on ``surface`` or a harder one, graded ones
    only if ``graded``. No surface: any."""

    support: Support = Support.HANDS_ON
    surface: str | None = None
    graded: bool = False


ANY = Scope()


class NotSummedUpError(LookupError):
    """The summary does not hold the answer: it needs the whole record."""


@dataclass(frozen=True)
class DrillSummary:
    """A drill's days before ``Summary.first_of``, summed up: the latest of them, the surfaces
    used, the last with a stop sign, the clean turns on days after that one, and how many of the
    days count from ``opened`` on, the day from which the drill was open."""

    last: datetime.date
    surfaces: frozenset[str]
    last_stop: datetime.date | None
    clean_since_stop: int
    opened: datetime.date | None
    days_since_open: int


@dataclass(frozen=True)
class Summary:
    """A record before ``first``, summed up. longer: drills of which a rule looks further back,
    each with an earlier day, up to which it is summed up. clean: by drill and scope, for the
    ladder's clean rules. watched: by drill, scope and the first day that counts, with the short
    memory."""

    first: datetime.date
    longer: Mapping[str, datetime.date] = field(default_factory=dict)
    drills: Mapping[str, DrillSummary] = field(default_factory=dict)
    clean: Mapping[tuple[str, Scope], DecayedCounts | None] = field(default_factory=dict)
    watched: Mapping[tuple[str, Scope, datetime.date], DecayedCounts | None] = field(
        default_factory=dict
    )

    def first_of(self, drill: str) -> datetime.date:
        """The first day of which the drill's tallies themselves are there."""
        return self.longer.get(drill, self.first)


EMPTY_SUMMARY = Summary(datetime.date.min)


class Evidence:
    """The tallies of one child, by drill and day. Everything is read "up to a day".

    ``before`` sums up the days before the first tally. With it every reading on a late enough
    day is that of the whole record: what the summary leaves out is then older than any rule
    looks back. Raises NotSummedUpError where the summary does not hold the answer.

    ``faults``: at least those of faults that carry, of the days that are still to be replayed.
    """

    def __init__(
        self,
        tallies: Iterable[Tally] = (),
        before: Summary = EMPTY_SUMMARY,
        faults: FaultCounts | None = None,
    ) -> None:
        self.before = before
        self._faults: dict[datetime.date, FaultCounts] = defaultdict(Counter)
        self._by_drill: dict[str, dict[datetime.date, list[Tally]]] = defaultdict(
            lambda: defaultdict(list)
        )
        self._days: dict[str, list[datetime.date]] = {}
        self._series: dict[tuple[str, Scope], tuple[Surfaces, list[DayTurns]]] = {}
        # Of some drills, the first day that a reach gate counts.
        self.anew: dict[str, datetime.date] = {}
        self.add(tallies)
        self.add_faults(faults or Counter())

    def counting_anew(self, drill: str, since: datetime.date) -> "Evidence":
        """The same evidence, of which reach gates count days at this drill only from then on."""
        other = copy.copy(self)
        other.anew = {**self.anew, drill: since}
        return other

    def add_faults(self, faults: FaultCounts) -> None:
        for (drill, day, fault), times in faults.items():
            self._faults[day][drill, day, fault] += times

    def faults_on(self, day: datetime.date) -> FaultCounts:
        return self._faults.get(day, Counter())

    def add(self, tallies: Iterable[Tally]) -> None:
        drills = set()
        for tally in tallies:
            self._by_drill[tally.drill][tally.day].append(tally)
            drills.add(tally.drill)
        for drill in drills:
            self._days.pop(drill, None)
        for key in [key for key in self._series if key[0] in drills]:
            del self._series[key]

    def drills(self) -> set[str]:
        return {*self._by_drill, *self.before.drills}

    def decayed_before(self, drill: str, scope: Scope) -> DecayedCounts | None:
        """The turns in scope on days before the tallies' first, for a clean rule."""
        if drill not in self.before.drills:
            return None
        return _look_up(self.before.clean, (drill, scope))

    def decayed_since(self, drill: str, scope: Scope, since: datetime.date) -> DecayedCounts | None:
        """The same with the short memory, of days from ``since`` on."""
        if since >= self.before.first_of(drill):
            return None
        return _look_up(self.before.watched, (drill, scope, since))

    def last_day(self, drill: str, until: datetime.date) -> datetime.date | None:
        """The latest day with turns at the drill."""
        days = self.days(drill, until)
        if days:
            return days[-1]
        summary = self.before.drills.get(drill)
        return summary.last if summary else None

    def last_day_of_all(self, until: datetime.date) -> datetime.date | None:
        """The latest day with turns at any drill."""
        lasts = (self.last_day(drill, until) for drill in self.drills())
        return max((day for day in lasts if day is not None), default=None)

    def days_open(self, drill: str, until: datetime.date, opened: datetime.date) -> int:
        """How many days with turns there were from ``opened`` on, the day the drill opened."""
        counted = len(self.days(drill, until, opened))
        summary = self.before.drills.get(drill)
        if summary is None or opened > summary.last:
            return counted
        if summary.opened != opened:
            raise NotSummedUpError(drill)
        return counted + summary.days_since_open

    def clean_since_stop(
        self, drill: str, surfaces: Surfaces, until: datetime.date
    ) -> tuple[datetime.date | None, int]:
        """The last day with a stop sign, if there is one, and the clean turns on later days."""
        last = self.last_stop_day(drill, until)
        series = self.clean_days(drill, surfaces, until, ANY)
        clean = sum(k for day, _, k in series if last is None or day > last)
        summary = self.before.drills.get(drill)
        if summary is not None and last == summary.last_stop:
            clean += summary.clean_since_stop
        return last, clean

    def all_days(self) -> set[datetime.date]:
        """Those with turns, and those on which a child only stopped before one."""
        return {day for days in self._by_drill.values() for day in days} | self._faults.keys()

    def days(
        self, drill: str, until: datetime.date, first: datetime.date = datetime.date.min
    ) -> list[datetime.date]:
        """Days with turns at the drill, oldest first, from ``first`` to ``until``, both with."""
        if drill not in self._days:
            self._days[drill] = sorted(self._by_drill.get(drill, ()))
        days = self._days[drill]
        return days[bisect_left(days, first) : bisect_right(days, until)]

    def on(self, drill: str, day: datetime.date) -> list[Tally]:
        """The tallies of one day."""
        days = self._by_drill.get(drill)
        return days.get(day, []) if days else []

    def surfaces(self, drill: str, until: datetime.date) -> set[str]:
        summary = self.before.drills.get(drill)
        recent = {tally.surface for day in self.days(drill, until) for tally in self.on(drill, day)}
        return recent | summary.surfaces if summary else recent

    def clean_days(
        self, drill: str, surfaces: Surfaces, until: datetime.date, scope: Scope = ANY
    ) -> list[DayTurns]:
        """(day, turns, clean) of the turns in scope, oldest first, days without any left out."""
        cached = self._series.get((drill, scope))
        if cached is None or cached[0] is not surfaces:
            cached = surfaces, self._count(drill, surfaces, scope)
            self._series[drill, scope] = cached
        series = cached[1]
        return series[: bisect_right(series, until, key=lambda entry: entry[0])]

    def _count(self, drill: str, surfaces: Surfaces, scope: Scope) -> list[DayTurns]:
        counted = []
        for day in self.days(drill, datetime.date.max):
            tallies = [t for t in self.on(drill, day) if counts(t, surfaces, scope)]
            turns = sum(t.graded if scope.graded else t.turns for t in tallies)
            clean = sum(t.graded_clean if scope.graded else t.clean for t in tallies)
            if turns:
                counted.append((day, turns, clean))
        return counted

    def stop_signs(self, drill: str, day: datetime.date) -> int:
        """How many turns of the day were stop signs, whoever logged them."""
        return sum(tally.stop_signs for tally in self.on(drill, day))

    def last_stop_day(self, drill: str, until: datetime.date) -> datetime.date | None:
        days = reversed(self.days(drill, until))
        summary = self.before.drills.get(drill)
        stop_days = (day for day in days if self.stop_signs(drill, day))
        return next(stop_days, summary.last_stop if summary else None)

    def first_turn(self, drill: str, day: datetime.date) -> Tally | None:
        """The tally that holds the day's first turn, by time then id, whoever logged it."""
        return min(self.on(drill, day), key=lambda t: (t.first_at, t.first_id), default=None)


K = TypeVar("K")


def _look_up(sums: Mapping[K, DecayedCounts | None], key: K) -> DecayedCounts | None:
    try:
        return sums[key]
    except KeyError:
        raise NotSummedUpError(str(key)) from None


def counts(tally: Tally, surfaces: Surfaces, scope: Scope) -> bool:
    """True if the tally's turns count in this scope."""
    if tally.support > scope.support:
        return False
    return scope.surface is None or surfaces.rank(tally.surface) >= surfaces.rank(scope.surface)
