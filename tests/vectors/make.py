"""Write the vectors that the server's engine and the tablet's scripts are both checked by.

    python -m tests.vectors.make

sureness.json: days of turns and how sure they make the record. The values come from
scipy.stats.beta over weights added up by plain loops (tests/support/engine/oracle.py), and from the
binomial identity in whole fractions where the counts are whole; those that were worked by
hand stand here with six decimals, and this script refuses to write a file that differs.

gates.json: days of turns, today's turns, a clean rule and its reading, by the slow engine of
tests/support/engine/oracle.py, with the edges of its windows and of its certainty.

signing.json: lines, the fixed form in which each is signed, and a signature that holds
(signing.py).

head.json: the drills that are too soon at each step after a head knock (head.py).

angles.json: pictures, and the angles, errors and chances that are read of them (angles.py).

classes.json: ladders, and for each of them children in many states with a class day of turns:
every reading and all support allowed after each turn (class_days.py). These come from the
server's own engine (readiness/engine), which its own tests judge: here the tablet is held to it.
"""

import datetime
import json
import random
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import comb
from pathlib import Path
from typing import Any

from readiness.engine.clean_rate import DECIMALS
from readiness.engine.gates import (
    CleanRule,
)
from readiness.engine.gates.common import UNMET_MOST
from tests.support.engine import oracle
from tests.support.engine.records import (
    day,
)
from tests.vectors import angles, class_days, head, signing

FOLDER = Path(__file__).resolve().parent
Data = dict[str, Any]
# Age in days, turns, clean.
Day = tuple[int, int, int]

TODAY = day(0)
USUAL, SHORT = oracle.Fading(), oracle.Fading(own_days=2)
FOREVER = oracle.Fading(float("inf"), float("inf"), 0)
# Days 0 (2 of 3), 7, 14, 21, 28, 35 (3 of 3).
SIX = [(35, 3, 2), (28, 3, 3), (21, 3, 3), (14, 3, 3), (7, 3, 3), (0, 3, 3)]
PRACTICE = CleanRule(rate=0.6, certainty=0.9, days=3, clean=6)
UNSPOTTED = CleanRule(rate=0.8, certainty=0.8, days=4, clean=12)


def main() -> None:
    for name, content in files().items():
        (FOLDER / name).write_text(content, encoding="utf-8")


def files() -> dict[str, str]:
    return {
        "sureness.json": _lines(sureness_cases()),
        "gates.json": _lines(gate_cases()),
        "signing.json": _lines(signing.cases()),
        "angles.json": json.dumps(angles.cases(), indent=1) + "\n",
        "head.json": json.dumps(head.cases(), indent=1) + "\n",
        "classes.json": json.dumps(class_days.ladders(), separators=(",", ":")) + "\n",
    }


def _lines(cases: Iterable[Data]) -> str:
    return "[\n" + ",\n".join(json.dumps(case) for case in cases) + "\n]\n"


# --- sureness ------------------------------------------------------------------------


def sureness_cases() -> Iterator[Data]:
    nothing = "knowing nothing: 1 - rate"
    yield _sure(nothing, [], 0.8, by_hand=0.2)
    yield _sure(nothing, [], 0.6, by_hand=0.4)
    # P(Beta(k + 1, n - k + 1) >= r) = P(Bin(n + 1, r) <= k): Abramowitz & Stegun 26.5.24.
    yield _whole("Beta(8, 1) at .75: 1 - .75 ** 8", 7, 7, "0.75", by_hand=0.899887)
    yield _whole("Beta(19, 3) at .75", 20, 18, "0.75", by_hand=0.925477)
    yield _whole("Beta(10, 2) at .9", 10, 9, "0.9", by_hand=0.302643)
    for turns, clean, rate in [(1, 0, "0.5"), (40, 40, "0.95"), (60, 31, "0.6"), (200, 170, "0.8")]:
        yield _whole(f"{clean} of {turns} at {rate}", turns, clean, rate)
    # Kish's design effect: ten turns of one day count as 10 / 1.9.
    yield _sure("one day of ten clean", [(0, 10, 10)], 0.75, by_hand=0.834998)
    weeks = [(21, 3, 3), (14, 3, 3), (7, 3, 3), (0, 3, 3)]
    for count, value in enumerate([0.542053, 0.717436, 0.813956, 0.870425], start=1):
        yield _sure(f"three of three, week {count}", weeks[4 - count :], 0.8, by_hand=value)
    for later, value in [(0, 0.858068), (7, 0.845161), (56, 0.744656)]:
        yield _sure(f"six days, read {later} days later", _aged(SIX, later), 0.8, by_hand=value)
    yield _sure("lately over the six days", SIX, 0.8, SHORT, by_hand=0.793868)
    bad_starts = [((0, 1, 0), 0.364770), ((0, 2, 0), 0.191813), ((0, 3, 0), 0.104951)]
    for today, value in [*bad_starts, ((0, 3, 1), 0.270568)]:
        name = f"lately, a week later, {today[2]} of {today[1]}"
        yield _sure(name, [*_aged(SIX, 7), today], 0.8, SHORT, by_hand=value)
    yield from _drawn_sureness()


def _drawn_sureness() -> Iterator[Data]:
    draw = random.Random(20260105)
    for number in range(60):
        fading = oracle.Fading(draw.choice([2, 8, 5.5]), draw.choice([84, 30]), draw.random() / 2)
        rate = draw.choice([0.5, 0.6, 0.75, 0.8, 0.95])
        yield _sure(f"drawn {number}", _drawn_days(draw, rate), rate, fading)


