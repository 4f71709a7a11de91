"""Who often logs only some of a child's first turns of the day at a drill.

A log with all of the first three turns, or none, cannot be made better by choosing which to log.
Figures here start a conversation among coaches; they are no safety standard.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

# So many turns of a child at a drill on a day are asked for (own choice, as are the other two).
SAMPLE = 3
# Fewer evenings than these tell nothing.
LEAST_EVENINGS = 20
# More than this share of short evenings is seldom chance, unless it is everybody's.
MOST_SHORT = 0.5


@dataclass(frozen=True)
class Evening:
    """One child at one drill on one day: who logged, and how many turns in all. ended: a stop
    sign ended it, so that it says nothing."""

    authors: frozenset[int]
    turns: int
    ended: bool


@dataclass(frozen=True)
class FewTurns:
    """One author's evenings, and those with fewer turns than SAMPLE; the same of those evenings
    that others logged without this author."""

    author: int
    evenings: int
    short: int
    others: int
    others_short: int


def who_logs_few_turns(evenings: Iterable[Evening]) -> list[FewTurns]:
    """Authors whose evenings are mostly short while those of the others are not; by author."""
    counted = [evening for evening in evenings if not evening.ended]
    authors = sorted({author for evening in counted for author in evening.authors})
    read = [_read(author, counted) for author in authors]
    return [each for each in read if _is_told(each)]


def _read(author: int, evenings: Collection[Evening]) -> FewTurns:
    own = [evening.turns < SAMPLE for evening in evenings if author in evening.authors]
    others = [evening.turns < SAMPLE for evening in evenings if author not in evening.authors]
    return FewTurns(author, len(own), sum(own), len(others), sum(others))


def _is_told(read: FewTurns) -> bool:
    often = read.evenings >= LEAST_EVENINGS and read.short > MOST_SHORT * read.evenings
    return often and read.others_short <= MOST_SHORT * read.others
