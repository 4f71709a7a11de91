"""Do coaches agree? Two graders of the same turns, seconds by two clocks, and who logs only
clean turns.

Figures here start a conversation among coaches; they are no safety standard.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f, hypergeom, norm

Floats = NDArray[np.float64]
Interval = tuple[float, float]

KappaCode = Literal["ok", "no-turns", "one-grade", "one-sided", "all-alike"]
LogCode = Literal["as-the-others", "too-few-turns", "nobody-to-compare", "too-good", "only-clean"]

# --- kappa ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Kappa:
    """Chance-corrected agreement of two graders: 1 is full, 0 is what chance would give.

    code: no-turns: none graded twice. one-grade: both gave one same grade throughout, kappa is
    undefined. one-sided: one of them did; kappa is 0 whatever the other saw. all-alike: every pair
    is the same. Of both the formula gives an interval of no width, which would promise too much,
    so none is given.
    """

    code: KappaCode
    turns: int
    kappa: float | None = None
    error: float | None = None
    interval: Interval | None = None


def quadratic_kappa(
    pairs: Iterable[tuple[int, int]], grades: int = 4, confidence: float = 0.95
) -> Kappa:
    """Kappa with weights (i - j)² of grades 0 to ``grades`` - 1, given as pairs of one turn."""
    table = np.zeros((grades, grades))
    for one, other in pairs:
        table[one, other] += 1
    return weighted_kappa(table, quadratic_weights(grades), confidence)


def quadratic_weights(grades: int) -> Floats:
    at = np.arange(grades)
    return np.asarray((at[:, None] - at[None, :]) ** 2, dtype=np.float64)


def weighted_kappa(table: Floats, disagreement: Floats, confidence: float = 0.95) -> Kappa:
    """Kappa of a table of counts, for any weights of disagreement (0 on the diagonal).

    Cohen, *Psychological Bulletin* 1968;70:213-220. The large-sample standard error, not
    assuming that kappa is 0: Fleiss, Cohen & Everitt, *Psychological Bulletin* 1969;72:323-327.
    The interval is kappa ± z standard errors, cut at -1 and 1.
    """
    turns = float(table.sum())
    if turns == 0:
        return Kappa("no-turns", 0)
    shares = table / turns
    rows, columns = shares.sum(axis=1), shares.sum(axis=0)
    by_chance = float(rows @ disagreement @ columns)
    if by_chance == 0:
        return Kappa("one-grade", round(turns))
    disagreed = float((shares * disagreement).sum())
    kappa = 1 - disagreed / by_chance
    if disagreed == 0:
        return Kappa("all-alike", round(turns), kappa)
    if 1 in (np.count_nonzero(rows), np.count_nonzero(columns)):
        return Kappa("one-sided", round(turns), 0.0)
    error = math.sqrt(max(0.0, _kappa_variance(shares, disagreement, kappa) / turns))
    reach = float(norm.ppf((1 + confidence) / 2)) * error
    interval = max(-1.0, kappa - reach), min(1.0, kappa + reach)
    return Kappa("ok", round(turns), kappa, error, interval)


def _kappa_variance(shares: Floats, disagreement: Floats, kappa: float) -> float:
    """The formula of 1969, in weights of agreement 1 - v/max(v)."""
    agree = 1 - disagreement / disagreement.max()
    rows, columns = shares.sum(axis=1), shares.sum(axis=0)
    chance = float(rows @ agree @ columns)
    means = (agree @ columns)[:, None] + (rows @ agree)[None, :]
    middle = agree - means * (1 - kappa)
    total = float((shares * middle**2).sum()) - (kappa - chance * (1 - kappa)) ** 2
    return total / (1 - chance) ** 2


# --- intraclass correlation ------------------------------------------------------------

IccForm = Literal["1,1", "2,1", "3,1", "1,k", "2,k", "3,k"]


@dataclass(frozen=True)
class Icc:
    """An intraclass correlation with its interval, and the F that tests it against 0."""

    form: IccForm
    turns: int
    graders: int
    value: float
    interval: Interval
    f: float


def icc(
    ratings: Sequence[Sequence[float]], form: IccForm = "2,1", confidence: float = 0.95
) -> Icc | None:
    """Of rows of turns (or holds) by columns of graders (or clocks), all filled in.

    Shrout & Fleiss, *Psychological Bulletin* 1979;86:420-428. "2,1", one of graders who stand
    for others like them, agreement in the value itself, is the one for coaches. None with fewer
    than two turns or graders, or where each grader gave one value throughout.
    """
    data = np.asarray(ratings, dtype=np.float64)
    if data.ndim != 2 or min(data.shape) < 2 or not np.ptp(data, axis=0).any():
        return None
    parts = _Squares(data)
    tail = (1 - confidence) / 2
    base, _, averaged = form.partition(",")
    value, low, high, ratio = _FORMS[base](parts, tail)
    if averaged == "k":
        value, low, high = (_of_the_mean(one, parts.k) for one in (value, low, high))
    return Icc(form, parts.n, parts.k, value, (low, high), ratio)


class _Squares:
    """The mean squares of a table of turns by graders."""

    def __init__(self, data: Floats) -> None:
        self.n, self.k = data.shape
        middle = data.mean()
        turns = self.k * ((data.mean(axis=1) - middle) ** 2).sum()
        graders = self.n * ((data.mean(axis=0) - middle) ** 2).sum()
        within = ((data - data.mean(axis=1, keepdims=True)) ** 2).sum()
        self.turns = float(turns / (self.n - 1))
        self.graders = float(graders / (self.k - 1))
        self.within = float(within / (self.n * (self.k - 1)))
        self.rest = float((within - graders) / ((self.n - 1) * (self.k - 1)))


def _one_way(s: _Squares, tail: float) -> tuple[float, float, float, float]:
    ratio = _over(s.turns, s.within)
    return *_from_ratio(ratio, s.k, s.n - 1, s.n * (s.k - 1), tail), ratio


def _consistency(s: _Squares, tail: float) -> tuple[float, float, float, float]:
    ratio = _over(s.turns, s.rest)
    return *_from_ratio(ratio, s.k, s.n - 1, (s.n - 1) * (s.k - 1), tail), ratio


def _from_ratio(
    ratio: float, k: int, above: int, below: int, tail: float
) -> tuple[float, float, float]:
    if math.isinf(ratio):
        return 1.0, 1.0, 1.0
    low = ratio / float(f.ppf(1 - tail, above, below))
    high = ratio * float(f.ppf(1 - tail, below, above))
    value, lower, upper = ((f_ratio - 1) / (f_ratio + k - 1) for f_ratio in (ratio, low, high))
    return value, lower, upper


def _absolute(s: _Squares, tail: float) -> tuple[float, float, float, float]:
    """ICC(2,1); the interval with Satterthwaite's degrees of freedom, as in the paper."""
    n, k = s.n, s.k
    spread = s.turns + (k - 1) * s.rest + k * (s.graders - s.rest) / n
    value = (s.turns - s.rest) / spread
    ratio = _over(s.graders, s.rest)
    if math.isinf(ratio):
        degrees = float(k - 1)
    else:
        share = n * (1 + (k - 1) * value) - k * value
        top = (k - 1) * (n - 1) * (k * value * ratio + share) ** 2
        degrees = top / ((n - 1) * (k * value * ratio) ** 2 + share**2)
    at_top = float(f.ppf(1 - tail, n - 1, degrees))
    at_bottom = float(f.ppf(1 - tail, degrees, n - 1))
    others = k * s.graders + (k * n - k - n) * s.rest
    low = n * (s.turns - at_top * s.rest) / (at_top * others + n * s.turns)
    high = n * (at_bottom * s.turns - s.rest) / (others + n * at_bottom * s.turns)
    return value, low, high, _over(s.turns, s.rest)


