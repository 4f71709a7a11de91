"""The replay of days: what time alone does, what falls together, what is left alone."""

import copy

import pytest

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.reading import read_child
from readiness.engine.replay.days import replay, replay_days
from readiness.engine.support import allowed_now
from readiness.engine.tallies import tally_turns
from readiness.engine.trial.climb import climb
from tests.support.engine.records import (
    CONTENT,
    EARLIER,
    HARD,
    LADDER,
    MAT,
    Story,
    day,
    unspotted_walkover,
    with_stage,
)

STOP = ("half-hearted",)


def evidence_of(story):
    return Evidence(tally_turns(story.turns, LADDER.stops))


# --- time alone ----------------------------------------------------------------------


def ready_for_stage_seven_but_for_time() -> Story:
    """A stop sign on day 0; all else that stage 7 asks for stands on days 1 to 4."""
    story = with_stage(6).did(0, "handspring", "0", faults=("arms-give",))
    for number in (1, 2, 3, 4):
        story.did(number, "handspring", "1111")
        story.did(number, "block-line-held", [3, 3]).did(number, "wall-shrugs", [12])
        story.did(number, "handstand-hops", [3], support=1)
    return story


def test_a_stage_opens_when_the_days_since_a_stop_sign_are_over_though_nobody_came():
    story = ready_for_stage_seven_but_for_time()
    assert story.state(14, "7") == "closed"
    assert story.read(14).stage("7").opens_tomorrow
    opened = story.read(15).stage("7")
    assert (opened.state, opened.opening.since) == ("open", day(15))
    assert story.allowed(21, "handspring") == "hands-on"


def test_something_else_on_record_changes_nothing():
    plain, busy = ready_for_stage_seven_but_for_time(), ready_for_stage_seven_but_for_time()
    for number in range(5, 21):
        busy.did(number, "swing-jump", "0")
    assert busy.read(21).state.opened == plain.read(21).state.opened
    assert busy.read(21).state.drills == plain.read(21).state.drills


@pytest.mark.parametrize("change", [3, 9, 13])
def test_another_ladder_opens_what_it_opens_at_the_end_of_its_first_day(change):
    content = copy.deepcopy(CONTENT)
    hold = next(gate for gate in content["stage"][1]["gate"] if gate["code"] == "2.hollow-hold")
    hold["at_least"] = 60
    strict = Ladder.from_content(content)
    story = Story()
    for number in (0, 1):
        story.did(number, "hollow-hold", [15]).did(number, "arch-hold", [15])
        story.did(number, "front-support", [20]).did(number, "wall-handstand", [10])
        story.did(number, "name-the-shape", [5]).did(number, "safe-fall", "111")

    def ladder_on(on):
        return LADDER if on >= day(change) else strict

    state = replay(evidence_of(story), [], day(14), ladder_on)
    assert state.opened["2"].since == day(change + 1)


def test_nothing_happens_before_the_first_record():
    assert [state.day for state in replay_days(Evidence(), [], day(7), lambda _: LADDER)] == [
        day(7)
    ]


# --- lately --------------------------------------------------------------------------


def standing_by_handspring() -> Story:
    """Placed at stage 7, walked back from hands-on, and steady at light touch, under a ladder
    whose hands leave by the record alone."""
    story = with_stage(7, ladder=EARLIER).did(0, "handspring", "111")
    for number in (7, 14, 21):
        story.did(number, "handspring", "1111", support=2)
    return story


def test_two_clean_rules_that_fall_on_one_turn_ask_for_one_step():
    story = standing_by_handspring()
    assert story.allowed(28, "handspring") == "standing-by"
    story.did(28, "handspring", "0" * 15, support=1)
    fallen = story.read(28).allowed("handspring", MAT).falls
    assert len(fallen) > 1
    assert {cause.asks for cause in fallen} == {Support.LIGHT_TOUCH}
    assert story.allowed(28, "handspring") == "light-touch"
    assert story.allowed(29, "handspring") == "light-touch"


