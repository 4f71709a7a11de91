"""The sentences: each kind of gate, the causes, the way back, the review."""

import datetime
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from scipy.stats import beta

from readiness import words as module
from readiness.engine.gates import FirstTurnGate, GateReading
from readiness.engine.levels import Support
from readiness.engine.reading import StageReading, StoredReading, stage_to_show
from readiness.engine.replay.next_step import WayBackNow
from readiness.engine.replay.state import Cause, Opening
from readiness.record.ladders import NamedLadder
from readiness.record.standings import read
from readiness.review.page import lead
from readiness.review.rows import Row, RowText
from readiness.words.gates import gate_sentence, gate_short, gate_stale, gate_title
from readiness.words.names import Names
from readiness.words.numbers import (
    join_words,
    none_in_words,
    number_words,
    percent_words,
    rate_words,
)
from readiness.words.re_check import (
    CAUSES,
    brings_back,
    re_check_causes,
    support_asked_now,
    way_back_sentence,
)
from readiness.words.refusals import REFUSALS, refusal
from readiness.words.stages import stage_notes, stage_state
from readiness.words.support import SUPPORT_REASONS
from tests.support.cast import LADDER_FILE

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


# --- small words -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rate", "said"),
    [
        (0.8, "4 times in 5"),
        (0.6, "3 times in 5"),
        (0.75, "3 times in 4"),
        (0.7, "7 times in 10"),
        (0.9, "9 times in 10"),
        (0.65, "65 times in 100"),
        (0.625, "62.5 times in 100"),
        (0.604, "60.4 times in 100"),
    ],
)
def test_a_rate_is_said_as_so_many_times_in_so_many(rate, said):
    assert rate_words(rate) == said


def test_a_percentage_is_rounded_down():
    assert percent_words(0.719999) == "71 %"
    assert percent_words(0.799999) == "79 %"
    assert percent_words(0.8) == "80 %"


def test_numbers_have_a_decimal_only_when_they_need_one():
    assert (number_words(8.0), number_words(27.5), number_words(12.34)) == ("8", "27.5", "12.3")


def test_names_are_joined_with_and():
    assert join_words(["a"]) == "a"
    assert join_words(["a", "b", "c"]) == "a, b and c"


@pytest.mark.parametrize("turns", [1, 20, 41, 300, 5000])
def test_none_in_so_many_still_leaves_some_possible_and_never_none(turns):
    # The one-sided 95 % bound of Clopper & Pearson, by scipy's beta quantile; said rounded up.
    exact = 100 * beta.ppf(0.95, 1, turns)
    said = int(re.search(r"up to about (\d+) in 100", none_in_words(turns)).group(1))
    assert exact <= said < exact + 1
    assert said >= 1


def test_none_in_twenty_leaves_about_fourteen_in_a_hundred():
    # beta.ppf(.95, 1, 20) = .13911 (scipy).
    assert none_in_words(20) == "None in 20 turns still leaves up to about 14 in 100 possible."


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
            "Grade 3, twice in a class, on 2 days; none yet.",
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
            gate("8.clear", "clear", "handspring", 20, 20, met=True, none_ever=1),
            "No stop sign on record.",
        ),
        (
            gate(
                "8.clear", "clear", "handspring", 12, 20,
                days=["2026-02-16"], none_ever=0, since=16, days_need=28,
            ),
            "Since the last stop sign, on 16 Feb: 12 of 20 clean turns on later days, 16 of "
            "28 days.",
        ),
        (
            gate(
                "8.clear", "clear", "handspring", 24, 20, met=True,
                days=["2025-12-01"], none_ever=0, since=93, days_need=28,
            ),
            "No stop sign since 1 Dec 2025: 24 clean turns on later days, 93 days.",
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
    ],
)
def test_each_gate_has_a_title(names, one, title):
    assert gate_title(names, one.gate, one.need) == title


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


# --- stages, support, the way back -----------------------------------------------------


