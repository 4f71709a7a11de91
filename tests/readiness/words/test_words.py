"""The sentences: small words, the causes, the way back, the review."""

import datetime
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from scipy.stats import beta

from readiness import words as module
from readiness.engine.gates import GateReading
from readiness.engine.levels import Support
from readiness.engine.reading import StageReading, StoredReading, stage_to_show
from readiness.engine.replay.next_step import WayBackNow
from readiness.engine.replay.state import Cause, Opening
from readiness.record.ladders import NamedLadder
from readiness.review.page import lead
from readiness.review.rows import Row, RowText
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

DAY = datetime.date(2026, 3, 4)


@pytest.fixture(scope="module")
def names(ladder_content):
    return Names("Maren", NamedLadder(1, ladder_content), DAY)


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
    return stage, StoredReading(DAY, (stage,), tuple(backs), None, None)


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


def test_a_head_knock_is_told_with_the_way_back_though_it_sends_nothing_to_re_check(names):
    knocked = on_re_check(
        cause("away", datetime.date(2026, 1, 4)), backs=[back(causes=("away", "head-knock"))]
    )
    said = brings_back(names, *knocked)
    assert said[0] == "After a head knock: hands-on first, then less, a step a class."
    assert len(said) == 2


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
            "of that day clean, no stop sign, and then a coach's yes. 3 of 3 so far. Not nearly "
            "all were clean, or not the first of the day.",
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


def test_a_step_that_was_given_today_waits_for_nobody(names):
    one = back(level=Support.STANDING_BY, tapped=True, ready=True, director=True)
    said = "Given today: unspotted from tomorrow, if nothing more comes in."
    for given in ({("handspring", 1)}, {("back-walkover", 0)}):
        assert way_back_sentence(one, given) != said
    assert way_back_sentence(one, {("handspring", 0)}) == said


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
                stage=SimpleNamespace(code=str(number), part_of=next(iter(part_of), None)),
                state=state,
                opening=opening if state in ("open", "re-check") else None,
                waits_for=waits,
                gates=(progress_of("", share),),
            )
            for number, (state, share, waits, *part_of) in enumerate(states, start=1)
        ]
        return StoredReading(DAY, tuple(stages), (), None, None)

    opened = ("open", 1.0, ())
    reading = of(opened, ("closed", 0.4, ()), ("closed", 0.9, ("2",)), ("closed", 0.6, ()))
    assert stage_to_show(reading).stage.code == "4"
    reading = of(opened, ("re-check", 0.4, ()), ("for-review", 1.0, ()))
    assert stage_to_show(reading).stage.code == "2"
    reading = of(opened, ("closed", 0.4, ()), ("for-review", 1.0, ()))
    assert stage_to_show(reading).stage.code == "3"
    assert stage_to_show(of(opened, opened)).stage.code == "2"
    # A release is beside the way up: a rung in reach goes before it, however far it has come.
    release = ("closed", 0.9, (), "1")
    reading = of(opened, release, ("closed", 0.2, ()), ("closed", 0.3, ("3",)))
    assert stage_to_show(reading).stage.code == "3"
    assert stage_to_show(of(opened, release, ("closed", 0.3, ("2",)))).stage.code == "2"


def progress_of(code, share, met=False):
    return GateReading(SimpleNamespace(code=code), met, share, 0, 0)


def test_the_holding_gate_has_the_least_progress_and_ties_go_by_order():
    unmet = [progress_of("a", 0.5), progress_of("b", 0.2), progress_of("c", 0.2)]
    met = progress_of("d", 1.0, met=True)
    assert replace(CLOSED, gates=(*unmet, met)).holding.gate.code == "b"
    assert replace(CLOSED, gates=(met,)).holding is None


# --- review and refusals ---------------------------------------------------------------


def row(state="closed", waits="", back=False):
    text = RowText("", "4", DAY, state, "", 0, "", "", waits, (), back, False, False, "", ())
    return Row(None, [], text)


def test_the_lead_counts_what_needs_a_decision():
    rows = [row("for-review", "you"), row("for-review", "you"), row("re-check", back=True)]
    rows += [row("re-check", back=True), row("paused"), row()]
    assert lead(rows) == (
        "Two children wait for you. Two went back to more support this week. One is paused."
    )
    assert lead([row()]) == "Nothing waits for you."


def test_every_refusal_has_its_sentence():
    said = {"by": "Petra", "time": "17:02", "what": "signed", "most": 7, "number": 2}
    said |= {"step": 4, "clear": 14, "full": 21, "earliest": "5 Mar 2026"}
    for code in REFUSALS:
        assert "%(" not in refusal(code, said)
    assert refusal("already-decided", said) == (
        "Already decided by Petra at 17:02: signed. Nothing was changed."
    )


def test_no_sentence_promises_and_none_assumes_she_or_he():
    files = list(Path(module.__path__[0]).glob("*.py"))
    assert len(files) > 5
    source = "".join(file.read_text() for file in files)
    sentences = re.findall(r'"((?:[^"\\]|\\.)*)"', source)
    for sentence in sentences:
        assert not re.search(r"\b(she|he|her|his|him)\b", sentence, re.I), sentence
        assert not re.search(r"\bsafe\b", sentence, re.I), sentence
    assert {"stop-sign", "away", "lately", "placed"} <= set(SUPPORT_REASONS)
