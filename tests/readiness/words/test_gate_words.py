"""The sentences of the gates: each kind, met and not, and their titles."""

import datetime
from dataclasses import replace
from types import SimpleNamespace

import pytest

from readiness.engine.gates import FirstTurnGate, GateReading
from readiness.engine.levels import Support
from readiness.record.ladders import NamedLadder
from readiness.record.standings import read
from readiness.words.gates import gate_sentence, gate_short, gate_stale, gate_title
from readiness.words.names import Names

DAY = datetime.date(2026, 3, 4)


@pytest.fixture(scope="module")
def names(ladder_content):
    return Names("Maren", NamedLadder(1, ladder_content), DAY)


def clean(value=0.71, met=False, **parts):
    parts = {
        "rate": 0.8,
        "days": 4,
        "days_need": 4,
        "clean": 14,
        "clean_need": 12,
        "age": 3,
        "fresh": 28,
    } | parts
    named = SimpleNamespace(code="8.handspring", kind="clean", drill="handspring")
    return GateReading(named, met, 0.5, value, 0.8, parts=parts)


def gate(code, kind, drill, value=0.0, need=1.0, met=False, days=(), stale_on=None, **parts):
    named = SimpleNamespace(code=code, kind=kind, drill=drill)
    if kind == "first-turn":
        named = FirstTurnGate(code, drill, Support.STANDING_BY, within=28, signed_surface=True)
    on = tuple(datetime.date.fromisoformat(day) for day in days)
    return GateReading(named, met, 0.0, value, need, stale_on, parts, on)


# --- clean gates -----------------------------------------------------------------------


def test_a_clean_gate_says_how_sure_and_what_would_open_it(names):
    assert gate_sentence(names, clean(0.719), (4, 2)) == (
        "The record is 71 % sure that Maren is clean at least 4 times in 5. "
        "This opens at 80 %: about 4 more clean turns on 2 days."
    )


def test_the_promise_of_one_turn_on_one_day_is_in_the_singular(names):
    assert gate_sentence(names, clean(), (1, 1)).endswith("about 1 more clean turn on one day.")
    assert gate_sentence(names, clean(), (3, 1)).endswith("about 3 more clean turns on one day.")


def test_more_than_twelve_turns_to_go_are_not_counted_out(names):
    assert "about 12 more clean turns" in gate_sentence(names, clean(), (12, 3))
    said = gate_sentence(names, clean(), (13, 3))
    assert said.endswith("Not soon; work on what goes wrong first.")
    assert "13" not in said


def test_a_record_that_is_hardly_sure_at_all_is_said_to_be_far_off(names):
    assert gate_sentence(names, clean(0.049)).startswith("Far from steady yet.")
    assert "Far" not in gate_sentence(names, clean(0.05))


def test_where_nothing_soon_would_open_it_that_is_said(names):
    assert gate_sentence(names, clean(), None).endswith("The next classes are too few to open it.")


def test_without_a_promise_it_says_only_where_it_opens(names):
    assert gate_sentence(names, clean()).endswith("This opens at 80 %.")


def test_a_met_clean_gate_says_what_was_asked(names):
    assert gate_sentence(names, clean(0.929, met=True)) == (
        "The record is 92 % sure that Maren is clean at least 4 times in 5; 80 % is asked."
    )


def test_of_an_open_stage_it_is_no_more_than_a_reminder(names):
    said = gate_sentence(names, clean(0.5), (4, 2), entered=True)
    assert said.endswith("80 % is asked.")
    assert "opens" not in said


def test_a_reminder_says_what_else_an_unmet_gate_asks(names):
    said = gate_sentence(names, clean(0.95, age=35), entered=True)
    assert said.endswith("The newest clean turn is 35 days old; it may be 28 at most.")
    assert "newest" not in gate_sentence(names, clean(0.95, age=35, met=True), entered=True)


def test_sure_enough_but_on_too_few_days_or_turns_or_too_old(names):
    said = gate_sentence(names, clean(0.85, days=3, clean=10, age=35), (2, 1))
    assert "Clean turns on 3 of 4 days." in said
    assert "10 of 12 clean turns." in said
    assert "The newest clean turn is 35 days old; it may be 28 at most." in said
    assert said.endswith("This opens with about 2 more clean turns on one day.")


def test_with_no_clean_turn_it_says_so(names):
    assert gate_sentence(names, clean(0.2, clean=0, age=-1)).startswith("No clean turn counts yet.")


