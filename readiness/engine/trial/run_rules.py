"""Rules of habit and of quality control on a row of turns, exactly, as Markov chains.

k clean of the last n, runs, count charts, CUSUMs and Wald's sequential test: the chance that
a rule has spoken within so many turns, and the turns it takes on average. A rule is a finite
set of states with one step for each outcome of a turn (Fu & Koutras' embedding in a chain;
for charts Brook & Evans, *Biometrika* 1972;59:539-549).
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

State = TypeVar("State", bound=Hashable)
Window = tuple[int, ...]
# Real scores that differ by less are one state.
DECIMALS = 9


class End(Enum):
    """What a step answers when the rule has spoken, or has ended without (a test rejects)."""

    SIGNAL = "signal"
    STOP = "stop"


SIGNAL, STOP = End.SIGNAL, End.STOP


@dataclass(frozen=True)
class Chain:
    """States 0 (the start), 1, 2 ...; then the two ends, SIGNAL and STOP.

    moves: for each outcome of a turn (clean first, then not clean) the state after it, by
    state. whole: False if states further than ``depth`` turns from the start are left out.
    """

    moves: Ints
    whole: bool = True
    depth: int | None = None

    @property
    def states(self) -> int:
        return int(self.moves.shape[1]) - 2

    def transitions(self) -> list[Any]:
        """For each outcome the sparse matrix of its steps."""
        size = self.states + 2
        rows, ones = np.arange(size), np.ones(size)
        return [csr_array((ones, (rows, to)), shape=(size, size)) for to in self.moves]


def chain(
    step: Callable[[State, int], State | End],
    start: State,
    outcomes: Sequence[int] = (1, 0),
    depth: int | None = None,
) -> Chain:
    """All states that can be reached from ``start`` by ``step(state, outcome)``.

    ``depth``: only those reached within so many turns, for rules without an end of states.
    """
    number: dict[State, int] = {start: 0}
    moves: list[list[State | End]] = []
    front, turns = [start], 0
    while front and (depth is None or turns < depth):
        turns += 1
        ahead = []
        for state in front:
            after = [step(state, outcome) for outcome in outcomes]
            moves.append(after)
            for reached in after:
                if not isinstance(reached, End) and reached not in number:
                    number[reached] = len(number)
                    ahead.append(reached)
        front = ahead
    count = len(number)
    ends = {SIGNAL: count, STOP: count + 1}
    # States at the last depth lead nowhere: nobody asks for a later turn.
    table = [[ends[e] if isinstance(e, End) else number[e] for e in after] for after in moves]
    table += [[count + 1] * len(outcomes)] * (count - len(moves))
    table += [[count] * len(outcomes), [count + 1] * len(outcomes)]
    return Chain(np.array(table, dtype=np.int64).T, not front, depth)


# --- rules ----------------------------------------------------------------------------


def clean_of_last(clean: int, turns: int) -> Chain:
    """``clean`` of the last ``turns`` were clean; asked of full windows only.

    A window with the (turns - clean + 1)th newest miss in it cannot pass, so only what came
    after that miss is kept: 175 states for 8 of 10.
    """
    nothing: Window = ()
    return chain(clean_of_last_step(clean, turns), nothing)


def clean_of_last_step(clean: int, turns: int) -> Callable[[Window, int], Window | End]:
    """The step of clean_of_last: the state is what has come since the last turn that counts."""
    if not 0 < clean <= turns:
        raise ValueError(f"{clean!r} of {turns!r}")

    def step(state: Window, outcome: int) -> Window | End:
        window = (*state, outcome)
        if window.count(0) > turns - clean:
            window = window[window.index(0) + 1 :]
        return SIGNAL if len(window) == turns else window

    return step


def in_a_row(clean: int) -> Chain:
    """So many clean turns in a row."""
    return clean_of_last(clean, clean)


def count_chart(up: float, down: float, limit: float, depth: int | None = None) -> Chain:
    """A score that starts at 0, goes ``up`` for a clean turn and ``down`` for one that was not,
    never under 0, and speaks at ``limit``. With whole numbers the chain is finite."""
    return score_chart(up, -down, limit, depth)


def watch_chart(miss: float, clean: float, limit: float, depth: int | None = None) -> Chain:
    """The mirror: ``miss`` more for a turn that was not clean, ``clean`` less for a clean one."""
    return score_chart(-clean, miss, limit, depth)


def score_chart(
    on_clean: float, on_miss: float, limit: float, depth: int | None = None, start: float = 0
) -> Chain:
    def step(state: float, outcome: int) -> float | End:
        score = round(max(0, state + (on_clean if outcome else on_miss)), DECIMALS)
        return SIGNAL if score >= limit - 10.0**-DECIMALS else score

    return chain(step, start, depth=depth)


def cusum_scores(chance: float, odds_ratio: float) -> tuple[float, float]:
    """The log-likelihood scores (nothing happened, it happened) of an event of this chance
    against odds so many times as high.

    Source: Steiner et al., *Biostatistics* 2000;1:441-452.
    """
    none = -np.log(1 - chance + odds_ratio * chance)
    return float(none), float(np.log(odds_ratio) + none)


def learning_scores(ready: float, unready: float) -> tuple[float, float]:
    """The scores (clean, not clean) that tell a true clean rate of ``ready`` from ``unready``.

    Upwards for clean turns: the learning-curve CUSUM, and with both limits Wald's test.
    """
    return (
        float(np.log(ready / unready)),
        float(np.log((1 - ready) / (1 - unready))),
    )


@dataclass(frozen=True)
class Sprt:
    """Wald's sequential probability ratio test, open plan.

    unready, ready: the two true clean rates to be told apart; alpha: the chance, about, that
    it accepts at ``unready``; beta: that it rejects at ``ready``. Wald, *Sequential Analysis*,
    1947: the true errors are at most alpha/(1 - beta) and beta/(1 - alpha).
    """

    unready: float
    ready: float
    alpha: float
    beta: float

    @property
    def accept_at(self) -> float:
        return float(np.log((1 - self.beta) / self.alpha))

    @property
    def reject_at(self) -> float:
        return float(np.log(self.beta / (1 - self.alpha)))

    def lines(self) -> tuple[float, float, float]:
        """(h1, h2, s): accept when the misses of n turns are at most s·n - h1, reject when
        they are at least s·n + h2.

        Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.2.6, where "accept" is for
        a low share of defectives. Here h1 belongs to the rarer misses of ``ready``.
        """
        up, down = learning_scores(self.ready, self.unready)
        return self.accept_at / (up - down), -self.reject_at / (up - down), up / (up - down)

    def chain(self, depth: int, restart: bool = False) -> Chain:
        """SIGNAL: accepted as ready. STOP: rejected; with ``restart`` it starts again instead.

        Exact for any horizon up to ``depth`` turns.
        """
        up, down = learning_scores(self.ready, self.unready)
        again: float | End = 0.0 if restart else STOP

        def step(state: float, outcome: int) -> float | End:
            score = round(state + (up if outcome else down), DECIMALS)
            if score >= self.accept_at:
                return SIGNAL
            return again if score <= self.reject_at else score

        return chain(step, 0.0, depth=depth)


# --- what they do ---------------------------------------------------------------------


def signalled_within(
    rule: Chain,
    rates: Sequence[float],
    turns: int,
    day_correlation: float = 0,
    turns_a_day: int | None = None,
) -> Floats:
    """The chance that the rule has spoken after 0, 1 ... ``turns`` turns: by turn, by true rate.

    With a correlation the turns of one day (``turns_a_day``) are exchangeable: Pólya's urn,
    beta-binomial days. Exact as well. ``rates`` lie from 0 to 1.
    """
    _within_depth(rule, turns)
    if day_correlation and turns_a_day is None:
        raise ValueError("a day correlation needs the turns of a day")
    rate = np.asarray(rates, dtype=np.float64)
    on_clean, on_miss = rule.transitions()
    a_day = turns_a_day or 1
    pull = day_correlation / (1 - day_correlation)
    # By clean turns of the day so far, then rate, then state.
    now = np.zeros((1, rate.size, rule.states + 2))
    now[0, :, 0] = 1
    chances_by_turn = np.zeros((turns + 1, rate.size))
    for turn in range(turns):
        done = turn % a_day
        if done == 0:
            now = now.sum(axis=0, keepdims=True)
        clean = np.arange(done + 1)[:, None]
        chance = ((rate + clean * pull) / (1 + done * pull))[:, :, None]
        after = np.zeros((done + 2, *now.shape[1:]))
        after[1:] += _stepped(now * chance, on_clean)
        after[:-1] += _stepped(now * (1 - chance), on_miss)
        now = after
        chances_by_turn[turn + 1] = now.sum(axis=0)[:, rule.states]
    return chances_by_turn


def _stepped(states: Floats, step: Any) -> Floats:
    """One step of a chain, for every row of states at once."""
    rows: Floats = states.reshape(-1, states.shape[-1]) @ step
    return rows.reshape(states.shape)


def signalled_by(rule: Chain, chances: Sequence[float], turns: int) -> Floats:
    """The same for turns with more than two outcomes: the chance of each, in the chain's order."""
    _within_depth(rule, turns)
    now = _beginning(rule)
    chances_by_turn = np.zeros(turns + 1)
    step = _mixed(rule, chances)
    for turn in range(turns):
        now = now @ step
        chances_by_turn[turn + 1] = now[rule.states]
    return chances_by_turn