def test_lately_asks_for_the_same_on_every_surface_then_and_tomorrow():
    story = unspotted_walkover().did(35, "back-walkover", "1", support=1)
    story.did(35, "back-walkover", "1111", support=0)
    story.did(42, "back-walkover", "00000", support=0)
    for number in (42, 43):
        assert story.allowed(number, "back-walkover", MAT) == "standing-by"
        # Light touch is asked for here anyway, and one more on a floor that is new.
        assert story.allowed(number, "back-walkover", HARD) == "hands-on"


def back_to_unspotted() -> Story:
    """A stop sign, the way back with three clean turns a class, and the coach's tap."""
    story = unspotted_walkover().did(35, "back-walkover", "0", support=1, faults=STOP)
    for number, support in ((38, 3), (41, 2), (44, 1)):
        story.did(number, "back-walkover", "111", support=support)
    return story.happened(44, "step", drill="back-walkover", support=0)


def test_one_miss_after_the_way_back_is_no_fall():
    story = back_to_unspotted()
    assert story.state(45, "4") == "open"
    story.did(45, "back-walkover", "0", support=1)
    assert story.causes(45, "4") == []


def test_a_stage_that_is_signed_again_is_watched_again():
    story = unspotted_walkover().did(35, "back-walkover", "1110", support=1)
    assert story.causes(36, "4") == []
    story.happened(36, "send-back", stage="4", director=True)
    for number in (37, 38, 39):
        story.did(number, "back-walkover", "11111", support=1)
    story.happened(39, "sign", stage="4", surface=MAT, director=True)
    watched = story.read(41).state.drills["back-walkover"].watched_from
    assert watched["4.back-walkover"] == day(40)


# --- drills beside a skill -----------------------------------------------------------


def test_the_skill_in_a_dance_is_held_after_a_stop_sign_at_the_skill():
    story = unspotted_walkover().did(35, "back-walkover", "1", support=1)
    assert story.allowed(35, "walkover-in-dance") == "hands-on"
    story.did(35, "back-walkover", "0", support=0, faults=STOP)
    assert story.allowed(35, "back-walkover") == "hands-on"
    assert story.allowed(35, "walkover-in-dance") == "hands-on"
    story.did(35, "back-walkover", "0", support=3, faults=STOP)
    assert story.allowed(35, "back-walkover") is None
    assert story.allowed(35, "walkover-in-dance") is None


def test_a_steady_walkover_in_a_dance_falls_with_the_walkover():
    story = unspotted_walkover()
    for number in (29, 30, 31):
        story.did(number, "back-walkover", "1", support=1)
        story.did(number, "walkover-in-dance", "11111")
    story.did(32, "walkover-in-dance", "1111")
    story.happened(32, "step", drill="walkover-in-dance", support=1)
    assert story.allowed(33, "walkover-in-dance") == "standing-by"
    story.did(33, "back-walkover", "0", support=1, faults=STOP)
    assert story.allowed(33, "walkover-in-dance") == "hands-on"
    assert story.allowed(34, "walkover-in-dance") == "hands-on"


def test_a_mending_drill_stays_when_the_skill_is_finished_for_tonight():
    story = with_stage(6).did(7, "handspring", "00", faults=("turns-in-air",))
    assert story.allowed(7, "handspring") is None
    # The hands-down line, held, mends just this.
    assert story.allowed(7, "block-line-held") == "hands-on"


@pytest.mark.parametrize(
    ("ladder", "support"), [(LADDER, None), (EARLIER, Support.UNSPOTTED)], ids=["now", "earlier"]
)
def test_a_stop_sign_where_support_is_not_logged_ends_the_drill_for_the_evening(ladder, support):
    story = Story(ladder).did(0, "safe-fall", "111")
    story.did(1, "sit-fall", "00", support=0, faults=("reaches-behind",))
    evidence, state = evidence_of(story), story.read(1).state
    sit_fall = ladder.drills["sit-fall"]
    now = allowed_now(sit_fall, state, evidence, ladder, MAT, story.turns)
    assert (now.support, now.falls) == (support, ())
    assert story.read(2).state.way_back("sit-fall") is None
    assert allowed_now(sit_fall, story.read(2).state, evidence, ladder, MAT).support == 0