CLOSED = StageReading(
    stage=SimpleNamespace(code="4", skills=("back-walkover",)),
    state="closed",
    causes=(),
    gates=(),
    surface=None,
    opening=None,
    waits_for=(),
    opens_tomorrow=False,
    sent_back=False,
)


def cause(code, day, asks=Support.HANDS_ON):
    return Cause(code, day, (), asks)


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ("start", "open from the start"),
        ("evidence", "open since 9 Jan"),
        ("signature", "signed, open since 9 Jan"),
        ("placing", "placed, open since 9 Jan"),
    ],
)
def test_an_open_stage_says_since_when_and_by_what(names, how, said):
    one = replace(CLOSED, state="open", opening=Opening(datetime.date(2026, 1, 9), how))
    assert stage_state(names, one) == said


def test_what_a_stage_waits_for(names):
    assert stage_notes(names, replace(CLOSED, waits_for=("4", "5"))) == [
        "Waits for: Back walkover, unspotted and Handspring lead-ups."
    ]
    assert stage_notes(names, replace(CLOSED, opens_tomorrow=True)) == [
        "All gates are met: it opens tomorrow."
    ]
    assert stage_notes(names, replace(CLOSED, sent_back=True)) == [
        "Sent back: it waits for a new class day."
    ]


def test_each_cause_says_when(names):
    for code in CAUSES:
        fallen = replace(CLOSED, causes=(cause(code, datetime.date(2026, 2, 24)),))
        assert "24 Feb" in re_check_causes(names, fallen)[0]


def on_re_check(*causes, backs=()):
    """A handspring stage on re-check, and a reading that holds it and no other."""
    skill = SimpleNamespace(code="8", skills=("handspring",))
    stage = replace(CLOSED, stage=skill, causes=causes)
    return stage, StoredReading(DAY, (stage,), tuple(backs), None)


def test_what_re_check_asks_before_the_way_back_begins(names):
    fallen = on_re_check(cause("stop-sign", DAY))
    assert support_asked_now(names, *fallen) == (
        "Hands-on now; the way back begins on the next class day"
    )


def test_a_fall_asks_for_one_step_more_whatever_older_causes_once_asked_for(names):
    fallen = on_re_check(
        cause("stop-sign", datetime.date(2026, 2, 4)),
        cause("lately", DAY, Support.LIGHT_TOUCH),
        backs=[back(level=Support.STANDING_BY)],
    )
    assert brings_back(names, *fallen) == [
        "Light touch now; the way back begins on the next class day."
    ]


def back(**more):
    return replace(
        WayBackNow(
            drill="handspring",
            level=Support.HANDS_ON,
            goal=Support.UNSPOTTED,
            after=DAY,
            clean=1,
            clean_need=3,
            ready=False,
            tapped=False,
            director=False,
            causes=(),
        ),
        **more,
    )


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (
            back(),
            "To light touch: 3 clean turns, nearly all clean, at hands-on or less, the first turn "
            "of that day clean, and no stop sign. 1 of 3 so far.",
        ),
        (back(ready=True), "Earned: light touch from tomorrow."),
        (
            back(goal=Support.HANDS_ON),
            "The re-check ends with 3 clean turns, nearly all clean, at hands-on or less, the "
            "first turn of that day clean, and no stop sign. 1 of 3 so far.",
        ),
        (back(goal=Support.HANDS_ON, ready=True), "Earned: open again from tomorrow."),
        (
            back(level=Support.STANDING_BY, tapped=True, clean=7),
            "To unspotted: 3 clean turns, nearly all clean, at standing by or less, the first turn "
            "of that day clean, no stop sign, and then a coach's yes. 3 of 3 so far.",
        ),
        (
            back(level=Support.STANDING_BY, tapped=True, director=True),
            "To unspotted: 3 clean turns, nearly all clean, at standing by or less, the first turn "
            "of that day clean, no stop sign, and then a director's yes. 1 of 3 so far.",
        ),
        (
            back(level=Support.STANDING_BY, tapped=True, ready=True),
            "Unspotted again is earned: it waits for a coach's yes.",
        ),
        (
            back(level=Support.STANDING_BY, tapped=True, ready=True, director=True),
            "Unspotted again is earned: it waits for a director's yes.",
        ),
    ],
)
def test_the_way_back_says_its_next_step(names, one, said):
    assert way_back_sentence(one) == said


