"""One child's tallies, arranged so that gates can be read on any day."""

import datetime
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from readiness.engine.clean_rate import DayTurns
from readiness.engine.ladder import Ladder, Support
from readiness.engine.tallies import Tally


@dataclass(frozen=True)
class Scope:
    """Which turns count: at ``support`` or less, on ``surface`` or a harder one, graded ones
    only if ``graded``. No surface: any."""

    support: Support = Support.HANDS_ON
    surface: str | None = None
    graded: bool = False


ANY = Scope()


class Evidence:
    """The tallies of one child, by drill and day. Everything is read "up to a day"."""

    def __init__(self, tallies: Iterable[Tally] = ()) -> None:
        self._by_drill: dict[str, dict[datetime.date, list[Tally]]] = defaultdict(
            lambda: defaultdict(list)
        )
        self._days: dict[str, list[datetime.date]] = {}
        self._series: dict[tuple[str, Scope], tuple[Ladder, list[DayTurns]]] = {}
        self.add(tallies)

    def add(self, tallies: Iterable[Tally]) -> None:
        for tally in tallies:
            self._by_drill[tally.drill][tally.day].append(tally)
            self._days.pop(tally.drill, None)
            for key in [key for key in self._series if key[0] == tally.drill]:
                del self._series[key]

    def drills(self) -> set[str]:
        return set(self._by_drill)

    def all_days(self) -> set[datetime.date]:
        return {day for days in self._by_drill.values() for day in days}

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
        return {tally.surface for day in self.days(drill, until) for tally in self.on(drill, day)}

    def clean_days(
        self, drill: str, ladder: Ladder, until: datetime.date, scope: Scope = ANY
    ) -> list[DayTurns]:
        """(day, turns, clean) of the turns in scope, oldest first, days without any left out."""
        kept = self._series.get((drill, scope))
        if kept is None or kept[0] is not ladder:
            kept = ladder, self._count(drill, ladder, scope)
            self._series[drill, scope] = kept
        series = kept[1]
        return series[: bisect_right(series, until, key=lambda entry: entry[0])]

    def _count(self, drill: str, ladder: Ladder, scope: Scope) -> list[DayTurns]:
        counted = []
        for day in self.days(drill, datetime.date.max):
            tallies = [t for t in self.on(drill, day) if counts(t, ladder, scope)]
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
        return next((day for day in days if self.stop_signs(drill, day)), None)

    def first_turn(self, drill: str, day: datetime.date) -> Tally | None:
        """The tally that holds the day's first turn, by time then id, whoever logged it."""
        return min(self.on(drill, day), key=lambda t: (t.first_at, t.first_id), default=None)


def counts(tally: Tally, ladder: Ladder, scope: Scope) -> bool:
    """True if the tally's turns count in this scope."""
    if tally.support > scope.support:
        return False
    return scope.surface is None or ladder.rank(tally.surface) >= ladder.rank(scope.surface)
