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

from progression.ladder import file
from progression.ladder.checks import CHECKS, ORDER_CHECKS, Ladder
from progression.ladder.fields import fields_of, tables
from progression.ladder.mending import CHECKS as MENDING_CHECKS
from progression.ladder.unspotted import CHECKS as UNSPOTTED_CHECKS
from readiness.engine import ladder as engine_ladder

SHIPPED = Path(__file__).resolve().parents[3] / "fixtures" / "ladder.toml"
TEXT = SHIPPED.read_text(encoding="utf-8")
CONTENT = file.parse(TEXT)

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
    return {found.key for found in file.faults_in(content)}


# The shipped ladder


def test_the_shipped_ladder_has_no_faults() -> None:
    assert file.faults_in(CONTENT) == []


@pytest.mark.parametrize(
    ("table", "count"),
    [
        ("stage", 9),
        ("drill", 39),
        ("fault", 57),
        ("surface", 6),
        ("rubric", 3),
        ("equipment", 10),
        ("strand", 6),
        ("pain", 15),
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
    backward = {"safe-fall", "sit-in-arms", "sit-fall", "jump-back", "sit-and-reach"}
    assert set(fault(CONTENT, "head-touches")["belongs"]) == on_hands | backward


def test_a_catch_belongs_to_all_work_that_a_spotter_may_have_hands_on() -> None:
    held = {row["key"] for row in CONTENT["drill"] if "hands" in row}
    spotted = {
        row["key"]
        for row in CONTENT["drill"]
        if any(step["support"] != "unspotted" for step in row.get("allow", []))
    }
    assert set(fault(CONTENT, "caught")["belongs"]) == held
    assert spotted < held


def test_the_head_of_the_file_explains_every_field_that_has_come_since() -> None:
    head = TEXT[: TEXT.index("title =")]
    for name in ("letter", "pace", "hands", "formerly", "or_drill", "carries"):
        assert f"\n#   {name:10}" in head, name


def test_doubt_at_one_skill_carries_to_the_others() -> None:
    carries = {row["key"] for row in CONTENT["fault"] if row.get("carries")}
    assert carries == {"half-hearted", "feet-move", "stopped-before"}
    skills = {row["key"] for row in CONTENT["drill"] if row.get("skill")}
    for key in carries:
        assert set(fault(CONTENT, key)["belongs"]) & skills, key


def test_stopping_before_the_floor_is_left_is_no_stop_sign() -> None:
    assert fault(CONTENT, "stopped-before")["stop"] == "no"
    assert "say thank you" in fault(CONTENT, "stopped-before")["sees"]


def test_what_may_be_mended_goes_on_nothing_that_the_fault_forbids() -> None:
    """After a head that touched or arms that gave, nothing backward or upside down."""
    upright = {"hollow-hold", "front-support", "sit-depth", "shrugs-knees", "shrugs-pushup"}
    for key in ("head-touches", "arms-give"):
        assert {mend["drill"] for mend in fault(CONTENT, key)["mend"]} <= upright


@pytest.mark.parametrize(
    ("easier", "full"),
    [("wall-handstand-half", "wall-handstand"), ("wall-shrugs-upright", "wall-shrugs")],
)
def test_an_easier_version_is_a_drill_of_its_own_and_old_turns_are_its(
    easier: str, full: str
) -> None:
    assert drill(CONTENT, easier)["formerly"] == full
    assert drill(CONTENT, easier)["stage"] == drill(CONTENT, full)["stage"]
    assert set(drill(CONTENT, easier)["loads"]) <= set(drill(CONTENT, full)["loads"])


def test_only_the_first_gate_takes_half_a_wall_handstand() -> None:
    gates = [table.row for table in tables(CONTENT) if table.kind.word == "gate"]
    either = [row["code"] for row in gates if "or_drill" in row]
    half = [row["code"] for row in gates if row["drill"] == "wall-handstand-half"]
    full = [row["code"] for row in gates if row["drill"] == "wall-handstand"]
    assert (either, half) == (["2.wall-handstand"], [])
    assert full == ["2.wall-handstand", "3.wall-handstand", "5.wall-handstand", "6.wall-handstand"]


def test_two_spotters_hold_the_first_days_of_every_handspring() -> None:
    for key in ("handspring", "two-handsprings", "roundoff-handspring"):
        assert drill(CONTENT, key)["first_days_spotters"] == {"spotters": 2, "days": 2}
        assert "irst two days" in drill(CONTENT, key)["hands"]


def test_every_word_on_hands_says_until_when_they_hold() -> None:
    """Of the kick-over from the floor the card of the block says it."""
    until = r"[Ll]ets go|stays until"
    for row in CONTENT["drill"]:
        if "hands" in row and row["key"] != "kick-over-floor":
            assert re.search(until, row["hands"]), row["key"]


def test_no_two_lines_for_families_begin_alike() -> None:
    lines = [row["letter"].split(":")[0] for row in [*CONTENT["drill"], *CONTENT["stage"]]]
    assert len(set(lines)) == len(lines) == 39 + 9


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
        ("jumps-forward", "Hands land near the feet"),
        ("undercut", "a drop instead of a push"),
        ("two-bounces", "Push spent"),
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


def test_hands_that_land_near_the_feet_are_the_undercut_that_a_jump_forward_leads_to() -> None:
    """Common practice, no source."""
    jump, undercut = fault(CONTENT, "jumps-forward"), fault(CONTENT, "undercut")
    assert jump["leads_to"] == undercut["sees"]
    assert set(undercut["belongs"]) <= set(jump["belongs"])


def test_a_double_bounce_is_seen_before_the_jump_and_after_it() -> None:
    """Common practice, no source."""
    for key in ("two-bounces", "dead-or-double"):
        assert "two-handsprings" in fault(CONTENT, key)["belongs"]


def test_shrugs_go_from_hands_and_knees_to_push_up_to_the_wall() -> None:
    """Common practice, no source."""
    assert drill(CONTENT, "shrugs-knees")["stage"] == 1
    assert gate(CONTENT, "5.shrugs-pushup")["drill"] == "shrugs-pushup"
    assert drill(CONTENT, "wall-shrugs-upright")["stage"] == 2
    assert drill(CONTENT, "wall-shrugs")["stage"] == 2
    assert "as in the hands-down line" in drill(CONTENT, "wall-shrugs")["set_up"]
    assert "hands-down line" not in drill(CONTENT, "wall-shrugs-upright")["set_up"]
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
    for key in ("sit-depth", "sit-fall", "swing-jump", "safe-fall", "wall-handstand-half"):
        assert drill(CONTENT, key)["stage"] == 1
    arms = drill(CONTENT, "sit-in-arms")
    assert (arms["stage"], arms["at_once"], arms["sets_note"]) == (
        1,
        1,
        "At most four turns a class.",
    )
    assert [need["drill"] for need in arms["needs"]] == ["safe-fall"]
    assert [step["support"] for step in arms["allow"]] == ["hands-on"]


@pytest.mark.parametrize(
    "key", ["back-walkover", "handspring", "two-handsprings", "roundoff-handspring"]
)
def test_a_new_learner_is_spotted_by_hand(key: str) -> None:
    """Common practice, no source."""
    row = drill(CONTENT, key)
    assert row["allow"][0]["support"] == "hands-on"
    assert row["adult"] == "hands"
    assert re.search(r"eside|where (each passes|the round-off lands)", row["hands"])


# Reading and writing


def test_a_ladder_written_and_read_again_is_the_same() -> None:
    assert file.parse(file.dump(CONTENT)) == CONTENT


def test_a_ladder_is_written_the_same_whatever_the_order_of_its_fields(content: Content) -> None:
    def turned(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: turned(value[key]) for key in reversed(value)}
        return [turned(item) for item in value] if isinstance(value, list) else value

    assert file.dump(turned(content)) == file.dump(content)


def test_writing_a_ladder_leaves_it_as_it_was(content: Content) -> None:
    before = list(content["drill"][0])
    file.dump(content)
    assert list(content["drill"][0]) == before


def test_the_digest_is_that_of_json_with_sorted_keys() -> None:
    """RFC 8785 orders an object's members so; value by hashlib of the text written out."""
    text = '{"a":[1,0.5],"b":"é"}'
    assert file.digest({"b": "é", "a": [1, 0.5]}) == hashlib.sha256(text.encode()).hexdigest()


def test_a_changed_number_changes_the_digest(content: Content) -> None:
    gate(content, "6.wall-shrugs")["at_least"] = 9
    assert file.digest(content) != file.digest(CONTENT)


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
    with pytest.raises(file.LadderFileError, match="not a TOML file") as refused:
        file.parse(text)
    assert refused.value.line == line


def before_the_cards(content: Content) -> Content:
    """The ladder as a file from before it had cards for staff and lines for families."""
    new = {"hands", "letter", "pace", "carries", "formerly", "or_drill", "turn_seconds"}
    new |= {"held_seconds"}
    for table in tables(content):
        for name in new & table.row.keys():
            del table.row[name]
    for row in content["fault"]:
        if row["key"] != "head-touches":
            row["belongs"] = [key for key in row["belongs"] if key != "rebound"] or ["sit-depth"]
    return content


def test_an_older_file_is_as_right_as_it_was(content: Content) -> None:
    assert file.faults_in(before_the_cards(content)) == []


@pytest.mark.parametrize(
    ("where", "name"), [("ladder", "hands"), ("drill barrel", "letter"), ("stage 3", "letter")]
)
def test_one_line_for_a_card_asks_for_all_the_others(
    content: Content, where: str, name: str
) -> None:
    older = before_the_cards(content)
    row_at(older, where)[name] = row_at(CONTENT, where)[name]
    assert {"drill rebound", "drill handspring", "stage 9"} <= keys(older)


# Fields


def one_of_each_field() -> list[tuple[str, str, bool]]:
    """Where, field, and whether it is needed: every field of every kind of table, once."""
    seen: dict[tuple[str, str, str], tuple[str, str, bool]] = {}
    for table in tables(CONTENT):
        for name, field in fields_of(table).items():
            if name in table.row:
                kind = (table.kind.word, str(table.row.get("kind")), name)
                seen.setdefault(kind, (table.where, name, field.required))
    return list(seen.values())


FIELDS = one_of_each_field()


def row_at(content: Content, where: str) -> Content:
    return next(table.row for table in tables(content) if table.where == where)


@pytest.mark.parametrize(("where", "name"), [(w, n) for w, n, needed in FIELDS if needed])
def test_a_missing_field_is_said(content: Content, where: str, name: str) -> None:
    del row_at(content, where)[name]
    missing = f"The field “{name}” is missing."
    assert missing in {found.message for found in file.faults_in(content)}


@pytest.mark.parametrize(("where", "name"), [(where, name) for where, name, _ in FIELDS])
def test_a_value_of_the_wrong_kind_is_said(content: Content, where: str, name: str) -> None:
    row = row_at(content, where)
    for value in (None, [[1]], -1, "", 2.5e9, float("nan")):
        row[name] = value
        sentences = [fault.message for fault in file.faults_in(content)]
        assert any(message.startswith(f"“{name}” must be ") for message in sentences), value


def test_true_is_not_a_number(content: Content) -> None:
    gate(content, "2.safe-fall")["clean"] = True
    assert keys(content) == {"gate 2.safe-fall"}


# What names and numbers mean to each other


def practice(code: str, key: str) -> Content:
    return {**gate(CONTENT, "5.sit-fall"), "code": code, "drill": key}


# What is put into which table, said at that table.
PUT: list[tuple[str, str, Content]] = [
    ("an unknown field", "drill handspring", {"colour": "x"}),
    ("an unknown table", "ladder", {"level": [{}]}),
    ("an unknown kind of gate", "gate 2.safe-fall", {"kind": "luck"}),
    ("an angle that is no number", "rubric sit, pose 3", {"angles": {"knee": "wide"}}),
    ("a range that is turned round", "rubric sit, pose 3", {"ranges": {"shin_lean": [[5, 0]]}}),
    ("an unknown strand", "drill barrel", {"strand": "luck"}),
    ("unknown equipment", "drill barrel", {"equipment": ["rope"]}),
    ("an unknown rubric", "drill sit-depth", {"rubric": "none"}),
    ("an unknown drill of a gate", "gate 2.arch-hold", {"drill": "arch"}),
    ("an unknown skill", "stage 3", {"skills": ["somersault"]}),
    ("an unknown root", "fault squats", {"root": "luck"}),
    ("an unknown drill of a fault", "fault squats", {"belongs": ["squat"]}),
    ("an unknown mending drill", "fault squats, mend 2", {"drill": "squat"}),
    ("a list that repeats", "fault squats", {"belongs": ["sit-fall", "sit-fall"]}),
    ("a stage key twice", "stage 8", {"key": "connected"}),
    ("a gate on stage 1", "stage 1", {"gate": [practice("1.sit-fall", "sit-fall")]}),
    ("a sign-off on stage 1", "stage 1", {"sign_off": True}),
    ("a stage that needs nothing", "stage 5", {"needs": []}),
    ("a circle of stages", "stage 3", {"needs": [4]}),
    ("a stage that needs itself", "stage 3", {"needs": [2, 3]}),
    ("an exception for a stage not needed", "stage 6", {"exception_for": [3]}),
    ("a skill that is not marked", "stage 6", {"skills": ["barrel"]}),
    ("a skill that is not open", "stage 3", {"skills": ["handspring"]}),
    ("a circle of drills", "drill safe-fall", {"needs": [practice("s", "sit-fall")]}),
    ("a clean drill with values", "drill barrel", {"most": 2}),
    ("a grade above 3", "drill sit-depth", {"most": 4}),
    ("a rubric with no grade", "drill barrel", {"rubric": "sit"}),
    ("hands and no spotter", "drill barrel", {"spotters": 0}),
    ("a held turn's time where nobody is held", "drill hollow-hold", {"held_seconds": 30}),
    ("a turn that takes no time", "drill hollow-hold", {"turn_seconds": 4}),
    ("a spotter who does not spot", "drill barrel", {"adult": "station"}),
    ("first days with no more hands", "drill handspring", {"spotters": 2}),
    ("support where none is logged", "drill barrel", {"support_logged": False}),
    ("the same step twice", "drill barrel, allow 2", {"support": "hands-on"}),
    ("a step with more support", "drill back-walkover, allow 3", {"support": "hands-on"}),
    ("a first step at another stage", "drill barrel, allow 1", {"stage": 6}),
    ("a first step that waits", "drill barrel, allow 1", {"after_days": 2}),
    ("a step at an unknown stage", "drill barrel, allow 2", {"stage": 10}),
    ("a step at a stage beside", "drill back-walkover, allow 2", {"stage": 5}),
    ("steady at no step", "drill barrel, allow 2", {"steady": "standing-by"}),
    ("steady at the step itself", "drill barrel, allow 2", {"steady": "light-touch"}),
    ("no more on the first turn", "drill handspring, allow 4", {"first_turn": "unspotted"}),
    ("a line with no colon", "drill barrel", {"letter": "Over the barrel, long."}),
    ("a line with nothing before", "drill barrel", {"letter": ": over the barrel."}),
    ("a line with nothing after", "drill barrel", {"letter": "Over the barrel: "}),
    ("a line too long", "drill barrel", {"letter": "Barrel: " + "o" * 88}),
    ("a line with a number", "drill barrel", {"letter": "Barrel: 3 of 5 turns over it."}),
    ("a line of a stage that says alone", "stage 8", {"letter": "Handspring: alone."}),
    ("a line that says safe", "drill safe-fall", {"letter": "Safe fall: on a round back."}),
    ("a fault that does not carry", "fault squats", {"carries": False}),
    ("old turns of no drill", "drill wall-shrugs-upright", {"formerly": "shrugs"}),
    ("old turns of its own", "drill shrugs-knees", {"formerly": "shrugs-knees"}),
    ("old turns of old turns", "drill shrugs-pushup", {"formerly": "wall-shrugs-upright"}),
    ("old turns that decide support", "drill rebound", {"formerly": "log-roll"}),
    ("old turns of another measure", "drill rebound", {"formerly": "bridge-hold"}),
    ("old turns counted twice", "drill shrugs-knees", {"formerly": "wall-shrugs"}),
    ("a gate that takes no drill", "gate 2.arch-hold", {"or_drill": "arch"}),
    ("a gate that takes a drill twice", "gate 2.arch-hold", {"or_drill": "arch-hold"}),
    ("a gate that takes two measures", "gate 2.arch-hold", {"or_drill": "shrugs-knees"}),
    ("a gate that takes a later drill", "gate 2.arch-hold", {"or_drill": "free-handstand"}),
    ("a step signed for nowhere", "drill handspring, allow 3", {"surface": "signed"}),
    ("a gate signed for nowhere", "gate 7.handspring", {"surface": "signed"}),
    ("a need signed for", "gate roundoff-rebound.kick-to-handstand", {"surface": "signed"}),
    ("a clean gate on a hold", "gate 6.sit-fall", {"drill": "hollow-hold"}),
    ("a reach gate on a clean drill", "gate 2.arch-hold", {"drill": "safe-fall"}),
    ("a clear gate on a grade", "gate 7.clear", {"drill": "sit-depth"}),
    ("a grade above the rubric", "gate 6.sit-depth", {"at_least": 4}),
    ("seven right of six", "gate 2.name-the-shape", {"at_least": 7}),
    ("more than a set", "gate 7.handstand-hops", {"at_least": 4}),
    ("a drill that opens with the stage", "gate 6.sit-fall", {"drill": "handspring"}),
    ("a drill that opens beside", "gate 5.sit-fall", {"drill": "kick-over-block"}),
    ("a need that opens later", "gate kick-over-floor.kick-over-block", {"drill": "barrel"}),
    ("support not yet allowed", "gate 8.handspring", {"support": "unspotted"}),
    ("support by release alone", "gate 9/two-handsprings.clean", {"support": "unspotted"}),
    ("support that is not logged", "gate 6.sit-fall", {"support": "hands-on"}),
    ("a rate below one half", "gate 6.sit-fall", {"rate": 0.49}),
    ("a rate above .95", "gate 6.sit-fall", {"rate": 0.951}),
    ("a certainty below one half", "gate 6.sit-fall", {"certainty": 0.49}),
    ("a certainty of one", "gate 6.sit-fall", {"certainty": 1.0}),
    ("a rate and certainty below 1.2", "gate 6.sit-fall", {"rate": 0.6, "certainty": 0.599}),
    ("no days", "gate 6.sit-fall", {"days": 0}),
    ("fewer clean turns than days", "gate 6.sit-fall", {"days": 7}),
    ("days that do not fit", "gate 2.arch-hold", {"days": 5, "within": 3}),
    ("a grade not drawn", "rubric sit", {"pose": rubric(CONTENT, "sit")["pose"][:4]}),
    ("a pose outside its range", "rubric sit, pose 3", {"ranges": {"shin_lean": [[3, 5]]}}),
    ("a range of no angle", "rubric sit, pose 3", {"ranges": {"hip": [[0, 5]]}}),
    ("no mending drill", "fault squats", {"mend": []}),
    ("a mending drill not open", "fault squats", {"mend": [{"drill": "barrel"}]}),
    ("a mending drill with needs", "fault high-short", {"mend": [{"drill": "sit-fall"}]}),
    ("one behind an exception", "fault high-short", {"mend": [{"drill": "kick-over-block"}]}),
    (
        "a mending drill twice",
        "fault squats",
        {"mend": [{"drill": "sit-depth"}, {"drill": "sit-depth", "note": "higher"}]},
    ),
    (
        "a stop sign mended only where it was seen",
        "fault reaches-behind",
        {"belongs": ["safe-fall"], "mend": [{"drill": "safe-fall"}]},
    ),
    (
        "a stop sign after which the mending drill goes backward",
        "fault head-touches",
        {"mend": [{"drill": "bridge-hold"}]},
    ),
    ("a sore place that bars nothing", "pain wrist", {"bars": []}),
    ("a pause that bars a part", "pain head", {"bars": ["hands"]}),
    ("a review before the absence", "way_back", {"away_review_days": 27}),
    ("steady without certainty", "practice", {"certainty": 0.5}),
    ("steady on more days than turns", "practice", {"days": 7}),
]


def putting(where: str, values: Content) -> Change:
    return lambda content: row_at(content, where).update(copy.deepcopy(values))


# What is changed elsewhere than where it is said.
CHANGED: list[tuple[str, str, Change]] = [
    ("a drill twice", "drill barrel", lambda c: c["drill"].append(drill(c, "barrel"))),
    ("a surface twice", "surface wedge", lambda c: c["surface"][3].update(key="wedge")),
    ("a stage number twice", "stage 9", lambda c: stage(c, 8).update(number=9)),
    ("a missing stage", "stage 7", lambda c: c["stage"].remove(stage(c, 7))),
    ("a code twice", "gate 4.clear", lambda c: gate(c, "7.clear").update(code="4.clear")),
    (
        "a code of a gate and a release",
        "release 9/two-handsprings",
        lambda c: gate(c, "9.clear").update(code="9/two-handsprings"),
    ),
    ("a pose twice", "rubric sit, pose 3", lambda c: c["rubric"][0]["pose"][0].update(pose="3")),
    (
        "a release with no sign-off",
        "release 9/two-handsprings",
        lambda c: stage(c, 9).update(sign_off=False),
    ),
    (
        "a release for the dance of another stage",
        "release 9/handspring-in-dance",
        lambda c: stage(c, 9)["release"].append(
            stage(c, 8)["release"].pop() | {"code": "9/handspring-in-dance"}
        ),
    ),
    (
        "a release for a drill that is no skill",
        "release 4/walkover-in-dance",
        lambda c: drill(c, "walkover-in-dance").pop("skill"),
    ),
    (
        "a release by another code",
        "release 9/two",
        lambda c: stage(c, 9)["release"][0].update(code="9/two"),
    ),
    (
        "a step by a release that is not there",
        "drill two-handsprings",
        lambda c: stage(c, 9)["release"].pop(0),
    ),
    (
        "a release that no step uses",
        "drill two-handsprings",
        lambda c: drill(c, "two-handsprings")["allow"].pop(),
    ),
    (
        "a signature no longer given",
        "drill handspring, allow 4",
        lambda c: stage(c, 8).update(sign_off=False),
    ),
    (
        "a need of another kind",
        "gate sit-fall.hold",
        lambda c: drill(c, "sit-fall").update(
            needs=[{**gate(c, "2.arch-hold"), "code": "sit-fall.hold"}]
        ),
    ),
    ("regions with no picture", "rubric sit", lambda c: rubric(c, "sit").pop("picture")),
    (
        "a region by an angle of another picture",
        "rubric sit, region 1",
        lambda c: rubric(c, "sit")["regions"][0].update(over={"leg_lean": 3}),
    ),
    (
        "a gap between the regions",
        "rubric sit, region 6",
        lambda c: rubric(c, "sit")["regions"].pop(),
    ),
    (
        "regions that hide those after them",
        "rubric sit, region 3",
        lambda c: rubric(c, "sit")["regions"][2].pop("under"),
    ),
    (
        "a grade with no region",
        "rubric bridge-line",
        lambda c: rubric(c, "bridge-line")["regions"].pop(2),
    ),
    ("a grade with no rubric", "drill sit-depth", lambda c: drill(c, "sit-depth").pop("rubric")),
    ("no support where it is logged", "drill barrel", lambda c: drill(c, "barrel").pop("allow")),
    ("no word on a spotter's hands", "drill barrel", lambda c: drill(c, "barrel").pop("hands")),
    (
        "no word on the hands of the first days",
        "drill jump-back",
        lambda c: drill(c, "jump-back").pop("hands"),
    ),
    ("no word on all hands", "ladder", lambda c: c.pop("hands")),
    ("no line for families", "drill log-roll", lambda c: drill(c, "log-roll").pop("letter")),
    ("no line on a stage", "stage 4", lambda c: stage(c, 4).pop("letter")),
    (
        "a drill where only the head can touch",
        "drill shrugs-knees",
        lambda c: [
            row["belongs"].remove("shrugs-knees")
            for row in c["fault"]
            if row["key"] != "head-touches" and "shrugs-knees" in row["belongs"]
        ],
    ),
    (
        "a strand with no fault",
        "strand block",
        lambda c: [row.update(root="sit") for row in c["fault"] if row["root"] == "block"],
    ),
    (
        "a mending drill that needs more",
        "fault stopped-before",
        lambda c: drill(c, "sit-fall")["needs"][0].update(clean=4),
    ),
    ("no word on what steady is", "ladder", lambda c: c.pop("practice")),
    (
        "a skill of a stage that nobody signs, seen by nobody",
        "drill back-walkover, allow 4",
        lambda c: stage(c, 4).update(sign_off=False, gate=[]),
    ),
    (
        "hands at a drill that logs no support",
        "drill barrel",
        lambda c: (
            drill(c, "barrel").update(support_logged=False),
            drill(c, "barrel").pop("allow"),
        ),
    ),
]
CHANGES = [(name, where, putting(where, values)) for name, where, values in PUT] + CHANGED


@pytest.mark.parametrize(
    ("key", "change"), [change[1:] for change in CHANGES], ids=[change[0] for change in CHANGES]
)
def test_what_is_wrong_is_said_with_its_key(content: Content, key: str, change: Change) -> None:
    change(content)
    assert key in keys(content)


@pytest.mark.parametrize(
    ("code", "values"),
    [
        ("6.sit-fall", {"rate": 0.5, "certainty": 0.7}),
        ("6.sit-fall", {"rate": 0.7, "certainty": 0.5}),
        ("6.sit-fall", {"rate": 0.95, "certainty": 0.5}),
        ("6.sit-fall", {"certainty": 0.999}),
        ("6.sit-fall", {"days": 1, "clean": 1}),
        ("6.sit-fall", {"days": 6, "clean": 6}),
        ("2.arch-hold", {"days": 4, "within": 3}),
        ("2.arch-hold", {"at_least": 600}),
        ("2.name-the-shape", {"at_least": 6}),
        ("7.handstand-hops", {"at_least": 3}),
        ("9.handspring", {"surface": "signed"}),
    ],
)
def test_a_value_at_its_bound_is_right(content: Content, code: str, values: Content) -> None:
    gate(content, code).update(values)
    assert file.faults_in(content) == []


def test_every_check_is_broken_by_some_change() -> None:
    every = CHECKS + ORDER_CHECKS + MENDING_CHECKS + UNSPOTTED_CHECKS
    broken = set()
    for _name, _key, change in CHANGES:
        content = copy.deepcopy(CONTENT)
        change(content)
        ladder = Ladder(content)
        broken |= {check for check in every if list(check(ladder))}
    assert {check.__name__ for check in every} == {check.__name__ for check in broken}


def test_all_that_is_wrong_is_said_at_once(content: Content) -> None:
    del drill(content, "rebound")["cues"]
    drill(content, "barrel")["strand"] = "luck"
    gate(content, "6.sit-depth")["at_least"] = 4
    gate(content, "6.sit-fall")["certainty"] = 0.5
    fault(content, "squats")["mend"] = [{"drill": "barrel"}]
    pain(content, "wrist")["bars"] = []
    assert keys(content) == {
        "drill rebound",
        "drill barrel",
        "gate 6.sit-depth",
        "gate 6.sit-fall",
        "fault squats",
        "pain wrist",
    }


def test_one_slip_is_said_once(content: Content) -> None:
    drill(content, "handspring")["stage"] = "six"
    assert keys(content) == {"drill handspring"}


def test_a_missing_stage_is_not_said_again_at_all_that_hangs_on_it(content: Content) -> None:
    content["stage"].remove(stage(content, 7))
    unknown = {"stage 8", "drill handspring, allow 2", "drill handspring, allow 3"}
    assert keys(content) == {"stage 7"} | unknown


def test_a_circle_is_said_at_the_stages_in_it_and_nowhere_else(content: Content) -> None:
    stage(content, 3)["needs"] = [4]
    assert keys(content) == {"stage 3", "stage 4"}


def test_what_is_wrong_in_a_stage_does_not_hide_what_is_wrong_in_a_gate(content: Content) -> None:
    del stage(content, 6)["name"]
    gate(content, "7.wall-shrugs")["at_least"] = 201
    gate(content, "8.handspring")["support"] = "unspotted"
    assert keys(content) == {"stage 6", "gate 7.wall-shrugs", "gate 8.handspring"}


def test_a_table_without_a_name_is_said_by_its_place(content: Content) -> None:
    del content["drill"][2]["key"]
    del stage(content, 2)["gate"][1]["code"]
    assert {"drill 3", "stage 2, gate 2"} <= keys(content)


def test_an_empty_file_lacks_every_table() -> None:
    faults = file.faults_in(file.parse(""))
    assert {fault.key for fault in faults} == {"ladder"} | {f"stage {n}" for n in range(1, 10)}


def test_a_message_is_a_plain_sentence(content: Content) -> None:
    gate(content, "6.sit-fall")["rate"] = 0.4
    (fault,) = file.faults_in(content)
    assert fault.message == "“rate” must be a number from 0.5 to 0.95."


WORDS = st.sampled_from(["handspring", "clean", "sit", "hands-on", 1, 4, 9])
PLAIN = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=3) | WORDS
NAMES = st.sampled_from(["key", "kind", "code"])
ODD = st.recursive(
    PLAIN,
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(NAMES, inner, max_size=2),
    max_leaves=4,
)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_whatever_is_written_in_a_ladder_it_is_checked_to_the_end(data: st.DataObject) -> None:
    content = copy.deepcopy(CONTENT)
    for _ in range(data.draw(st.integers(1, 3))):
        row = data.draw(st.sampled_from([table.row for table in tables(content)]))
        if row:
            row[data.draw(st.sampled_from(sorted(row)))] = data.draw(ODD)
    for found in file.faults_in(content):
        assert found.key
        assert found.message


# After a head knock. What each step lets a child do at tumbling is common practice, no source.


def after_head(step: int) -> set[str]:
    return {row["key"] for row in CONTENT["drill"] if row["after_head"] == step}


def test_at_step_3_nothing_rolls_or_goes_backward_or_upside_down() -> None:
    first = [row for row in CONTENT["drill"] if row["after_head"] == 3]
    assert not [row["key"] for row in first if row.get("goes") or row["landing"]]
    assert "log-roll" not in after_head(3)
    assert {"hollow-hold", "front-support", "swing-jump"} <= after_head(3)


def test_bridge_and_wall_handstand_come_at_step_4_lead_ups_at_5_and_skills_at_6() -> None:
    assert {"bridge-hold", "bridge-line", "wall-handstand"} <= after_head(4)
    assert {"kick-over-block", "sit-and-reach", "barrel", "jump-back"} <= after_head(5)
    assert {row["key"] for row in CONTENT["drill"] if row.get("skill")} <= after_head(6)


@pytest.mark.parametrize(("step", "right"), [(2, False), (3, True), (6, True), (7, False)])
def test_a_drill_comes_back_at_one_of_the_steps_3_to_6(content, step, right) -> None:
    drill(content, "bridge-hold")["after_head"] = step
    assert (keys(content) == set()) is right


@pytest.mark.parametrize(
    ("days", "right"),
    [
        # UK Concussion Guidelines for Grassroots Sport, 2023, updated November 2024.
        ({"clear_days": 14, "full_return_day": 21}, True),
        ({"clear_days": 13, "full_return_day": 21}, False),
        ({"clear_days": 14, "full_return_day": 20}, False),
        ({"clear_days": 21, "full_return_day": 28}, True),
    ],
)
def test_a_studio_asks_for_no_fewer_days_than_published_guidance(content, days, right) -> None:
    content["head_knock"] = days
    assert (keys(content) == set()) is right


def test_by_a_ladder_from_before_every_drill_waits_for_the_last_step(content) -> None:
    del content["head_knock"]
    for row in content["drill"]:
        del row["after_head"]
    assert keys(content) == set()
    earlier = engine_ladder.Ladder.from_content(content)
    assert {each.after_head for each in earlier.drills.values()} == {6}
    assert (earlier.head.clear_days, earlier.head.full_return_day) == (14, 21)
