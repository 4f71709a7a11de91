"""The ladder that comes with the program, and what is said of one that is not right."""

import copy
import hashlib
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from progression import ladder_file
from progression.ladder_checks import CHECKS, Ladder
from progression.ladder_fields import fields_of, tables

SHIPPED = Path(__file__).resolve().parents[2] / "fixtures" / "ladder.toml"
TEXT = SHIPPED.read_text(encoding="utf-8")
CONTENT = ladder_file.parse(TEXT)

Content = dict[str, Any]
Change = Callable[[Content], Any]


@pytest.fixture
def content() -> Content:
    return copy.deepcopy(CONTENT)


def named(rows: list[Content], name: str | int, field: str = "key") -> Content:
    return next(row for row in rows if row[field] == name)


def drill(content: Content, key: str) -> Content:
    return named(content["drill"], key)


def stage(content: Content, number: int) -> Content:
    return named(content["stage"], number, "number")


def fault(content: Content, key: str) -> Content:
    return named(content["fault"], key)


def rubric(content: Content, key: str) -> Content:
    return named(content["rubric"], key)


def pain(content: Content, place: str) -> Content:
    return named(content["pain"], place, "place")


def gate(content: Content, code: str) -> Content:
    rows = [table.row for table in tables(content) if table.kind.word == "gate"]
    return named(rows, code, "code")


def keys(content: Content) -> set[str]:
    return {found.key for found in ladder_file.faults_in(content)}


# The shipped ladder


def test_the_shipped_ladder_has_no_faults() -> None:
    assert ladder_file.faults_in(CONTENT) == []


@pytest.mark.parametrize(
    ("table", "count"),
    [
        ("stage", 9),
        ("drill", 36),
        ("fault", 34),
        ("surface", 6),
        ("rubric", 3),
        ("equipment", 10),
        ("strand", 6),
        ("pain", 10),
        ("unlogged", 4),
    ],
)
def test_the_shipped_ladder_is_complete(table: str, count: int) -> None:
    assert len(CONTENT[table]) == count


def test_its_head_says_that_every_number_is_a_starting_value() -> None:
    head = TEXT[: TEXT.index("title =")]
    assert "EVERY NUMBER HERE IS A STARTING VALUE" in head
    assert "no published source" in head


def test_no_child_is_assumed_to_be_a_girl_or_a_boy() -> None:
    assert re.findall(r"\b(she|he|her|hers|him|his|herself|himself)\b", TEXT, re.I) == []


def test_every_drill_with_weight_on_the_hands_loads_them_and_no_other_does() -> None:
    for row in CONTENT["drill"]:
        assert ("hands" in row["loads"]) == (row["static"] or row["landing"] > 0), row["key"]


def test_every_drill_that_lands_or_jumps_loads_the_back() -> None:
    for row in CONTENT["drill"]:
        if row["landing"] > 0 or "legs" in row["loads"]:
            assert "back" in row["loads"], row["key"]


def test_a_touch_of_the_head_belongs_to_all_work_on_the_hands_and_all_backward_work() -> None:
    on_hands = {row["key"] for row in CONTENT["drill"] if "hands" in row["loads"]}
    backward = {"safe-fall", "sit-fall", "jump-back", "sit-and-reach"}
    assert set(fault(CONTENT, "head-touches")["belongs"]) == on_hands | backward


def test_a_catch_belongs_to_all_work_with_a_spotter_or_one_standing_by() -> None:
    spotted = {
        row["key"]
        for row in CONTENT["drill"]
        if any(step["support"] != "unspotted" for step in row.get("allow", []))
    }
    assert set(fault(CONTENT, "caught")["belongs"]) == spotted


# Facts of the trade: common practice, no source


def test_the_hollow_comes_three_times_in_a_handspring_and_its_partner_is_the_arch() -> None:
    """Common practice, no source."""
    answers = {row["shape"]: row["where"] for row in drill(CONTENT, "name-the-shape")["answers"]}
    assert answers["Hollow"].startswith("Three times")
    assert all(place in answers["Hollow"] for place in ("sit", "second flight", "rebound"))
    assert "hollow's partner" in answers["Arch"]