# --- the way back of what is held or counted -----------------------------------------


def test_a_hold_finds_its_way_back_by_turns_without_a_stop_sign():
    story = with_stage(2).did(0, "free-handstand", [3], support=0)
    story.turns[-1] = story.turns[-1]._replace(caught=True)
    assert story.allowed(0, "free-handstand") == "hands-on"
    supports = []
    for number in (7, 14, 21):
        supports.append(story.allowed(number, "free-handstand"))
        held = ["unspotted", "standing-by", "light-touch", "hands-on"].index(supports[-1])
        story.did(number, "free-handstand", [2, 5, 3], support=held)
    assert supports == ["hands-on", "light-touch", "standing-by"]
    assert story.allowed(22, "free-handstand") == "unspotted"


def test_two_holds_are_not_enough_for_a_step():
    story = with_stage(2).did(0, "free-handstand", [3], support=0)
    story.turns[-1] = story.turns[-1]._replace(caught=True)
    assert story.did(7, "free-handstand", [9, 9]).allowed(8, "free-handstand") == "hands-on"


def test_clean_turns_of_the_last_step_are_counted_on_the_signed_surface():
    story = unspotted_walkover().did(35, "back-walkover", "0", support=1, faults=STOP)
    story.did(38, "back-walkover", "111").did(41, "back-walkover", "111", support=2)
    for number in (38, 41):
        (back,) = [each for each in story.read(number).ways_back if each.drill == "back-walkover"]
        assert (back.clean, back.ready, back.tapped) == (3, True, False)
        assert story.read(number).taps == ()
    story.did(44, "back-walkover", "111", support=1, surface="wedge")
    (back,) = [each for each in story.read(44).ways_back if each.drill == "back-walkover"]
    assert (back.level, back.clean, back.tapped) == (Support.STANDING_BY, 0, True)
    assert story.read(44).taps == ()
    story.did(47, "back-walkover", "111", support=1)
    (back,) = [each for each in story.read(47).ways_back if each.drill == "back-walkover"]
    assert back.clean == 3
    assert [(tap.drill, tap.support, tap.again) for tap in story.read(47).taps] == [
        ("back-walkover", Support.UNSPOTTED, True)
    ]


def test_no_step_is_ready_on_the_day_of_a_stop_sign():
    story = unspotted_walkover().did(35, "back-walkover", "0", support=1, faults=STOP)
    story.did(38, "back-walkover", "1" * 14)
    assert [back.ready for back in story.read(38).ways_back] == [True]
    # One miss in fifteen is few enough, but for what it was.
    story.did(38, "back-walkover", "0", faults=STOP)
    assert [back.ready for back in story.read(38).ways_back] == [False]


def test_a_stop_sign_is_not_forgotten_while_the_stage_is_closed():
    story = unspotted_walkover()
    for number in (29, 30, 31):
        story.did(number, "back-walkover", "1", support=1)
        story.did(number, "walkover-in-dance", "1111")
    story.did(32, "walkover-in-dance", "0", support=1, faults=STOP)
    story.happened(32, "send-back", stage="4", director=True)
    # Done though it was closed: kept, but no step of the way back.
    story.did(33, "walkover-in-dance", "1111")
    story.did(33, "back-walkover", "111", support=1)
    story.happened(33, "sign", stage="4", surface=MAT, director=True)
    assert story.allowed(34, "walkover-in-dance") == "hands-on"


