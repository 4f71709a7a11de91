"""A mending list always leaves something open to the child who shows the fault."""

import copy
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from progression.ladder import file
from tests.support.cast import LADDER_FILE

CONTENT = file.parse(LADDER_FILE.read_text(encoding="utf-8"))
DRILLS = {drill["key"]: drill for drill in CONTENT["drill"]}
STAGES = {stage["number"]: stage for stage in CONTENT["stage"]}


def mended_by(row: dict[str, Any], drills: list[str]) -> dict[str, Any]:
    """The shipped ladder with other mending drills for one fault."""
    content = copy.deepcopy(CONTENT)
    fault = next(each for each in content["fault"] if each["key"] == row["key"])
    fault["mend"] = [{"drill": key} for key in drills]
    return content


def open_with(number: int) -> set[int]:
    """The stages surely open with one, counted by hand: exceptions may leave some out."""
    needs = set(STAGES[number]["needs"]) - set(STAGES[number]["exception_for"])
    return {1, number}.union(*(open_with(need) for need in needs))


def test_what_is_wrong_names_the_fault_and_where_it_is_seen() -> None:
    content = mended_by({"key": "high-short"}, ["two-handsprings"])
    found = file.faults_in(content)
    assert {fault.key for fault in found} == {"fault high-short"}
    said = "No mending drill is surely open to a child who shows it at “handspring”."
    assert said in {fault.message for fault in found}


@settings(max_examples=60, deadline=None)
@given(
    row=st.sampled_from(CONTENT["fault"]),
    drills=st.lists(st.sampled_from(sorted(DRILLS)), min_size=1, max_size=3, unique=True),
)
def test_no_list_is_taken_that_leaves_a_child_nothing(row: dict[str, Any], drills) -> None:
    """By common practice (no source): a mending drill is one that the child may do."""
    taken = file.faults_in(mended_by(row, drills)) == []
    for seen_at in row["belongs"]:
        stages = open_with(DRILLS[seen_at]["stage"])
        if not any(DRILLS[key]["stage"] in stages for key in drills):
            assert not taken