def test_a_gap_of_five_centimetres_is_no_fault_and_feet_that_move_are_a_stop_sign() -> None:
    """Common practice, no source."""
    assert "up to about 5 cm is no fault" in fault(CONTENT, "feet-wide")["sees"]
    assert fault(CONTENT, "feet-move")["stop"] == "yes"
    assert "settling step before the start is not this" in fault(CONTENT, "feet-move")["sees"]


def test_a_right_sit_stays_above_a_right_angle_with_upright_shins_and_flat_feet() -> None:
    """Common practice, no source."""
    poses = {pose["pose"]: pose["angles"] for pose in rubric(CONTENT, "sit")["pose"]}
    assert poses["3"]["knee"] > 90 > poses["1b"]["knee"]
    assert poses["3"]["shin_lean"] <= 5 < poses["1a"]["shin_lean"]
    assert poses["3"]["heel_lift"] == 0 < poses["1a"]["heel_lift"]


def test_after_a_clean_sit_fall_standing_up_again_was_not_possible() -> None:
    """Common practice, no source."""
    assert "standing up again was no longer possible" in drill(CONTENT, "sit-fall")["counts"]


@pytest.mark.parametrize(
    ("key", "leads_to"),
    [
        ("knees-forward", "Undercut"),
        ("eyes-on-feet", "Goes up, not back"),
        ("leans-forward", "Goes up"),
        ("dead-or-double", "Cannot be connected"),
        ("over-arched", "Hands-down line too low"),
        ("block-low", "Has to heave over"),
        ("block-late", "no second flight"),
        ("half-hearted", "Arms give way"),
    ],
)
def test_a_fault_leads_to_what_the_trade_says(key: str, leads_to: str) -> None:
    """Common practice, no source."""
    assert leads_to in fault(CONTENT, key)["leads_to"]


def test_hands_down_is_right_to_sixty_degrees_late_at_vertical_and_low_at_a_right_angle() -> None:
    """Common practice, no source: ten minutes on a clock face is 60 degrees."""

    def grade(lean: int) -> int:
        poses = rubric(CONTENT, "hands-down-line")["pose"]
        return next(
            pose["grade"]
            for pose in poses
            for low, high in pose.get("ranges", {}).get("leg_lean", [])
            if low <= lean <= high
        )

    assert [grade(lean) for lean in (0, 60, 61, 90)] == [1, 3, 2, 0]


def test_shrugs_go_from_hands_and_knees_to_push_up_to_the_wall() -> None:
    """Common practice, no source."""
    assert drill(CONTENT, "shrugs-knees")["stage"] == 1
    assert gate(CONTENT, "5.shrugs-pushup")["drill"] == "shrugs-pushup"
    assert drill(CONTENT, "wall-shrugs")["stage"] == 2
    assert gate(CONTENT, "6.wall-shrugs")["drill"] == "wall-shrugs"


@pytest.mark.parametrize(
    "key",
    [
        "half-hearted",
        "feet-move",
        "reaches-behind",
        "arms-give",
        "head-touches",
        "caught",
        "drops-in",
        "turns-in-air",
        "crooked-entry",
    ],
)
def test_half_commitment_and_its_like_are_stop_signs_whatever_the_rest_looked_like(
    key: str,
) -> None:
    """Common practice, no source."""
    assert fault(CONTENT, key)["stop"] == "yes"


def test_a_lead_in_for_the_handspring_is_open_to_the_youngest() -> None:
    """Common practice, no source: lead-ins begin about three years before the skill."""
    for key in ("sit-depth", "sit-fall", "swing-jump", "safe-fall", "wall-handstand"):
        assert drill(CONTENT, key)["stage"] == 1


