"""A trial of rules on invented children: who is opened too soon, and who waits too long.

Each rule reads the same turns. A studio can run it with numbers of its own (manage.py
compare_rules).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from readiness.engine.clean_rate import Memory, Rule
from readiness.engine.statistics.proportions import wilson
from readiness.engine.trial.error_rates import (
    Bools,
    Floats,
    Ints,
    beta_binomial,
    faded_counts,
    falls,
    first_open,
    simulate_outcomes,
)
from readiness.engine.trial.invented_children import (
    ATTENDS,
    CLASSES,
    FIXED,
    VARIES,
    VARYING,
    Record,
    Row,
    Turns,
    World,
    in_a_row,
    plateaus_and_dips,
    records,
)
from readiness.engine.trial.run_rules import Sprt, learning_scores

# A child is ready from the first class at this true rate.
READY = 0.85
UNDER = (0.5, 0.6, 0.65, 0.75)


# --- rules ----------------------------------------------------------------------------


def _windows(row: Row, turns: int) -> Ints:
    """Clean turns among the last ``turns``, by child and turn; of fewer at the beginning."""
    so_far = np.cumsum(row.outcomes == 1, axis=1)
    before = np.zeros_like(so_far)
    before[:, turns:] = so_far[:, :-turns]
    return np.asarray(so_far - before, dtype=np.int64)


def of_last(row: Row, clean: int, turns: int) -> Ints:
    """``clean`` of the last ``turns``; full windows only."""
    full = np.arange(row.outcomes.shape[1]) >= turns - 1
    return row.class_of((_windows(row, turns) >= clean) & full)


def count_chart(row: Row, up: int, down: int, limit: int) -> Ints:
    """A score that never falls under 0: the walk less its lowest point so far."""
    walk = np.cumsum(np.where(row.outcomes == 1, up, -down), axis=1)
    lowest = np.minimum(np.minimum.accumulate(walk, axis=1), 0)
    return row.class_of(walk - lowest >= limit)


@dataclass(frozen=True)
class WilsonRule:
    """Wilson's one-sided lower bound of the last so many turns; of fewer once there are 12."""

    turns: int
    rate: float = 0.75
    certainty: float = 0.9
    least: int = 12

    @property
    def name(self) -> str:
        return f"Wilson {self.rate} of {self.turns}"

    def opens(self, row: Row) -> Ints:
        # The least clean turns of n whose bound reaches the rate.
        needs = np.array([self._needs(n) for n in range(self.turns + 1)])
        at = np.minimum(np.arange(row.outcomes.shape[1]) + 1, self.turns)
        return row.class_of((_windows(row, self.turns) >= needs[at]) & (at >= self.least))

    def _needs(self, turns: int) -> int:
        for clean in range(turns + 1):
            bound = wilson(clean, turns, 2 * self.certainty - 1)
            if bound is not None and bound[0] >= self.rate:
                return clean
        return turns + 1


@dataclass(frozen=True)
class SprtRule:
    """Wald's test on every turn; when it rejects it begins anew."""

    test: Sprt

    @property
    def name(self) -> str:
        t = self.test
        return f"SPRT {t.unready}/{t.ready}, {t.alpha}"

    def opens(self, row: Row) -> Ints:
        up, down = learning_scores(self.test.ready, self.test.unready)
        score = np.zeros(len(row.outcomes))
        found = np.zeros(row.outcomes.shape, dtype=np.bool_)
        for at in range(row.outcomes.shape[1]):
            score += np.where(row.outcomes[:, at] == 1, up, down)
            found[:, at] = score >= self.test.accept_at
            score[(score <= self.test.reject_at) | found[:, at]] = 0
        return row.class_of(found)


# SPRT and filter as chosen before any was tried; docs/decisions.md says how Wilson's came to be.
WILSON = (WilsonRule(20), WilsonRule(30), WilsonRule(50))
SPRT = (
    SprtRule(Sprt(0.6, 0.85, 0.05, 0.1)),
    SprtRule(Sprt(0.65, 0.9, 0.05, 0.1)),
    SprtRule(Sprt(0.7, 0.9, 0.01, 0.1)),
)
# (rate, certainty): opens when the chance of the rate or more, now, is that high.
FILTER = ((0.8, 0.8), (0.8, 0.9), (0.75, 0.9))


