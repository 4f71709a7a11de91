"""What a clean gate lets through by luck, beside two rules of habit, for pages.

All answers are for children whose true clean rate stays as it is, under classes as assumed.
Answers are cached.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from readiness.engine.clean_rate import Decay
from readiness.engine.gates import CleanRule
from readiness.engine.ladder import Ladder
from readiness.engine.trial.error_rates import WEEKS, ChanceCurve, certainty_for, opens_by_luck
from readiness.engine.trial.run_rules import clean_of_last, in_a_row, signalled_within
from readiness.engine.trial.simulation import Classes

TERM, YEAR = range(len(WEEKS))
# The true clean rates that are drawn and listed: .3, .35 ... .95.
RATES = tuple(step / 20 for step in range(6, 20))
# A child who is ready for whatever the gate is for (own choice).
READY = 0.9
# Turns of one day that hang together wholly are one turn; nobody needs to see that worked out.
MOST_CORRELATION = 0.9
# Four times the runs of a curve: the answer is one number, and a rare event is asked for.
CERTAINTY_RUNS = 4000


def classes_like(ladder: Ladder, a_week: float, turns: int) -> Classes:
    """So many classes a week with so many turns each; how turns hang together is the ladder's."""
    return Classes(a_week, turns, min(ladder.day_correlation, MOST_CORRELATION))


@lru_cache(maxsize=128)
def luck(
    rule: CleanRule, memory: Decay, classes: Classes, rates: tuple[float, ...] = RATES
) -> ChanceCurve:
    """The chance that a child who stays at a rate opens the gate, within a term and a year."""
    return opens_by_luck([rule], memory, rates, classes)[0]


@dataclass(frozen=True)
class Habit:
    """A rule of habit: its chances by horizon (term, year), then by true rate; exact."""

    code: str
    chances: tuple[tuple[float, ...], ...]


@lru_cache(maxsize=32)
def habits(classes: Classes, rates: tuple[float, ...] = RATES) -> tuple[Habit, ...]:
    """ "8 of the last 10" and "five in a row" over the same turns on the same days."""
    ends = [len(classes.days(weeks)) * classes.turns for weeks in WEEKS]
    rules = []
    for code, rule in (("eight-of-ten", clean_of_last(8, 10)), ("five-in-a-row", in_a_row(5))):
        by_turn = signalled_within(rule, rates, max(ends), classes.day_correlation, classes.turns)
        rules.append(Habit(code, tuple(tuple(map(float, by_turn[end])) for end in ends)))
    return tuple(rules)


def low_rate(rule: CleanRule) -> float:
    """The true rate that a gate's sentence speaks of, well under what it asks: .6, or less for
    a gate that asks for about that itself."""
    if rule.rate >= 0.7:
        return 0.6
    return 0.5 if rule.rate >= 0.6 else 0.4


def at_rate(curve: ChanceCurve, rate: float) -> tuple[float, ...]:
    """The chances within a term and a year at one of the curve's rates."""
    place = curve.rates.index(rate)
    return tuple(row[place] for row in curve.chances)


@lru_cache(maxsize=64)
def seldom_by_luck(
    rule: CleanRule, memory: Decay, classes: Classes, rate: float, one_in: int
) -> float | None:
    """The least certainty with which a child who stays at ``rate`` opens the gate within a term
    at most once in ``one_in`` times; None if .99 is not enough. The rule's own is not used."""
    return certainty_for(rule, memory, rate, 1 / one_in, classes, runs=CERTAINTY_RUNS)


def habit_at(habit: Habit, rate: float, rates: tuple[float, ...] = RATES) -> tuple[float, ...]:
    place = rates.index(rate)
    return tuple(row[place] for row in habit.chances)


def rule_of(row: Mapping[str, float]) -> CleanRule:
    """The rule of a clean gate, or of practice, as it stands in a ladder's content."""
    return CleanRule(
        rate=row["rate"],
        certainty=row["certainty"],
        days=int(row["days"]),
        clean=int(row["clean"]),
        within=int(row["within"]),
        fresh=int(row["fresh"]),
    )