@pytest.mark.parametrize(
    "key", ["back-walkover", "handspring", "two-handsprings", "roundoff-handspring"]
)
def test_a_new_learner_is_spotted_by_hand(key: str) -> None:
    """Common practice, no source."""
    row = drill(CONTENT, key)
    assert row["allow"][0]["support"] == "hands-on"
    assert row["adult"] == "hands"


# Reading and writing


def test_a_ladder_written_and_read_again_is_the_same() -> None:
    assert ladder_file.parse(ladder_file.dump(CONTENT)) == CONTENT


def test_a_ladder_is_written_the_same_whatever_the_order_of_its_fields(content: Content) -> None:
    def turned(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: turned(value[key]) for key in reversed(value)}
        return [turned(item) for item in value] if isinstance(value, list) else value

    other = turned(content)
    for row in (other, content):
        for pose in rubric(row, "sit")["pose"]:
            pose["angles"] = dict(sorted(pose["angles"].items()))
    for table in ("hands-down-line", "bridge-line"):
        for row in (other, content):
            for pose in rubric(row, table)["pose"]:
                pose["angles"] = dict(sorted(pose["angles"].items()))
    assert ladder_file.dump(other) == ladder_file.dump(content)


def test_writing_a_ladder_leaves_it_as_it_was(content: Content) -> None:
    before = list(content["drill"][0])
    ladder_file.dump(content)
    assert list(content["drill"][0]) == before


def test_the_digest_is_that_of_json_with_sorted_keys() -> None:
    """RFC 8785 orders an object's members so; value by hashlib of the text written out."""
    text = '{"a":[1,0.5],"b":"é"}'
    assert (
        ladder_file.digest({"b": "é", "a": [1, 0.5]}) == hashlib.sha256(text.encode()).hexdigest()
    )


def test_a_changed_number_changes_the_digest(content: Content) -> None:
    gate(content, "6.wall-shrugs")["at_least"] = 9
    assert ladder_file.digest(content) != ladder_file.digest(CONTENT)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('title = "a"\ntitle = ', 2),
        ('title = "a"\n[[drill]\nkey = 1', 2),
        ('a = 1\nb = "\\q"\nc = 2', 2),
        ('a = 1\nb = 2\nc = """', 3),
        ("a = " + "9" * 5000, None),
        ("a = " + "[" * 20000, None),
    ],
)
def test_a_broken_file_is_refused_with_its_line(text: str, line: int | None) -> None:
    with pytest.raises(ladder_file.LadderFileError, match="not a TOML file") as refused:
        ladder_file.parse(text)
    assert refused.value.line == line


# Fields


NEEDED = sorted(
    {
        (table.where, name)
        for table in tables(CONTENT)
        for name, field in fields_of(table).items()
        if field.needed
    }
)
# One table of each kind is enough: the others have the same fields.
SEEN: dict[tuple[str, str], str] = {}
for _table in tables(CONTENT):
    for _name in fields_of(_table):
        if _name in _table.row:
            SEEN.setdefault((_table.kind.word + str(_table.row.get("kind", "")), _name), _table.where)


def at(content: Content, where: str) -> Content:
    return next(table.row for table in tables(content) if table.where == where)


@pytest.mark.parametrize(("kind", "name"), list(SEEN))
def test_a_missing_field_is_said(content: Content, kind: str, name: str) -> None:
    where = SEEN[kind, name]
    row = at(content, where)
    needed = next(fields_of(t)[name].needed for t in tables(content) if t.where == where)
    del row[name]
    said = [found for found in ladder_file.faults_in(content) if f"“{name}”" in found.message]
    assert bool(said) == needed or not needed


@pytest.mark.parametrize(("kind", "name"), list(SEEN))
@pytest.mark.parametrize("value", [{"odd": [None]}, [[1]], -1, "", float("nan")])
def test_a_value_of_the_wrong_kind_is_said_where_it_stands(
    content: Content, kind: str, name: str, value: Any
) -> None:
    at(content, SEEN[kind, name])[name] = value
    assert ladder_file.faults_in(content)
