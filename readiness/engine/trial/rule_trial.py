"""A trial of rules on invented children: who is opened too soon, and who waits too long.

Shared: used by manage.py compare_rules, with a studio's own numbers. Each rule reads the same
turns.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from readiness.engine.clean_rate import Decay, Rule
from readiness.engine.trial.invented_children import (
    ATTENDS,
    CLASSES,
    FIXED,
    VARIES,
    VARYING,
    Record,
    Turns,
    World,
    records,
)
from readiness.engine.trial.other_rules import Filter, other_rules
from readiness.engine.trial.simulation import (
    Floats,
    Ints,
    decayed_counts,
    first_open,
    simulate_outcomes,
)

# A child is ready from the first class at this true rate.
READY = 0.85
UNDER = (0.5, 0.6, 0.65, 0.75)
PRACTICE_GATE, UNSPOTTED_GATE = "practice gate", "unspotted gate"


@dataclass(frozen=True)
class OwnGates:
    """The program's own two clean rules, and how evidence fades, as they stand in the ladder."""

    practice: Rule
    unspotted: Rule
    decay: Decay

    def opens(self, record: Record) -> dict[str, Ints]:
        rules = {PRACTICE_GATE: self.practice, UNSPOTTED_GATE: self.unspotted}
        return {
            name: first_open(rule, self.decay, record.days, record.turns, record.clean)
            for name, rule in rules.items()
        }


@dataclass(frozen=True)
class Outcome:
    """opened, never: shares of all children. under_*: of those opened, the share whose true
    rate was lower in the class in which they opened. Delays in classes, from the first class
    at .85 or more to the opening, among those who reach both. None: nobody."""

    rule: str
    turns: Turns
    days_between: float
    correlation: float
    opened: float
    under_50: float | None
    under_60: float | None
    under_65: float | None
    under_75: float | None
    median_classes: float | None
    p90_classes: float | None
    never: float


def outcome(rule: str, setting: tuple[Turns, float, float], opened: Ints, rate: Floats) -> Outcome:
    """From the class of each child's opening and the true rates, class by child."""
    children = np.arange(len(opened))
    met = opened < CLASSES
    then = rate[opened[met], children[met]]
    ready = np.where((rate >= READY).any(axis=0), (rate >= READY).argmax(axis=0), CLASSES)
    delays = (opened - ready)[met & (ready < CLASSES)]
    under = [float(np.mean(then < level)) if met.any() else None for level in UNDER]
    turns, days_between, correlation = setting
    return Outcome(
        rule=rule,
        turns=turns,
        days_between=days_between,
        correlation=correlation,
        opened=float(np.mean(met)),
        under_50=under[0],
        under_60=under[1],
        under_65=under[2],
        under_75=under[3],
        median_classes=float(np.median(delays)) if delays.size else None,
        p90_classes=float(np.quantile(delays, 0.9, method="higher")) if delays.size else None,
        never=float(np.mean(~met)),
    )


def compare(
    world: World,
    gates: OwnGates,
    knows: Filter | None,
    settings: Sequence[tuple[Turns, float, float]],
    children: int,
    seed: int,
) -> list[Outcome]:
    """Every rule in every setting (turns, days between classes, correlation) of a world.

    Rules that know nothing of the calendar are worked out once for all days between.
    """
    outcomes: list[Outcome] = []
    by_turns: dict[tuple[Turns, float], dict[str, Ints]] = {}
    for turns, days_between, correlation in settings:
        own: list[dict[str, Ints]] = []
        others: list[dict[str, Ints]] = []
        rates = []
        for record in records(world, children, turns, days_between, correlation, seed):
            rates.append(record.rate)
            own.append(gates.opens(record))
            if (turns, correlation) not in by_turns:
                filtered = knows.opens(record, correlation) if knows else {}
                others.append({**other_rules(record), **filtered})
        if others:
            by_turns[turns, correlation] = _joined(others)
        rate = np.concatenate(rates, axis=1)
        setting = turns, days_between, correlation
        every = {**_joined(own), **by_turns[turns, correlation]}
        outcomes += [outcome(name, setting, opened, rate) for name, opened in every.items()]
    return outcomes


def _joined(blocks: Sequence[dict[str, Ints]]) -> dict[str, Ints]:
    return {name: np.concatenate([block[name] for block in blocks]) for name in blocks[0]}


LIGHT_CLASSES = 15
# What a turn with one step more support is worth for the next step. 0 is the plain rule.
BORROWED = (0.0, 0.1, 0.25, 0.5)


def borrowing(
    gates: OwnGates, setting: tuple[Turns, float, float], children: int, seed: int
) -> list[Outcome]:
    """The unspotted gate, where turns at light touch count for it at a share of their weight.

    The world is our own: 15 classes at light touch at U(.65, .95); then hands go, the rate
    falls by U(.05, .45) and climbs to a top of U(.7, .98), never under where it began, with a
    time constant of U(8, 40). The gate still asks for its own days and clean turns.
    """
    turns, days_between, correlation = setting
    draw = np.random.default_rng([seed, 2])
    light = draw.uniform(0.65, 0.95, children)
    start = light - draw.uniform(0.05, 0.45, children)
    top = np.maximum(draw.uniform(0.7, 0.98, children), start)
    at = np.arange(CLASSES - LIGHT_CLASSES)[:, None]
    bare = top - (top - start) * np.exp(-at / draw.uniform(8, 40, children))
    rate = np.concatenate([np.broadcast_to(light, (LIGHT_CLASSES, children)), bare])
    most = VARIES[1] if turns == VARYING else int(turns)
    a_class = draw.integers(VARIES[0], VARIES[1] + 1, rate.shape)
    taken = np.where(draw.random(rate.shape) < ATTENDS, a_class if turns == VARYING else most, 0)
    outcomes = simulate_outcomes(rate, correlation, draw.random((len(rate), most, children)))
    record = Record(FIXED.days(days_between), rate, taken, outcomes)
    clean, decay = record.clean, gates.decay
    faded = decayed_counts(decay, record.days, taken, clean, LIGHT_CLASSES)
    results = []
    for share in BORROWED:
        later = slice(LIGHT_CLASSES, None)
        opened = first_open(
            gates.unspotted,
            decay,
            record.days[later],
            taken[later],
            clean[later],
            (share * faded[0], share * faded[1]),
        )
        opened = np.where(opened == len(bare), CLASSES, opened)
        results.append(outcome(f"light touch at {share}", setting, opened, rate[later]))
    return results