def _beginning(rule: Chain) -> Floats:
    now = np.zeros(rule.states + 2)
    now[0] = 1
    return now


def _mixed(rule: Chain, chances: Sequence[float]) -> Any:
    """One sparse matrix: each outcome's steps, by its chance."""
    first, *others = (p * step for p, step in zip(chances, rule.transitions(), strict=True))
    return sum(others, first)


def mean_turns(rule: Chain, chances: Sequence[float]) -> float:
    """The turns until the rule speaks or stops, on average: (I - R)^-1 1, at the start.

    ``chances`` of the outcomes, in the chain's order: (p, 1 - p) for clean and not clean.
    Infinite for a rule that cannot end. Raises ValueError for a chain cut off at a depth.
    """
    if not rule.whole:
        raise ValueError("the states of this rule have no end: ask for a horizon")
    between = _mixed(rule, chances).toarray()[: rule.states, : rule.states]
    return float(mean_waits(between)[0])


def mean_waits(between: Floats) -> Floats:
    """The steps until the chain leaves these states, from each of them.

    Source: Brook & Evans, *Biometrika* 1972;59:539-549.
    """
    size = len(between)
    try:
        return np.asarray(np.linalg.solve(np.eye(size) - between, np.ones(size)), dtype=np.float64)
    except np.linalg.LinAlgError:
        return np.full(size, np.inf)


def sprt_result(test: Sprt, rate: float, depth: int = 2000) -> tuple[float, float, float]:
    """(accepted, rejected, turns on average) of the open plan at a true clean rate.

    What has not ended after ``depth`` turns is left out; see that the two add up to 1.
    """
    rule = test.chain(depth)
    now, step = _beginning(rule), _mixed(rule, (rate, 1 - rate))
    turns = 0.0
    for _ in range(depth):
        running = now[: rule.states].sum()
        if running < 1e-13:
            break
        turns += running
        now = now @ step
    return float(now[rule.states]), float(now[rule.states + 1]), float(turns)


def _within_depth(rule: Chain, turns: int) -> None:
    if rule.depth is not None and not rule.whole and turns > rule.depth:
        raise ValueError(f"this rule was worked out for {rule.depth} turns, not {turns}")