class Filter:
    """A Bayesian filter that knows the fixed world: the best that can be had in it.

    Particles: ``paths`` children drawn from the world, each weighted by how well the turns so
    far fit it (their rates rounded to a grid of 500). It knows the correlation of a day too.
    """

    GRID = 500

    def __init__(self, paths: int = 4000, seed: int = 20_011) -> None:
        rates = plateaus_and_dips(np.random.default_rng(seed), paths)
        self._grid = np.linspace(0.02, 0.985, self.GRID)
        step = self._grid[1] - self._grid[0]
        self._at = np.round((rates - 0.02) / step).astype(np.intp)
        # For each class: all, and those at each rate that is asked for.
        asked = [np.ones(rates.shape, dtype=np.bool_)] + [rates >= rate for rate, _ in FILTER]
        self._asked = np.stack(asked, axis=1).astype(np.float32)

    @staticmethod
    def name(rate: float, certainty: float) -> str:
        return f"filter {rate} at {certainty}"

    def opens(self, record: Record, correlation: float) -> dict[str, Ints]:
        fits = {
            n: np.array([beta_binomial(n, p, correlation) for p in self._grid], dtype=np.float32)
            for n in np.unique(record.turns).tolist()
            if n
        }
        clean, certain = record.clean, np.array([c for _, c in FILTER])
        children = np.arange(record.rate.shape[1])
        opened = np.full((len(FILTER), len(children)), CLASSES, dtype=np.int64)
        weights = np.full((len(children), self._at.shape[1]), 1, dtype=np.float32)
        for at in range(CLASSES):
            turns = record.turns[at, children]
            for n, fit in fits.items():
                like = fit[self._at[at]].T
                for k in range(n + 1):
                    rows = np.nonzero((turns == n) & (clean[at, children] == k))[0]
                    if len(rows):
                        weights[rows] *= like[k]
            # Not a matrix product: for one so narrow many threads only get in each other's way.
            totals = np.einsum("cp,ap->ca", weights, self._asked[at])
            weights /= totals[:, :1]
            met = (totals[:, 1:] / totals[:, :1] >= certain) & (turns > 0)[:, None]
            now = opened[:, children]
            opened[:, children] = np.where(met.T & (now == CLASSES), at, now)
            waiting = (opened[:, children] == CLASSES).any(axis=0)
            if waiting.mean() < 0.8:
                children, weights = children[waiting], weights[waiting]
        names = [self.name(rate, certainty) for rate, certainty in FILTER]
        return dict(zip(names, opened, strict=True))


PRACTICE_GATE, UNSPOTTED_GATE = "practice gate", "unspotted gate"


@dataclass(frozen=True)
class OwnGates:
    """The program's own two clean rules, and how evidence fades, as they stand in the ladder."""

    practice: Rule
    unspotted: Rule
    memory: Memory

    def opens(self, record: Record) -> dict[str, Ints]:
        rules = {PRACTICE_GATE: self.practice, UNSPOTTED_GATE: self.unspotted}
        return {
            name: first_open(rule, self.memory, record.days, record.turns, record.clean)
            for name, rule in rules.items()
        }


def other_rules(record: Record) -> dict[str, Ints]:
    """The rules that know nothing of days, calendar or world, each by its name."""
    row = in_a_row(record)
    return {
        "8 of 10": of_last(row, 8, 10),
        "9 of 10": of_last(row, 9, 10),
        "5 in a row": of_last(row, 5, 5),
        "10 in a row": of_last(row, 10, 10),
        "count chart": count_chart(in_a_row(record, 3), 1, 5, 20),
        **{rule.name: rule.opens(row) for rule in (*WILSON, *SPRT)},
    }


# --- what came of it ------------------------------------------------------------------


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
    found: list[Outcome] = []
    kept: dict[tuple[Turns, float], dict[str, Ints]] = {}
    for turns, days_between, correlation in settings:
        own: list[dict[str, Ints]] = []
        others: list[dict[str, Ints]] = []
        rates = []
        for record in records(world, children, turns, days_between, correlation, seed):
            rates.append(record.rate)
            own.append(gates.opens(record))
            if (turns, correlation) not in kept:
                filtered = knows.opens(record, correlation) if knows else {}
                others.append({**other_rules(record), **filtered})
        if others:
            kept[turns, correlation] = _joined(others)
        rate = np.concatenate(rates, axis=1)
        setting = turns, days_between, correlation
        every = {**_joined(own), **kept[turns, correlation]}
        found += [outcome(name, setting, opened, rate) for name, opened in every.items()]
    return found