_FORMS = {"1": _one_way, "2": _absolute, "3": _consistency}


def _over(top: float, bottom: float) -> float:
    return top / bottom if bottom > 0 else math.inf


def _of_the_mean(one: float, k: int) -> float:
    """Spearman and Brown: what the mean of k graders would reach."""
    bottom = 1 + (k - 1) * one
    return k * one / bottom if bottom > 0 else -math.inf


# --- who logs only clean turns ---------------------------------------------------------

LEAST_TURNS = 30
# How rare so few misses must be, over all authors looked at together.
RARE = 0.01


@dataclass(frozen=True)
class Logged:
    """The turns one author logged at one drill (or drill and support) in some time."""

    author: int
    drill: str
    turns: int
    clean: int


@dataclass(frozen=True)
class LogReading:
    """One author's log beside the others'.

    missed, expected: turns not clean, and how many there would be at the others' shares, drill
    by drill. chance: of so few or fewer, were there no difference; None where nobody else
    logged at these drills. code: only-clean: none at all, and that is too rare for luck;
    too-good: some, but too few for luck.
    """

    author: int
    turns: int
    missed: int
    expected: float | None
    chance: float | None
    code: LogCode


def who_logs_only_clean(logs: Iterable[Logged]) -> list[LogReading]:
    """Where the log looks too good: each author against all others at the same drills.

    Exact: given how many of a drill's turns were not clean, an author's share of them is
    hypergeometric (Fisher's test), and drills add up. The limit .01 is shared among the authors
    (Bonferroni). Turns of one child hang together and children differ, so this is a
    reason to watch a class together, not a verdict. Sorted by author.
    """
    by_drill: dict[str, dict[int, tuple[int, int]]] = defaultdict(dict)
    for log in logs:
        turns, missed = by_drill[log.drill].get(log.author, (0, 0))
        if not 0 <= log.clean <= log.turns:
            raise ValueError(f"{log!r}")
        by_drill[log.drill][log.author] = turns + log.turns, missed + log.turns - log.clean
    authors = sorted({author for drill in by_drill.values() for author in drill})
    return [_read_log(author, by_drill, RARE / len(authors)) for author in authors]


def _read_log(
    author: int, by_drill: dict[str, dict[int, tuple[int, int]]], rare: float
) -> LogReading:
    turns = missed = compared = compared_missed = 0
    expected, chances = 0.0, np.ones(1)
    for drill in by_drill.values():
        own, own_missed = drill.get(author, (0, 0))
        turns, missed = turns + own, missed + own_missed
        all_turns = sum(logged for logged, _ in drill.values())
        all_missed = sum(not_clean for _, not_clean in drill.values())
        if not own or all_turns == own:
            continue
        compared, compared_missed = compared + own, compared_missed + own_missed
        expected += own * (all_missed - own_missed) / (all_turns - own)
        most = min(own, all_missed)
        counts = hypergeom.pmf(np.arange(most + 1), all_turns, all_missed, own)
        chances = np.convolve(chances, counts)
    if compared == 0:
        return LogReading(author, turns, missed, None, None, "nobody-to-compare")
    chance = min(1.0, float(chances[: compared_missed + 1].sum()))
    code: LogCode = "as-the-others"
    if compared < LEAST_TURNS:
        code = "too-few-turns"
    elif chance <= rare:
        code = "only-clean" if compared_missed == 0 else "too-good"
    return LogReading(author, turns, missed, expected, chance, code)
