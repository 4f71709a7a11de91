"""A ladder that lets the hands leave without a signature on what two have seen is refused."""

import copy
from collections.abc import Callable
from typing import Any

import pytest

from progression.ladder import file
from progression.ladder.fields import tables
from tests.support.engine.records import CONTENT

Content = dict[str, Any]

WALKOVER, HANDSPRING = "drill back-walkover, allow 4", "drill handspring, allow 4"
TWO, ROUNDOFF = "drill two-handsprings, allow 4", "drill roundoff-handspring, allow 4"
DANCE = "drill handspring-in-dance, allow 3"
UNSPOTTED = {"support": "unspotted", "surface": "signed"}


def row(content: Content, where: str) -> Content:
    return next(table.row for table in tables(content) if table.where == where)


def gate(code: str, **values: Any) -> Callable[[Content], None]:
    def change(content: Content) -> None:
        found = row(content, f"gate {code}")
        found.update(values)
        for name in [name for name, value in values.items() if value is None]:
            del found[name]

    return change


def without(code: str) -> Callable[[Content], None]:
    def change(content: Content) -> None:
        for table in tables(content):
            if "gate" in table.row:
                rows = [each for each in table.row["gate"] if each["code"] != code]
                table.row["gate"] = rows

    return change


def step(drill: str, **values: Any) -> Callable[[Content], None]:
    return lambda content: row(content, f"drill {drill}")["allow"].append({**UNSPOTTED, **values})


def no_surface(where: str) -> Callable[[Content], None]:
    return lambda content: row(content, where).pop("surface")


def another_skill(content: Content) -> None:
    """The handspring under another name, spotted by nobody from stage 7 on."""
    same = {**copy.deepcopy(row(content, "drill handspring")), "key": "other-handspring"}
    same |= {"adult": "station", "spotters": 0, "stage": 7, "allow": [{"stage": 7, **UNSPOTTED}]}
    del same["first_days_spotters"], same["allow"][0]["surface"]
    content["drill"].append(same)


def hands_of_nobody(content: Content) -> None:
    """The barrel with hands in its steps, and none that its adult is said to have."""
    row(content, "drill barrel").update(adult="station", spotters=0)
    step("barrel", stage=8)(content)


def never_held(content: Content) -> None:
    """The barrel is said to have a spotter, and no step that has one."""
    row(content, "drill barrel")["allow"] = [{"stage": 5, "support": "unspotted"}]


WAYS = [
    ("an adult with hands, and no step for them", "drill barrel, allow 1", never_held),
    ("no skill, but hands", "drill barrel, allow 3", step("barrel", stage=8)),
    ("hands in its steps alone", "drill barrel, allow 3", hands_of_nobody),
    ("a stage nobody signs", "drill barrel, allow 3", step("barrel", stage=5)),
    (
        "the dance of a skill",
        "drill walkover-in-dance, allow 3",
        lambda c: row(c, "drill walkover-in-dance, allow 3").pop("release"),
    ),
    ("a skill under another name", "drill other-handspring, allow 1", another_skill),
    ("every surface", HANDSPRING, no_surface(HANDSPRING)),
    ("a release on every surface", TWO, no_surface(TWO)),
    ("a dance one has seen", DANCE, without("8/handspring-in-dance.seen-by-two")),
    ("a dance with no clean turns", DANCE, without("8/handspring-in-dance.clean")),
    ("a dance on every surface", DANCE, no_surface(DANCE)),
    ("turns on any surface", HANDSPRING, gate("8.handspring", surface=None)),
    ("turns that nobody graded", HANDSPRING, gate("8.handspring", graded=False)),
    ("turns with a light touch", HANDSPRING, gate("8.handspring", support="light-touch")),
    ("turns at any support", HANDSPRING, gate("8.handspring", support=None)),
    ("a clean gate taken away", WALKOVER, without("4.back-walkover")),
    ("one pair of eyes", WALKOVER, without("4.seen-by-two")),
    ("two who saw it held", HANDSPRING, gate("8.seen-by-two", support="hands-on")),
    ("no look at stop signs", HANDSPRING, without("8.clear")),
    ("another drill's gate", HANDSPRING, gate("8.clear", drill="snap-down")),
    ("a release one has seen", TWO, without("9/two-handsprings.seen-by-two")),
    ("a release with no clean turns", ROUNDOFF, without("9/roundoff-handspring.clean")),
]


@pytest.mark.parametrize(
    ("where", "change"), [way[1:] for way in WAYS], ids=[way[0] for way in WAYS]
)
def test_a_way_to_unspotted_is_refused_with_its_drill_and_step(where, change):
    content = copy.deepcopy(CONTENT)
    change(content)
    assert where in {fault.key for fault in file.faults_in(content)}


def test_the_sentence_says_what_is_missing():
    content = copy.deepcopy(CONTENT)
    without("9/two-handsprings.seen-by-two")(content)
    (fault,) = file.faults_in(content)
    assert fault.message == (
        "This is unspotted, so the release of stage 9 must ask for this drill: a gate seen by "
        "two at standing by or less, on the signed surface."
    )
