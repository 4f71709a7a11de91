"""The shared turns on trial: the rule as it is built beside equal shares, in two worlds.

Shared: used by manage.py compare_rules --shares.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from readiness.engine.trial.invented_children import CLASSES
from readiness.engine.trial.rule_trial import READY, OwnGates, outcome
from readiness.engine.trial.shared_turns import (
    BOTH,
    CORRELATION,
    DAYS_BETWEEN,
    EACH,
    EQUAL,
    POLICIES,
    RULE,
    Policy,
    Season,
    pupils,
)
from readiness.engine.trial.simulation import Floats, Ints

FIXED_CLASSES, TURNS_TEACH = "fixed classes", "turns teach"
WORLDS = (FIXED_CLASSES, TURNS_TEACH)


@dataclass(frozen=True)
class ShareOutcome:
    """One policy in one world; opened to p90_classes as in rule_trial.Outcome.

    Quarters are of the children who reach .85 where classes teach, by the class in which they do:
    the same children whatever the policy. slow_delay: the median delay of the slowest quarter.
    fast_opens, all_open, slow_opens: the median class of the opening, of the fastest quarter, of
    all of these, of the slowest; slow_opens_p90: the 90th percentile. Whoever never opens counts
    as the class after the last. None: nobody.
    """

    world: str
    policy: str
    children: int
    opened: float
    under_65: float | None
    under_75: float | None
    median_classes: float | None
    p90_classes: float | None
    slow_delay: float | None
    fast_opens: float | None
    all_open: float | None
    slow_opens: float | None
    slow_opens_p90: float | None


def compare_shares(gates: OwnGates, children: int, seed: int) -> list[ShareOutcome]:
    """Every policy in both worlds, on the same children; ``children`` is rounded up to groups."""
    blocks = list(pupils(children, seed))
    of_itself = np.concatenate([block.rates() for block in blocks], axis=1)
    outcomes = []
    for world in WORLDS:
        for policy in POLICIES:
            seasons = [
                Season(
                    gates.unspotted, gates.decay, block, policy, teaches=world == TURNS_TEACH
                ).run()
                for block in blocks
            ]
            opened = np.concatenate([season.opened for season in seasons])
            rate = np.concatenate([season.rate for season in seasons], axis=1)
            outcomes.append(share_outcome(world, policy, opened, rate, first_ready(of_itself)))
    return outcomes


def first_ready(rate: Floats) -> Ints:
    """The first class at .85 or more; CLASSES if there is none."""
    ready = rate >= READY
    return np.where(ready.any(axis=0), ready.argmax(axis=0), CLASSES)


def share_outcome(
    world: str, policy: Policy, opened: Ints, rate: Floats, by_itself: Ints
) -> ShareOutcome:
    """``rate``: in this world, class by child; ``by_itself``: where classes teach, when each child
    is ready."""
    every = outcome(policy.name, (EACH, DAYS_BETWEEN, CORRELATION), opened, rate)
    reach = by_itself < CLASSES
    first, last = np.quantile(by_itself[reach], [0.25, 0.75]) if reach.any() else (0, CLASSES)
    fast, slow = reach & (by_itself <= first), reach & (by_itself >= last)
    ready = first_ready(rate)
    return ShareOutcome(
        world=world,
        policy=policy.name,
        children=len(opened),
        opened=every.opened,
        under_65=every.under_65,
        under_75=every.under_75,
        median_classes=every.median_classes,
        p90_classes=every.p90_classes,
        slow_delay=_median((opened - ready)[slow & (opened < CLASSES) & (ready < CLASSES)]),
        fast_opens=_median(opened[fast]),
        all_open=_median(opened[reach]),
        slow_opens=_median(opened[slow]),
        slow_opens_p90=_p90(opened[slow]),
    )


def _median(classes: Ints) -> float | None:
    return float(np.median(classes)) if classes.size else None


def _p90(classes: Ints) -> float | None:
    return float(np.quantile(classes, 0.9, method="higher")) if classes.size else None


# --- what is asked of the rule ----------------------------------------------------------


@dataclass(frozen=True)
class Limit:
    """What is asked of a figure: at most ``limit``, or at least where ``at_least``."""

    name: str
    value: float | None
    limit: float | None
    at_least: bool = False

    @property
    def held(self) -> bool:
        if self.value is None or self.limit is None:
            return False
        return self.value >= self.limit if self.at_least else self.value <= self.limit


def limits(outcomes: Sequence[ShareOutcome]) -> list[Limit]:
    """The numbers are our own: what the rule was taken for, and must keep to."""
    found = {(each.world, each.policy): each for each in outcomes}
    equal = found[FIXED_CLASSES, EQUAL.name]
    wait = found[TURNS_TEACH, EQUAL.name].slow_opens_p90
    asked = [Limit("equal shares, median: the world is the same", equal.median_classes, 9, True)]
    for policy, median, under_65 in ((RULE, 7, 0.006), (BOTH, 4.5, 0.005)):
        fixed, teach = found[FIXED_CLASSES, policy.name], found[TURNS_TEACH, policy.name]
        asked += [
            Limit(f"{policy.name}, median", fixed.median_classes, median),
            Limit(f"{policy.name}, under .75", fixed.under_75, 0.065),
            Limit(f"{policy.name}, under .65", fixed.under_65, under_65),
            Limit(f"{policy.name}, p90 as equal's", fixed.p90_classes, equal.p90_classes),
            Limit(f"{policy.name}, slow quarter as equal's", fixed.slow_delay, equal.slow_delay),
            Limit(
                f"{policy.name}, where turns teach: slow quarter opens, p90",
                teach.slow_opens_p90,
                None if wait is None else wait + 3,
            ),
        ]
    return asked
