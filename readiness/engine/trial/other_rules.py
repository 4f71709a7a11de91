"""The rules that the trial compares with the program's own: habit, charts, tests, a filter."""

from dataclasses import dataclass

import numpy as np

from readiness.engine.statistics.proportions import wilson
from readiness.engine.trial.invented_children import (
    CLASSES,
    Record,
    Row,
    in_a_row,
    plateaus_and_dips,
)
from readiness.engine.trial.run_rules import Sprt, learning_scores
from readiness.engine.trial.simulation import Ints, beta_binomial


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
    """Wald's test on every turn; when it rejects it starts again."""

    test: Sprt

    @property
    def name(self) -> str:
        t = self.test
        return f"SPRT {t.unready}/{t.ready}, {t.alpha}"

    def opens(self, row: Row) -> Ints:
        up, down = learning_scores(self.test.ready, self.test.unready)
        score = np.zeros(len(row.outcomes))
        accepted = np.zeros(row.outcomes.shape, dtype=np.bool_)
        for at in range(row.outcomes.shape[1]):
            score += np.where(row.outcomes[:, at] == 1, up, down)
            accepted[:, at] = score >= self.test.accept_at
            score[(score <= self.test.reject_at) | accepted[:, at]] = 0
        return row.class_of(accepted)


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
        targets = [np.ones(rates.shape, dtype=np.bool_)] + [rates >= rate for rate, _ in FILTER]
        self._targets = np.stack(targets, axis=1).astype(np.float32)

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
            totals = np.einsum("cp,ap->ca", weights, self._targets[at])
            weights /= totals[:, :1]
            met = (totals[:, 1:] / totals[:, :1] >= certain) & (turns > 0)[:, None]
            now = opened[:, children]
            opened[:, children] = np.where(met.T & (now == CLASSES), at, now)
            waiting = (opened[:, children] == CLASSES).any(axis=0)
            if waiting.mean() < 0.8:
                children, weights = children[waiting], weights[waiting]
        names = [self.name(rate, certainty) for rate, certainty in FILTER]
        return dict(zip(names, opened, strict=True))


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