def _drawn_days(draw: random.Random, rate: float) -> list[Day]:
    ages = sorted(draw.sample(range(400), draw.randint(0, 40)), reverse=True)
    days = []
    for age in ages:
        turns = draw.randint(1, 15)
        days.append((age, turns, sum(draw.random() < rate + 0.1 for _ in range(turns))))
    return days


def _sure(
    name: str,
    days: Sequence[Day],
    rate: float,
    fading: oracle.Fading = USUAL,
    by_hand: float | None = None,
) -> Data:
    value = oracle.sureness(_outcomes(days), TODAY, rate, fading)
    if by_hand is not None and round(value, DECIMALS) != by_hand:
        raise ValueError(f"{name}: {value}, not {by_hand}")
    return {
        "name": name,
        "days": days,
        "rate": rate,
        "memory": _memory(fading),
        "sureness": round(value, 12),
    }


def _whole(name: str, turns: int, clean: int, rate: str, by_hand: float | None = None) -> Data:
    """Each turn on a day of its own, with nothing forgotten: the binomial in whole fractions."""
    chance = Fraction(rate)
    exact = sum(
        comb(turns + 1, k) * chance**k * (1 - chance) ** (turns + 1 - k) for k in range(clean + 1)
    )
    days = [(turns - at, 1, int(at < clean)) for at in range(turns)]
    case = _sure(name, days, float(chance), FOREVER, by_hand)
    if abs(case["sureness"] - float(exact)) > 1e-11:
        raise ValueError(f"{name}: {case['sureness']}, not {float(exact)}")
    return case | {"sureness": float(exact)}


def _memory(fading: oracle.Fading) -> list[float | None]:
    """Own days, days of the calendar, correlation; null for a memory without end."""
    own, calendar = fading.own_days, fading.calendar_days
    finite = [None if value == float("inf") else value for value in (own, calendar)]
    return [*finite, fading.hang_together]


def _aged(days: Sequence[Day], more: int) -> list[Day]:
    return [(age + more, turns, clean) for age, turns, clean in days]


def _outcomes(days: Sequence[Day]) -> list[oracle.Outcome]:
    return [
        (TODAY - datetime.timedelta(days=age), at < clean)
        for age, turns, clean in days
        for at in range(turns)
    ]


# --- clean gates ---------------------------------------------------------------------


def gate_cases() -> Iterator[Data]:
    steady = [(age, 4, 4) for age in (35, 28, 21, 14, 7)]
    for name, rule in (("practice", PRACTICE), ("unspotted", UNSPOTTED)):
        yield _gate(f"{name}, nothing", [], (0, 0), rule)
        yield _gate(f"{name}, one great day", [], (15, 15), rule)
        yield _gate(f"{name}, steady, no turn today", steady, (0, 0), rule)
        yield _gate(f"{name}, steady, clean today", steady, (3, 3), rule)
        yield _gate(f"{name}, steady, missed today", steady, (4, 0), rule)
    yield from _edges()
    draw = random.Random(20260106)
    for number in range(60):
        rule = draw.choice([PRACTICE, UNSPOTTED])
        days = [each for each in _drawn_days(draw, 0.85) if each[0]][-12:]
        turns = draw.randint(0, 6)
        today = (turns, sum(draw.random() < 0.8 for _ in range(turns)))
        yield _gate(f"drawn {number}", [(age // 3 + 1, n, k) for age, n, k in days], today, rule)


def _edges() -> Iterator[Data]:
    """28 days old counts and 29 does not; 84 days back counts and 85 does not."""
    for newest in (28, 29):
        days = [(newest + back, 5, 5) for back in (30, 20, 10, 0)]
        yield _gate(f"newest {newest} days old", days, (0, 0), PRACTICE)
    for oldest in (84, 85):
        days = [(oldest, 6, 6), (14, 6, 6), (7, 6, 6)]
        yield _gate(f"third day {oldest} days back", days, (0, 0), PRACTICE)
        yield _gate(f"third day {oldest} days back, a miss today", days, (1, 0), PRACTICE)
    # Certainty is compared after rounding: .8580676 is enough for .858068, and not for .858069.
    exact = oracle.sureness(_outcomes(SIX), TODAY, 0.8, USUAL)
    certainty_at = round(exact, DECIMALS)
    if not exact < certainty_at:
        raise ValueError("this edge needs a value that rounds up")
    for certainty in (certainty_at, round(certainty_at + 1e-6, DECIMALS)):
        rule = CleanRule(rate=0.8, certainty=certainty, days=4, clean=12)
        yield _gate(f"certainty {certainty}", SIX[:-1], (3, 3), rule)


def _gate(name: str, days: Sequence[Day], today: tuple[int, int], rule: CleanRule) -> Data:
    merged: dict[int, Day] = {}
    for age, turns, clean in days:
        known = merged.get(age, (age, 0, 0))
        merged[age] = (age, known[1] + turns, known[2] + clean)
    before = list(merged.values())
    whole = [*before, (0, *today)] if today[0] else before
    answer = oracle.read_rule(_outcomes(whole), TODAY, rule, USUAL)
    return {
        "name": name,
        "days": before,
        "today": today,
        "rule": vars(rule),
        "memory": _memory(USUAL),
        "unmet_most": UNMET_MOST,
        "sureness": answer.value,
        "met": answer.met,
        "progress": round(answer.progress, 9),
    }


if __name__ == "__main__":
    main()
