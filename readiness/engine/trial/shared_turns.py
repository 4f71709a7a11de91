"""Invented children who share the held turns of an evening, by one policy or another.

Shared: used by share_trial. Classes are weekly, with twelve children to a spotter, and there are
three turns for each who is there and not open yet: 36 for twelve. Who has been opened needs no
hands and leaves the group. An evidence hour is a day of its own, three days after each fourth
class: the four surest take six turns, and whoever is asked comes.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from scipy.special import betainc

from readiness.engine.clean_rate import DECIMALS, Decay, Rule
from readiness.engine.stations.shares import MOST, HeldChild, had_fewest, in_line, share
from readiness.engine.trial.invented_children import ATTENDS, CLASSES, Learning, clip, dips
from readiness.engine.trial.simulation import (
    Bools,
    Floats,
    Ints,
    has_enough,
    next_class,
    simulate_outcomes,
)

GROUP, EACH = 12, 3
DAYS_BETWEEN, CORRELATION = 7, 0.1
HOUR_EVERY, HOUR_AFTER, HOUR_CHILDREN, HOUR_TURNS = 4, 3, 4, 6
LATELY_DAYS = 28
# Groups are worked through in blocks; how many does not change what each of them does.
BLOCK = 100 * GROUP


@dataclass(frozen=True)
class Policy:
    """How turns are shared: by the rule (else three each), and whether there are evidence hours."""

    name: str
    by_rule: bool
    has_hours: bool


EQUAL = Policy("equal, three each", by_rule=False, has_hours=False)
RULE = Policy("the rule", by_rule=True, has_hours=False)
EQUAL_HOUR = Policy("equal, evidence hour", by_rule=False, has_hours=True)
BOTH = Policy("the rule, evidence hour", by_rule=True, has_hours=True)
POLICIES = (EQUAL, RULE, EQUAL_HOUR, BOTH)


@dataclass(frozen=True)
class Pupils:
    """What no policy changes: how each learns, the dips and who is there (class by child), and the
    luck of each turn (class, or hour, by turn by child)."""

    learning: Learning
    dips: Floats
    present: Bools
    luck: Floats
    hour_luck: Floats

    def __len__(self) -> int:
        return len(self.learning.start)

    def rate(self, at: int, practice: Floats | int) -> Floats:
        """The true rates in a class, after so much practice."""
        return clip(self.learning.after(np.asarray(practice)) - self.dips[at])

    def rates(self) -> Floats:
        """The true rates of each class where a class is a class, however many turns it had."""
        return clip(self.learning.after(np.arange(CLASSES)[:, None]) - self.dips)


def pupils(children: int, seed: int) -> Iterator[Pupils]:
    """Whole groups in blocks: the same children and the same luck for every policy and world."""
    children = -(-children // GROUP) * GROUP
    for block in range(0, children, BLOCK):
        # Whole blocks are drawn, so that more children leave the first ones as they are.
        draw = np.random.default_rng([seed, block, GROUP])
        cut = slice(min(BLOCK, children - block))
        learning = Learning.drawn(draw, BLOCK)
        yield Pupils(
            Learning(learning.start[cut], learning.top[cut], learning.constant[cut]),
            dips(draw, BLOCK)[:, cut],
            (draw.random((CLASSES, BLOCK)) < ATTENDS)[:, cut],
            draw.random((CLASSES, MOST, BLOCK))[:, :, cut],
            draw.random((CLASSES // HOUR_EVERY, MOST, BLOCK))[:, :, cut],
        )


class Season:
    """Some children's 140 classes under one policy.

    ``teaches``: progress runs on turns taken, not on classes; three turns at each class attended
    are as much as the classes are. After ``run``: opened, the class in which each child was opened
    (CLASSES: never); rate, the true rates, class by child; turns and clean of each day of ``days``.
    """

    def __init__(
        self, rule: Rule, decay: Decay, pupils: Pupils, policy: Policy, teaches: bool
    ) -> None:
        self._rule, self._decay = rule, decay
        self._pupils, self._policy, self._teaches = pupils, policy, teaches
        every = HOUR_EVERY if policy.has_hours else CLASSES + 1
        # Day, class, and the number of the hour; None for the class itself.
        self._evenings: list[tuple[int, int, int | None]] = []
        for at in range(CLASSES):
            self._evenings.append((at * DAYS_BETWEEN, at, None))
            if (at + 1) % every == 0:
                self._evenings.append((at * DAYS_BETWEEN + HOUR_AFTER, at, at // every))
        self.days: Ints = np.array([day for day, _, _ in self._evenings])
        shape = len(self._evenings), len(pupils)
        self.turns, self.clean = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
        self._a, self._b = np.zeros(len(pupils)), np.zeros(len(pupils))
        self._earlier: list[tuple[int, ...]] = [()] * len(pupils)
        self._had_fewest = [False] * len(pupils)
        self.opened: Ints = np.full(len(pupils), CLASSES)
        self.rate: Floats = np.empty((CLASSES, len(pupils)))

    def run(self) -> "Season":
        for place, (_day, at, hour) in enumerate(self._evenings):
            practice = self.turns.sum(axis=0) / (EACH * ATTENDS) if self._teaches else at
            self.rate[at] = self._pupils.rate(at, practice)
            self.turns[place] = self._given(place, at, hour)
            luck = self._pupils.luck[at] if hour is None else self._pupils.hour_luck[hour]
            outcomes = simulate_outcomes(self.rate[at][None], CORRELATION, luck[None])[0]
            taken = np.arange(MOST)[:, None] < self.turns[place]
            self.clean[place] = (outcomes & taken).sum(axis=0)
            next_class(self._a, self._b, self._decay, self.days, self.turns, self.clean, place)
            self._open(place, at)
        return self

    def _given(self, place: int, at: int, hour: int | None) -> Ints:
        """Everybody's turns that day."""
        waits = self.opened == CLASSES
        if hour is not None:
            return self._of_hour(place, waits)
        here = waits & self._pupils.present[at]
        return self._by_rule(place, here) if self._policy.by_rule else np.where(here, EACH, 0)

    def _of_hour(self, place: int, waits: Bools) -> Ints:
        turns = np.zeros(len(waits), np.int64)
        for group in self._groups(place, waits):
            turns[[held.child for held in in_line(group)[:HOUR_CHILDREN]]] = HOUR_TURNS
        return turns

    def _by_rule(self, place: int, here: Bools) -> Ints:
        turns = np.zeros(len(here), np.int64)
        for group in self._groups(place, here):
            taken = {each.held.child: each.turns for each in share(group, EACH * len(group))}
            fewest = had_fewest(taken, {held.child: held.most for held in group})
            for child, count in taken.items():
                turns[child] = count
                self._earlier[child] = (*self._earlier[child][-3:], count)
                self._had_fewest[child] = child in fewest
        return turns

    def _groups(self, place: int, who: Bools) -> Iterator[list[HeldChild]]:
        """Each group's children as the rule is told of them before the day's first turn."""
        held = self._held(place, np.nonzero(who)[0])
        for _, group in groupby(held, key=lambda each: each.child // GROUP):
            yield list(group)

    def _held(self, place: int, children: Ints) -> list[HeldChild]:
        day, rule = self.days[place], self._rule
        clean = self.clean[self.days.searchsorted(day - rule.within) : place, children]
        missing = np.maximum(rule.days - (clean > 0).sum(axis=0), 0)
        turns = self.turns[self.days.searchsorted(day - LATELY_DAYS) : place, children]
        fade = 2.0 ** (-float(day - self.days[max(place - 1, 0)]) / self._decay.time)
        a, b = self._a[children] * fade, self._b[children] * fade
        sure = np.round(betainc(1 + b, 1 + a, 1 - rule.rate), DECIMALS)
        facts = zip(children, sure, missing, turns.sum(axis=0), strict=True)
        return [
            HeldChild(
                child=int(child),
                sureness=float(sureness),
                certainty=rule.certainty,
                missing_days=int(days),
                turns_28=int(lately),
                earlier=self._earlier[child],
                had_fewest=self._had_fewest[child],
            )
            for child, sureness, days, lately in facts
        ]

    def _open(self, place: int, at: int) -> None:
        """At the day's end, as simulation.first_open does."""
        seen = slice(self.days.searchsorted(self.days[place] - self._rule.within), place + 1)
        enough = has_enough(self._rule, self.days[seen], self.clean[seen])[-1]
        ask = np.nonzero(enough & (self.opened == CLASSES))[0]
        sure = betainc(1 + self._b[ask], 1 + self._a[ask], 1 - self._rule.rate)
        self.opened[ask[np.round(sure, DECIMALS) >= self._rule.certainty]] = at
