"""Whether a root of misses has become rarer since it was named."""

import datetime
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from readiness.engine.causes.roots import causes, in_window, roots_of
from readiness.engine.ladder import Ladder
from readiness.engine.statistics.shares import chance_of_fewer
from readiness.engine.tallies import Turn

# So long after a cause was named is it looked at again.
AGAIN_AFTER_DAYS = 14
SURE_ENOUGH = 0.95
# This root, another miss, clean.
KINDS = 3

ChangeCode = Literal["fewer", "more", "too-few-turns"]


@dataclass(frozen=True)
class Seen:
    """Turns, and those of them that were missed from the root."""

    misses: int
    turns: int


@dataclass(frozen=True)
class Change:
    """A root as it was up to ``since``, the day on which it was the first one, and after it."""

    root: str
    since: datetime.date
    before: Seen
    after: Seen
    chance: float

    @property
    def code(self) -> ChangeCode:
        if self.chance >= SURE_ENOUGH:
            return "fewer"
        return "more" if self.chance <= 1 - SURE_ENOUGH else "too-few-turns"


def change(turns: Iterable[Turn], drill: str, day: datetime.date, ladder: Ladder) -> Change | None:
    """Of the root that was the first two weeks before ``day``; None if none could be named then,
    or no turn came since."""
    turns = list(turns)
    since = day - datetime.timedelta(days=AGAIN_AFTER_DAYS)
    first = causes(turns, drill, since, ladder).first
    later = [turn for turn in in_window(turns, drill, day, ladder) if turn.day > since]
    if first is None or not later:
        return None
    earlier = in_window(turns, drill, since, ladder)
    chance = chance_of_fewer(
        _discounted(earlier, first.key, ladder), _discounted(later, first.key, ladder), KINDS
    )
    before, after = (_seen(some, first.key, ladder) for some in (earlier, later))
    return Change(first.key, since, before, after, chance)


def _seen(turns: Sequence[Turn], root: str, ladder: Ladder) -> Seen:
    return Seen(sum(_is_from(turn, root, ladder) for turn in turns), len(turns))


def _discounted(turns: Sequence[Turn], root: str, ladder: Ladder) -> tuple[float, float]:
    """(misses from the root, turns), as turns of one day hang together: Kish's design effect."""
    of_day = Counter(turn.day for turn in turns)
    weights = [1 / (1 + (of_day[turn.day] - 1) * ladder.day_correlation) for turn in turns]
    misses = sum(
        weight for weight, turn in zip(weights, turns, strict=True) if _is_from(turn, root, ladder)
    )
    return misses, sum(weights)


def _is_from(turn: Turn, root: str, ladder: Ladder) -> bool:
    return turn.clean is False and root in roots_of(turn, ladder)
