"""How the held turns of an evening are shared among the children who are held.

Two each for everybody. One more for whoever had the fewest last time, or under 2.5 on average over
the last four evenings. What is left goes, up to six turns a child and four under nine years, in
order of tonight's sureness at the gate that lacks evidence: whose sureness is not enough yet comes
before whose is. Nobody has the fewest twice running.

The order and the numbers are our own; docs/decisions.md has the trial. Turns are shared by this
order, never by the chance that they open a gate (readiness/engine/chance.py), and never to bring
out a fall. The same children in another order get the same.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

FLOOR = 2
MOST, MOST_UNDER_NINE = 6, 4
# So many evenings are looked back on; under so many turns on average there is one more.
EVENINGS, FEW = 4, 2.5

# too-few: there are not two for everybody tonight. learning: as for everybody. fewest-last and
# few-lately: the one more. sureness: what is left, in order.
Why = Literal["too-few", "learning", "fewest-last", "few-lately", "sureness"]


@dataclass(frozen=True)
class HeldChild:
    """A child who is here tonight and may be held.

    sureness: tonight's, before the first turn, at the clean gate that is not met for want of
    evidence; None: no gate is. certainty: what that gate asks. missing_days: clean days it still
    asks for. turns_28: held turns of the last 28 days. earlier: held turns taken on the evenings
    this child was there, the newest last. had_fewest: on the newest of them, by ``had_fewest``.
    days_since: from that evening to tonight. good_evenings: the fewest evenings, tonight the first,
    with tonight's turns, all of them clean, after which nothing but a director's yes is missing;
    None where something else is. It is said, and orders nothing.
    """

    child: int
    sureness: float | None
    certainty: float
    missing_days: int = 0
    turns_28: int = 0
    earlier: tuple[int, ...] = ()
    had_fewest: bool = False
    under_nine: bool = False
    days_since: int | None = None
    good_evenings: int | None = None

    @property
    def most(self) -> int:
        return MOST_UNDER_NINE if self.under_nine else MOST

    @property
    def lately(self) -> float:
        """Turns an evening over the last four; 0 for who was not here before."""
        evenings = self.earlier[-EVENINGS:]
        return sum(evenings) / len(evenings) if evenings else 0

    @property
    def is_behind(self) -> bool:
        """Has one more than everybody tonight."""
        return self.had_fewest or self.lately < FEW


@dataclass(frozen=True)
class Share:
    """Turns of one child tonight, and why that many."""

    held: HeldChild
    turns: int
    why: Why


def share(here: Iterable[HeldChild], turns: int) -> list[Share]:
    """Each child's turns of the ``turns`` that can be held tonight, the first in line first.

    Never more in all than there are; fewer only where everybody has the most a child may have.
    Raises ValueError for turns under 0 or a child given twice.
    """
    line = in_line(here)
    given = {held.child: 0 for held in line}
    if turns < 0 or len(given) < len(line):
        raise ValueError(f"{turns!r} turns for {[held.child for held in line]!r}")
    # Stable: among equals the line's order holds.
    behind = sorted(line, key=lambda held: (not held.had_fewest, held.lately))
    for _ in range(FLOOR):
        turns = _one_each(behind, given, turns)
    turns = _one_each([held for held in behind if held.is_behind], given, turns)
    in_order = _the_rest(line, given, turns)
    in_order |= _not_twice(line, given)
    return [
        Share(held, given[held.child], _why(held, given[held.child], held.child in in_order))
        for held in line
    ]


def in_line(here: Iterable[HeldChild]) -> list[HeldChild]:
    """By sureness, the surest first, those under what their gate asks before the others; then the
    fewest missing clean days, the fewest turns in 28 days, the id. Who lacks no evidence is last.
    """
    return sorted(here, key=_place)


def _place(held: HeldChild) -> tuple[int, float, int, int, int]:
    last = held.missing_days, held.turns_28, held.child
    if held.sureness is None:
        return 2, 0, *last
    return int(held.sureness >= held.certainty), -held.sureness, *last


def had_fewest(taken: Mapping[int, int], most: Mapping[int, int]) -> frozenset[int]:
    """Who had the fewest turns of an evening, while somebody had more.

    ``taken``: turns by child; ``most``: how many each may have. Who had those was not short of any.
    """
    least = min(taken.values(), default=0)
    if least == max(taken.values(), default=0):
        return frozenset()
    return frozenset(child for child, n in taken.items() if n == least and n < most[child])


def _one_each(line: Sequence[HeldChild], given: dict[int, int], left: int) -> int:
    """One turn more for each in line while there are any; how many are left."""
    for held in line[:left]:
        given[held.child] += 1
    return max(0, left - len(line))


def _the_rest(line: Sequence[HeldChild], given: dict[int, int], left: int) -> set[int]:
    """Each in line up to the most this child may have; who got any."""
    got = set()
    for held in line:
        more = min(held.most - given[held.child], left)
        if more > 0:
            given[held.child] += more
            left -= more
            got.add(held.child)
    return got


def _not_twice(line: Sequence[HeldChild], given: dict[int, int]) -> set[int]:
    """Lift whoever would have the fewest a second time; who got of what was left over.

    Of those who did not have the fewest last time one has them now, who is nearest to them
    already; the turns for it come from there and then from the end of the line.
    """
    short = had_fewest(given, {held.child: held.most for held in line})
    again = [held for held in line if held.had_fewest and held.child in short]
    others = [held for held in reversed(line) if not held.had_fewest]
    if not again or not others:
        return set()
    least = min(given.values())
    now = min(others, key=lambda held: given[held.child])
    left = given[now.child] - least
    given[now.child] = least
    for held in others:
        paid = min(given[held.child] - least, max(0, len(again) - left))
        given[held.child] -= paid
        left += paid
    left = _one_each(again, given, left)
    return _the_rest([held for held in line if held is not now], given, left)


def _why(held: HeldChild, turns: int, in_order: bool) -> Why:
    """``in_order``: some of the turns are of what was left after everybody's two and one more."""
    if turns < FLOOR:
        return "too-few"
    base = FLOOR + held.is_behind
    if in_order and turns > base:
        return "learning" if held.sureness is None else "sureness"
    if turns == FLOOR:
        return "learning"
    return "fewest-last" if held.had_fewest else "few-lately"