@pytest.mark.parametrize(("away", "directors"), [(56, False), (57, True)])
def test_after_more_than_eight_weeks_away_the_last_step_is_the_directors(away, directors):
    story = unspotted_walkover().did(35, "back-walkover", "111", support=1)
    for at, support in enumerate((3, 2, 1)):
        story.did(35 + away + at, "back-walkover", "111", support=support)
    (tap,) = story.read(35 + away + 2).taps
    assert (tap.support, tap.director) == (Support.UNSPOTTED, directors)


# --- signing -------------------------------------------------------------------------


def stage_nine_signed(with_record: bool) -> Story:
    """Stage 8 signed with all its gates met; then stage 9, with or without its record."""
    story = standing_by_handspring()
    story.did(22, "snap-down", "1111", support=0)
    for number in (23, 26, 29, 32):
        story.did(number, "handspring", "111", support=1)
        story.did(number, "handspring", "111", support=1, author=2)
        story.did(number, "snap-down", "111", support=0).did(number, "rebound", "111", support=0)
        story.did(number, "block-line-held", [3, 3])
    story.happened(32, "sign", stage="8", surface=MAT, director=True)
    if with_record:
        for number in (35, 38, 41, 44):
            story.did(number, "handspring", "1", support=1)
            story.did(number, "handspring", "1111", support=0)
            story.did(number, "rebound", "111", support=0)
    return story.happened(44, "sign", stage="9", surface=MAT, director=True)


def test_a_signed_stage_that_starts_hands_on_is_open_hands_on():
    story = stage_nine_signed(with_record=True)
    assert story.state(45, "9") == "open"
    assert story.allowed(45, "two-handsprings") == "hands-on"


def test_signed_on_evidence_that_changed_it_comes_back_by_turns_with_hands_on():
    story = stage_nine_signed(with_record=False)
    assert story.causes(45, "9") == ["evidence-changed"]
    assert story.read(45).state.way_back("two-handsprings").level == Support.HANDS_ON
    story.did(45, "two-handsprings", "111")
    assert story.read(46).state.way_back("two-handsprings") is None


def test_a_need_that_falls_on_the_day_of_the_signature_sends_to_recheck():
    story = stage_nine_signed(with_record=True)
    story.did(44, "handspring", "0" * 8, support=0, author=9, graded=False)
    story.did(44, "handspring", "0", support=0, author=9, graded=False, faults=("hands-wide-out",))
    assert "evidence-changed" in story.causes(45, "9")


def test_a_stage_is_not_for_review_once_a_stage_before_it_fell_today():
    story = stage_nine_signed(with_record=True)
    story.events.pop()
    assert story.state(44, "9") == "for-review"
    # Steady over many days by the long memory, not by the short one.
    story.did(45, "handspring", "1", support=1).did(45, "handspring", "0" * 9, support=0)
    reading = story.read(45)
    assert reading.stage("8").state == "re-check"
    assert "8" in reading.stage("9").waits_for
    assert reading.stage("9").state == "closed"


def test_a_stage_that_is_open_without_a_signature_gives_nothing_unspotted():
    content = copy.deepcopy(CONTENT)
    stage = next(stage for stage in content["stage"] if stage["number"] == 4)
    stage.update(sign_off=False, gate=[])
    story = Story(Ladder.from_content(content)).happened(-2, "place", stage="3", surface=MAT)
    assert story.read(1).stage("4").opening.how == "evidence"
    story.did(1, "back-walkover", "111")
    assert story.read(2).state.way_back("back-walkover") is None
    for surface in LADDER.surfaces:
        assert story.allowed(2, "back-walkover", surface) == "hands-on"


def test_a_signature_for_an_easier_surface_takes_nothing_away():
    story = unspotted_walkover().happened(29, "sign", stage="4", surface="wedge", director=True)
    opened = story.read(30).stage("4")
    assert (opened.opening.since, opened.surface) == (day(29), MAT)
    assert (
        story.did(30, "back-walkover", "1", support=1).allowed(30, "back-walkover") == "unspotted"
    )


