"""What the planner answers: a plan, or why there is none."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from readiness.engine.stations.problem import At, Post

FixKind = Literal[
    "spotter",
    "adult",
    "at-once",
    "equipment",
    "wall",
    "floor",
    "lock",
    "ban",
    "split",
    "no-station",
]


@dataclass(frozen=True)
class Plan:
    """Where everybody is in the rotations from the problem's start on.

    at: in order of rotation, station, child. posts: who spots, and who stands beside a station that
        needs it; whoever has no post walks the room.
    places: of each station that is used, the numbers of its wall places and of its floor places in
        the hall's lists.
    worth: the sum of the works' worth that the children get in these rotations, each once.
    bound: no plan is better in what was sought (nobody twice at a drill, then worth and wishes) by
        more than this share of ``worth``, from 0; 0: proven best.
    """

    at: tuple[At, ...]
    posts: tuple[Post, ...]
    places: Mapping[str, tuple[tuple[int, ...], tuple[int, ...]]]
    worth: int
    bound: float

    @property
    def proven_best(self) -> bool:
        return self.bound == 0


@dataclass(frozen=True)
class Fix:
    """The least that would free one rule.

    kind and what it is about:
      spotter     ``amount`` more people who may spot the drill ``key``
      adult       ``amount`` more adults who may stand beside a station
      at-once     ``amount`` more places at once at the station ``key``
      equipment   ``amount`` more of the equipment ``key``
      wall, floor ``amount`` more places there
      lock, ban   ``settled`` is given up
      split       the station ``key`` is not split
      no-station  nothing that is set up is for the child ``person``: one more station for her, with
                  an open place in each rotation
    """

    kind: FixKind
    amount: int = 1
    key: str = ""
    person: int | None = None
    settled: At | Post | None = None


@dataclass(frozen=True)
class Clash:
    """It cannot be done. Each remedy is enough by itself; each is a few fixes that belong together.
    The least comes first. Empty: time ran out before it was known (``known`` is False)."""

    remedies: tuple[tuple[Fix, ...], ...]
    known: bool = True