def _joined(blocks: Sequence[dict[str, Ints]]) -> dict[str, Ints]:
    return {name: np.concatenate([block[name] for block in blocks]) for name in blocks[0]}


# --- more of the record ---------------------------------------------------------------

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
    clean, memory = record.clean, gates.memory
    faded = faded_counts(memory, record.days, taken, clean, LIGHT_CLASSES)
    found = []
    for share in BORROWED:
        later = slice(LIGHT_CLASSES, None)
        opened = first_open(
            gates.unspotted,
            memory,
            record.days[later],
            taken[later],
            clean[later],
            (share * faded[0], share * faded[1]),
        )
        opened = np.where(opened == len(bare), CLASSES, opened)
        found.append(outcome(f"light touch at {share}", setting, opened, rate[later]))
    return found


# --- lately ---------------------------------------------------------------------------

STEADY_CLASSES, FALSE_CLASSES, CAUGHT_CLASSES = 12, 60, 40


@dataclass(frozen=True)
class WatchOutcome:
    """A watch over open stages in steady worlds: false_per_1000 turns at .95; classes until a
    drop to .5 is seen (median and 90th percentile; None: beyond the horizon)."""

    rule: str
    turns: Turns
    correlation: float
    false_per_1000: float
    median_classes: float | None
    p90_classes: float | None


def cusum_falls(
    outcomes: Bools, turns: Ints, miss: int = 3, clean: int = 1, limit: int = 15
) -> Ints:
    """A Bernoulli CUSUM's signals, as error_rates.falls gives lately's; it begins anew after."""
    fell = np.zeros(turns.shape, dtype=np.int64)
    score = np.zeros(turns.shape[1], dtype=np.int64)
    for at in range(len(turns)):
        for turn in range(1, int(turns[at].max(initial=0)) + 1):
            here = turns[at] >= turn
            score += here * np.where(outcomes[at, turn - 1], -clean, miss)
            np.maximum(score, 0, out=score)
            fell[at, here & (score >= limit) & (fell[at] == 0)] = turn
        score[fell[at] > 0] = 0
    return fell


def watch(
    asked: float, memory: Memory, turns: Turns, correlation: float, children: int, seed: int
) -> list[WatchOutcome]:
    """Lately and the CUSUM side by side: 12 classes at .92, then .95 for good, or .5."""
    steady = _watched(asked, memory, turns, correlation, children, seed, 0.95, FALSE_CLASSES)
    dropped = _watched(asked, memory, turns, correlation, children, seed, 0.5, CAUGHT_CLASSES)
    found = []
    for rule, (fell, taken) in steady.items():
        late, _ = dropped[rule]
        waits = np.where((late > 0).any(axis=0), (late > 0).argmax(axis=0) + 1.0, np.inf)
        middle, most = np.median(waits), np.quantile(waits, 0.9, method="higher")
        found.append(
            WatchOutcome(
                rule,
                turns,
                correlation,
                float(1000 * (fell > 0).sum() / taken),
                float(middle) if np.isfinite(middle) else None,
                float(most) if np.isfinite(most) else None,
            )
        )
    return found


def _watched(
    asked: float,
    memory: Memory,
    turns: Turns,
    correlation: float,
    children: int,
    seed: int,
    then: float,
    classes: int,
) -> dict[str, tuple[Ints, int]]:
    """For each rule its falls after the first 12 classes, and the turns taken in them."""
    draw = np.random.default_rng([seed, 1])
    count = STEADY_CLASSES + classes
    most = VARIES[1] if turns == VARYING else int(turns)
    a_class = draw.integers(VARIES[0], VARIES[1] + 1, (count, children))
    taken = a_class if turns == VARYING else np.full((count, children), most)
    rate = np.where(np.arange(count) < STEADY_CLASSES, 0.92, then)[:, None]
    luck = draw.random((count, most, children))
    outcomes = simulate_outcomes(rate, correlation, luck)
    days = np.arange(count) * 7
    counted = int(taken[STEADY_CLASSES:].sum())
    return {
        "lately": (falls(asked, memory, days, taken, outcomes)[STEADY_CLASSES:], counted),
        "CUSUM +3/-1 at 15": (cusum_falls(outcomes, taken)[STEADY_CLASSES:], counted),
    }