def test_a_signature_for_a_harder_surface_counts_from_the_next_day():
    story = unspotted_walkover()
    for number in (29, 30, 31, 32):
        for author in (1, 2):
            story.did(number, "back-walkover", "111", support=1, author=author, surface=HARD)
    story.happened(32, "sign", stage="4", surface=HARD, director=True)
    assert story.allowed(32, "back-walkover", HARD) == "light-touch"
    assert story.read(33).stage("4").surface == HARD
    story.did(33, "back-walkover", "1", support=1, surface=HARD)
    assert story.allowed(33, "back-walkover", HARD) == "unspotted"


def test_an_exception_that_was_not_written_is_none_at_the_signature():
    content = copy.deepcopy(CONTENT)
    stage = next(stage for stage in content["stage"] if stage["number"] == 6)
    stage.update(sign_off=True, gate=[])
    ladder = Ladder.from_content(content)
    story = Story(ladder).happened(-1, "place", stage="5", surface=MAT)
    story.happened(0, "sign", stage="6", surface=MAT, director=True)
    assert story.causes(1, "6") == ["evidence-changed"]
    written = Story(ladder).happened(-1, "place", stage="5", surface=MAT)
    written.happened(0, "exception", stage="6", director=True)
    written.happened(0, "sign", stage="6", surface=MAT, director=True)
    assert written.state(1, "6") == "open"


# --- the climb -----------------------------------------------------------------------


def test_a_gate_that_only_a_turn_that_is_not_allowed_could_meet_stops_the_climb():
    content = copy.deepcopy(CONTENT)
    nine = next(stage for stage in content["stage"] if stage["number"] == 9)
    # The first turn of each day at an open stage 8 is standing by, for everybody.
    first = {"kind": "first-turn", "drill": "handspring", "support": "unspotted", "within": 28}
    nine["gate"] = [*nine["gate"], {"code": "9.first-turn", **first}]
    assert climb(Ladder.from_content(content)).stuck[0] == "9"


def test_the_reading_of_a_day_does_not_depend_on_what_comes_after():
    story = unspotted_walkover()
    before = story.read(20)
    later = story.did(50, "back-walkover", "000", support=0, faults=STOP)
    today = [turn for turn in later.turns if turn.day == day(20)]
    again = read_child(evidence_of(later), later.events, today, day(20), lambda _: LADDER)
    assert again == before


# --- a re-check with no less support to give -------------------------------------------


def test_a_re_check_at_the_support_of_the_stage_still_has_its_way_back():
    story = with_stage(3).did(7, "back-walkover", "0", faults=STOP)
    (back,) = story.read(8).ways_back
    assert (back.drill, back.level, back.goal) == ("back-walkover", back.goal, Support.HANDS_ON)
    assert (back.clean, back.ready, back.tapped, back.causes) == (
        0, False, False, ("placed", "stop-sign"),
    )  # fmt: skip
    story.did(14, "back-walkover", "111")
    assert [back.ready for back in story.read(14).ways_back] == [True]
    assert story.state(15, "3") == "open"
    assert story.read(15).ways_back == ()


def test_a_placing_that_asks_for_no_more_than_the_stage_has_no_way_back_to_show():
    assert with_stage(3).read(1).ways_back == ()


def test_no_new_step_is_given_while_the_way_back_asks_for_more():
    story = with_stage(3)
    for number in (0, 7, 14, 21, 28):
        story.did(number, "back-walkover", "1111", support=2)
    given = [("back-walkover", Support.STANDING_BY, False)]
    assert [(tap.drill, tap.support, tap.again) for tap in story.read(28).taps] == given
    story.did(30, "back-walkover", "0", support=2, faults=STOP)
    assert story.read(31).taps == ()
    story.did(35, "back-walkover", "111")
    # No tap while a stop sign is among the newest turns.
    assert story.read(36).taps == ()
    for number in (42, 49, 56):
        story.did(number, "back-walkover", "1111", support=2)
    assert [(tap.drill, tap.support, tap.again) for tap in story.read(56).taps] == given