# --- the other gates -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (
            gate("6.wall-shrugs", "reach", "wall-shrugs", 7, 8, days_need=2, days_=0, best=7),
            "7 of 8 at best, on 0 of 2 days.",
        ),
        (
            gate("6.wall-shrugs", "reach", "wall-shrugs", 7, 8, days_need=2, days_=1, best=12),
            "8 reached on 1 of 2 days, at best 12.",
        ),
        (
            gate("6.hollow-hold", "reach", "hollow-hold", 0, 30, days_need=2, days_=0, best=0),
            "30 s is needed on 2 days; none lately.",
        ),
        (
            gate("6.sit-depth", "reach", "sit-depth", 0, 3, days_need=2, days_=0, best=2),
            "Grade 3, twice in a class, on 2 days; none lately.",
        ),
        (
            gate("6.hollow-hold", "reach", "hollow-hold", 9, 30, days_need=2, days_=0, best=24.5),
            "24.5 of 30 s at best, on 0 of 2 days.",
        ),
        (
            gate("6.sit-depth", "reach", "sit-depth", 2, 3, days_need=2, days_=1, best=3),
            "Grade 3, twice in a class, on 1 of 2 days.",
        ),
        (
            gate("2.safe-fall", "count", "safe-fall", 2, 3),
            "2 of 3 clean turns.",
        ),
        (
            gate("2.safe-fall", "count", "safe-fall", 5, 3, met=True),
            "5 clean turns; 3 are asked.",
        ),
        (
            gate(
                "8.clear", "clear", "handspring", 22, 20,
                days=["2026-02-16"], none_ever=0, since=16, days_need=28,
            ),
            "Since the last stop sign, on 16 Feb: 20 of 20 clean turns on later days, at any "
            "support, 16 of 28 days.",
        ),
        (
            gate("8.clear", "clear", "handspring", 20, 20, met=True, none_ever=1),
            "No stop sign on record.",
        ),
        (
            gate(
                "8.clear", "clear", "handspring", 12, 20,
                days=["2026-02-16"], none_ever=0, since=16, days_need=28,
            ),
            "Since the last stop sign, on 16 Feb: 12 of 20 clean turns on later days, at any "
            "support, 16 of 28 days.",
        ),
        (
            gate(
                "8.clear", "clear", "handspring", 24, 20, met=True,
                days=["2025-12-01"], none_ever=0, since=93, days_need=28,
            ),
            "No stop sign since 1 Dec 2025: 24 clean turns on later days, at any support, 93 "
            "days.",
        ),
        (
            gate("8.seen-by-two", "seen-by-two", "handspring", 1, 2, days=["2026-03-01"]),
            "Seen clean by 1 of 2 graders.",
        ),
        (
            gate("8.seen-by-two", "seen-by-two", "handspring", 2, 2, days=["2026-03-01"]),
            "Two graders, but on one day only (1 Mar): another day, or three clean turns seen "
            "by each.",
        ),
        (
            gate(
                "8.seen-by-two", "seen-by-two", "handspring", 2, 2, met=True,
                days=["2026-02-25", "2026-03-01"],
            ),
            "Seen clean by two graders, last on 25 Feb and 1 Mar.",
        ),
        (
            gate("8.first-turn", "first-turn", "handspring", 1, 1, met=True, days=["2026-03-04"]),
            "The first turn on 4 Mar was clean.",
        ),
        (
            gate("8.first-turn", "first-turn", "handspring", 0, 1, days=["2026-03-04"]),
            "The first turn on 4 Mar does not count: it has to be clean, graded, and at "
            "standing by or less.",
        ),
        (
            gate("8.first-turn", "first-turn", "handspring"),
            "No turn in the last 28 days.",
        ),
    ],
)  # fmt: skip
def test_each_gate_has_its_sentence(names, one, said):
    if "days_" in one.parts:
        one = replace(one, parts=one.parts | {"days": one.parts["days_"]})
    assert gate_sentence(names, one) == said


@pytest.mark.parametrize(
    ("one", "title"),
    [
        (clean(), "Back handspring: steady at standing by or less"),
        (gate("7.handspring", "clean", "handspring"), "Back handspring: steady hands-on"),
        (gate("9.handspring", "clean", "handspring"), "Back handspring: steady unspotted"),
        (gate("8.snap-down", "clean", "snap-down"), "Snap-down to hollow stand: steady"),
        (gate("6.hollow-hold", "reach", "hollow-hold", need=30), "Hollow hold: 30 s"),
        (gate("6.wall-shrugs", "reach", "wall-shrugs", need=8), "Wall shrugs, leaning: 8"),
        (gate("6.sit-depth", "reach", "sit-depth", need=3), "The sit, hands held: grade 3"),
        (gate("2.safe-fall", "count", "safe-fall", need=3), "Safe fall: 3 clean"),
        (
            gate("2.wall-handstand", "reach", "wall-handstand", need=10),
            "Half-way wall handstand or Wall handstand, belly to the wall: 10 s",
        ),
    ],
)
def test_each_gate_has_a_title(names, one, title):
    assert gate_title(names, one.gate, one.need) == title


def test_what_a_gate_of_two_drills_lacks_names_both(names):
    one = gate("2.wall-handstand", "reach", "wall-handstand", 0, 10)
    one = replace(one, parts={"best": 4, "days": 0, "days_need": 2})
    assert (
        gate_short(names, one)
        == "Half-way wall handstand or Wall handstand, belly to the wall: 4 of 10 s"
    )


def test_a_met_gate_says_when_it_will_no_longer_be(names):
    one = gate(
        "2.safe-fall", "count", "safe-fall", 3, 3, met=True, stale_on=datetime.date(2027, 1, 5)
    )
    assert gate_stale(names, one) == "Without new turns this lapses on 5 Jan 2027."
    assert gate_stale(names, replace(one, met=False)) == ""
    assert gate_stale(names, replace(one, stale_on=None)) == ""


def test_every_gate_of_the_shipped_ladder_has_words_for_an_empty_record(cast):
    reading = read(cast.mai, DAY)
    names = Names("Mai", reading.ladder, DAY)
    for stage in reading.read.stages:
        for one in stage.gates:
            for said in (
                gate_title(names, one.gate, one.need),
                gate_sentence(names, one),
                gate_sentence(names, one, (3, 2)),
            ):
                assert said
                assert "%(" not in said
            assert one.met or ":" in gate_short(names, one)
