"""Which changes of a ladder one director may put in force: those proven to ask for more, those
where nobody signs, and words that decide nothing."""

import copy
from typing import Any

import pytest

from progression.ladder.fields import fields_of, tables
from progression.ladder.tighter import ONLY_TIGHTEN, WORDS, unproven_changes
from tests.support.engine.records import CONTENT

Content = dict[str, Any]


def row(content: Content, where: str) -> Content:
    return next(table.row for table in tables(content) if table.where == where)


def changed(where: str, **values: Any) -> Content:
    content = copy.deepcopy(CONTENT)
    found = row(content, where)
    for name, value in values.items():
        if value is None:
            del found[name]
        else:
            found[name] = value
    return content


TIGHTER = [
    ("gate 8.handspring", {"rate": 0.85}),
    ("gate 8.handspring", {"certainty": 0.9}),
    ("gate 8.handspring", {"days": 5}),
    ("gate 8.handspring", {"clean": 13}),
    ("gate 8.handspring", {"within": 70}),
    ("gate 8.handspring", {"fresh": 21}),
    ("gate 9.rebound", {"graded": True}),
    ("gate 8.block-line-held", {"at_least": 3}),
    ("gate 8.seen-by-two", {"within": 56}),
    ("gate 8.clear", {"clean": 25, "days": 35}),
    ("practice", {"certainty": 0.92}),
    ("tap", {"held_within": 14}),
    ("way_back", {"clean": 4, "stops_within": 40}),
    ("new_surface", {"clean": 4}),
    ("pain_rule", {"again_days": 28}),
    ("growing", {"weeks": 10}),
    ("head_knock", {"clear_days": 21}),
    ("head_knock", {"full_return_day": 28}),
    ("drill bridge-hold", {"after_head": 5}),
    ("fault high-short", {"carries": True}),
    ("pain wrist", {"bars": ["hands", "arms", "knees"]}),
]


@pytest.mark.parametrize(("where", "values"), TIGHTER, ids=[f"{w} {v}" for w, v in TIGHTER])
def test_what_only_tightens_needs_one_director_and_its_opposite_two(where, values):
    other = changed(where, **values)
    assert unproven_changes(CONTENT, other) == []
    assert where in unproven_changes(other, CONTENT)


WAITS = [
    ("gate 8.handspring", {"certainty": 0.79}),
    ("gate 8.handspring", {"clean": 11}),
    ("gate 8.handspring", {"clean": 13, "days": 3}),
    ("gate 8.handspring", {"support": "light-touch"}),
    ("gate 8.handspring", {"surface": None}),
    ("gate 8.handspring", {"graded": False}),
    ("gate 8.handspring", {"drill": "snap-down"}),
    ("gate 9/two-handsprings.clean", {"certainty": 0.7}),
    ("gate roundoff-rebound.kick-to-handstand", {"rate": 0.6, "clean": 5}),
    ("stage 8", {"sign_off": False}),
    ("stage 8", {"needs": [6]}),
    ("stage 6", {"exception_for": []}),
    ("drill handspring", {"adult": "station", "spotters": 0}),
    ("drill handspring", {"counts": "Clean: arrives on the feet."}),
    ("drill handspring, allow 4", {"first_turn": None}),
    ("drill handspring, allow 3", {"tap": None}),
    ("fault squats", {"belongs": ["sit-fall"]}),
    ("fault squats", {"sees": "something else"}),
    ("fault squats", {"root": "shape"}),
    ("fault squats", {"leads_to": "something else"}),
    ("fault squats, mend 1", {"drill": "sit-fall"}),
    ("fault squats, mend 1", {"note": "higher"}),
    ("pain wrist", {"bars": []}),
    ("arithmetic", {"memory_days": 9}),
    ("arithmetic", {"day_correlation": 0.2}),
    ("first_turn", {"misses": 3}),
    ("way_back", {"lately": 0.6}),
    ("drill bridge-hold", {"after_head": None}),
]
# One of these has no signed stage or skill at it.
FREE = {"gate roundoff-rebound.kick-to-handstand"}


@pytest.mark.parametrize(("where", "values"), WAITS, ids=[f"{w} {v}" for w, v in WAITS])
def test_what_is_not_in_the_table_is_not_proven(where, values):
    found = unproven_changes(CONTENT, changed(where, **values))
    assert (where in found) is (where not in FREE)


@pytest.mark.parametrize("stop", ["no", "second", "unheld"])
def test_a_stop_flag_taken_away_or_softened_waits(stop):
    key = next(fault["key"] for fault in CONTENT["fault"] if fault["stop"] == "yes")
    assert unproven_changes(CONTENT, changed(f"fault {key}", stop=stop)) == [f"fault {key}"]
    softer = changed(f"fault {key}", stop=stop)
    assert unproven_changes(softer, CONTENT) == []


def test_a_gate_taken_away_from_a_signed_stage_waits_and_one_more_does_not():
    fewer = copy.deepcopy(CONTENT)
    gates = next(stage for stage in fewer["stage"] if stage["number"] == 8)["gate"]
    gates[:] = [gate for gate in gates if gate["code"] != "8.snap-down"]
    assert unproven_changes(CONTENT, fewer) == ["gate 8.snap-down"]
    assert unproven_changes(fewer, CONTENT) == []


def test_a_gate_that_moves_to_a_stage_nobody_signs_is_gone_from_the_signed_one():
    moved = copy.deepcopy(CONTENT)
    stages = {stage["number"]: stage for stage in moved["stage"]}
    (gate,) = [gate for gate in stages[8]["gate"] if gate["code"] == "8.snap-down"]
    stages[8]["gate"].remove(gate)
    stages[7]["gate"].append(gate)
    assert unproven_changes(CONTENT, moved) == ["gate 8.snap-down"]


def test_other_surfaces_and_their_order_wait():
    turned = copy.deepcopy(CONTENT)
    turned["surface"].reverse()
    assert unproven_changes(CONTENT, turned) == ["surface"]


def test_a_drill_and_a_fault_more_wait():
    more = copy.deepcopy(CONTENT)
    more["drill"].append({**row(more, "drill rebound"), "key": "other-rebound"})
    assert "drill other-rebound" in unproven_changes(CONTENT, more)


@pytest.mark.parametrize(
    ("where", "values"),
    [
        ("gate 2.hollow-hold", {"at_least": 5}),
        ("gate 6.sit-fall", {"clean": 3, "days": 1}),
        ("drill handspring", {"name": "Back handspring", "cues": ["push"]}),
        ("stage 8", {"name": "Unspotted"}),
        ("ladder", {"title": "Ours"}),
    ],
)
def test_where_nobody_signs_and_in_words_that_decide_nothing_one_director_is_enough(where, values):
    assert unproven_changes(CONTENT, changed(where, **values)) == []


def test_the_table_names_fields_that_there_are():
    known = {}
    for table in tables(CONTENT):
        known.setdefault(table.kind, set()).update(fields_of(table))
    for kind, names in [*ONLY_TIGHTEN.items(), *WORDS.items()]:
        assert set(names) <= known[kind], kind.word