def test_surfaces_side_by_side_are_said_in_one(names):
    assert names.surfaces(["wedge", "air-floor", "spring-floor"]) == "Spring floor and easier"
    assert names.surfaces(["hard-floor", "bare-stage"]) == "Mat on hard floor and harder"
    assert names.surfaces(["bare-stage"]) == "Bare stage floor"


def test_the_stage_to_show_is_on_re_check_then_for_review_then_next_in_reach():
    def of(*states):
        opening = Opening(DAY, "evidence")
        stages = [
            replace(
                CLOSED,
                stage=SimpleNamespace(code=str(number)),
                state=state,
                opening=opening if state in ("open", "re-check") else None,
                waits_for=waits,
                gates=(progress_of("", share),),
            )
            for number, (state, share, waits) in enumerate(states, start=1)
        ]
        return StoredReading(DAY, tuple(stages), (), None)

    opened = ("open", 1.0, ())
    reading = of(opened, ("closed", 0.4, ()), ("closed", 0.9, ("2",)), ("closed", 0.6, ()))
    assert stage_to_show(reading).stage.code == "4"
    reading = of(opened, ("re-check", 0.4, ()), ("for-review", 1.0, ()))
    assert stage_to_show(reading).stage.code == "2"
    reading = of(opened, ("closed", 0.4, ()), ("for-review", 1.0, ()))
    assert stage_to_show(reading).stage.code == "3"
    assert stage_to_show(of(opened, opened)).stage.code == "2"


def progress_of(code, share, met=False):
    return GateReading(SimpleNamespace(code=code), met, share, 0, 0)


def test_the_holding_gate_has_the_least_progress_and_ties_go_by_order():
    unmet = [progress_of("a", 0.5), progress_of("b", 0.2), progress_of("c", 0.2)]
    met = progress_of("d", 1.0, met=True)
    assert replace(CLOSED, gates=(*unmet, met)).holding.gate.code == "b"
    assert replace(CLOSED, gates=(met,)).holding is None


# --- review and refusals ---------------------------------------------------------------


def row(state="closed", waits="", back=False):
    return Row(None, [], RowText("", "4", DAY, state, "", 0, "", "", waits, back, False, "", ()))


def test_the_lead_counts_what_needs_a_decision():
    rows = [row("for-review", "you"), row("for-review", "you"), row("re-check", back=True)]
    rows += [row("re-check", back=True), row("paused"), row()]
    assert lead(rows) == (
        "Two children wait for you. Two went back to more support this week. One is paused."
    )
    assert lead([row()]) == "Nothing waits for you."


def test_every_refusal_has_its_sentence():
    said = {"by": "Petra", "time": "17:02", "what": "signed", "most": 7, "number": 2}
    for code in REFUSALS:
        assert "%(" not in refusal(code, said)
    assert refusal("already-decided", said) == (
        "Already decided by Petra at 17:02: signed. Nothing was changed."
    )


def test_nothing_is_asked_for_that_the_program_does_not_take():
    """There is no entry for a near miss yet."""
    sources = [LADDER_FILE, *Path(module.__path__[0]).parent.rglob("*words*.py")]
    assert [str(file) for file in sources if re.search("near.miss", file.read_text(), re.I)] == []


def test_no_sentence_promises_and_none_assumes_she_or_he():
    files = list(Path(module.__path__[0]).glob("*.py"))
    assert len(files) > 5
    source = "".join(file.read_text() for file in files)
    sentences = re.findall(r'"((?:[^"\\]|\\.)*)"', source)
    for sentence in sentences:
        assert not re.search(r"\b(she|he|her|his|him)\b", sentence, re.I), sentence
        assert not re.search(r"\bsafe\b", sentence, re.I), sentence
    assert {"stop-sign", "away", "lately", "placed"} <= set(SUPPORT_REASONS)
