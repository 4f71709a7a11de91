"""The engine against the vectors that the tablet's scripts are held to as well.

Where their values come from stands in tests/vectors/make.py.
"""

import datetime
import json
from typing import Any

import pytest

from readiness.engine import sureness
from readiness.engine.clean_rate import Decay, read_clean
from readiness.engine.gates import CleanRule
from tests.vectors import make

TODAY = datetime.date(2026, 1, 5)
CLOSE = 1e-6


def stored(name: str) -> Any:
    return json.loads((make.FOLDER / name).read_text(encoding="utf-8"))


def dated(days: list[list[int]]) -> list[tuple[datetime.date, int, int]]:
    return [(TODAY - datetime.timedelta(days=age), turns, clean) for age, turns, clean in days]


def decay_of(numbers: list[float | None]) -> Decay:
    own, calendar, together = (float("inf") if value is None else value for value in numbers)
    return Decay(own, calendar, together)


@pytest.mark.parametrize(
    "name",
    [f"{kind}.json" for kind in ("sureness", "gates", "signing", "angles", "head", "classes")],
)
def test_the_vectors_are_those_that_the_script_writes(name: str) -> None:
    """The reading of every class day in classes.json is the engine's own, so this also says
    that the engine still reads them so."""
    assert (make.FOLDER / name).read_text(encoding="utf-8") == make.files()[name]


def test_sureness_and_lately_are_those_of_the_vectors() -> None:
    cases = stored("sureness.json")
    assert len(cases) > 80
    for case in cases:
        memory = decay_of(case["memory"])
        fading = (memory.days, memory.time, memory.day_correlation)
        result = sureness(dated(case["days"]), TODAY, case["rate"], *fading)
        assert result == pytest.approx(case["sureness"], abs=CLOSE), case["name"]


def test_clean_gates_read_as_in_the_vectors() -> None:
    for case in stored("gates.json"):
        turns, clean = case["today"]
        days = [*dated(case["days"]), (TODAY, turns, clean)]
        rule = CleanRule(**case["rule"])
        read = read_clean(days, TODAY, rule, decay_of(case["memory"]))
        assert read.sureness == pytest.approx(case["sureness"], abs=CLOSE), case["name"]
        assert read.met is case["met"], case["name"]
        assert read.progress == pytest.approx(case["progress"], abs=1e-5), case["name"]


def test_the_edges_lie_where_the_rule_says() -> None:
    met = {case["name"]: case["met"] for case in stored("gates.json")}
    assert met["newest 28 days old"]
    assert not met["newest 29 days old"]
    assert met["third day 84 days back"]
    assert not met["third day 85 days back"]
    assert met["certainty 0.858068"]
    assert not met["certainty 0.858069"]


def test_the_class_days_are_those_of_three_ladders_with_different_numbers() -> None:
    rules = [json.dumps(ladder["rules"]) for ladder in stored("classes.json")]
    assert len(set(rules)) == len(rules) == 3
    for ladder in stored("classes.json"):
        gates = [child["after"][-1]["gates"].values() for child in ladder["children"]]
        assert {met for readings in gates for _, met, _ in readings} == {True, False}


def test_the_class_days_reach_every_rule_of_support() -> None:
    codes = set()
    falls = set()
    for child in stored("classes.json")[0]["children"]:
        for after in child["after"]:
            for surfaces in after["support"].values():
                for support in surfaces.values():
                    codes.update(support["causes"])
                    falls.update(code for code, _, _ in support["falls"])
    assert {
        "until-clean", "stop-sign", "finished-tonight", "lately", "placed", "away",
        "new-surface", "doubt", "stopped-before", "nothing-backward", "growing",
        "head-knock",
    } <= codes  # fmt: skip
    assert falls == {"stop-sign", "lately"}
