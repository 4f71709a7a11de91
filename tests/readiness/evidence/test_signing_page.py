"""What the evidence page says beside a signature: turns since the last stop sign, what has changed
since the recommendation, what was done today; and signatures on gates that are no longer in force.
"""

import datetime
import random
import re

import pytest
import time_machine

from progression.models import Attempt, Strike
from readiness.models import Decision, PauseLift, Placing
from readiness.record.intake import take_lines
from tests.support.cast import TODAY, time_ordered_id
from tests.support.deciding import LATER
from tests.support.pages import decide, evidence, field, filled, get, recommended, text_of
from tests.support.ready import MAT, place_at

pytestmark = pytest.mark.usefixtures("_later")


def child_page(client, who, child):
    return get(client, who, f"/children/{child.uuid}").content.decode()


def post(client, who, child, verb, html, **more):
    client.force_login(who)
    return client.post(f"/children/{child.uuid}/{verb}", filled(html, verb, **more))


# --- since the last stop sign ------------------------------------------------------------


def test_turns_since_the_last_stop_sign_are_told_at_this_support_and_at_any(cast, client, mai, log):
    day = TODAY - datetime.timedelta(days=8)
    log(mai, "back-walkover", "0", day=day, support=1, surface=MAT, faults=("arms-give",))
    log(mai, "back-walkover", "111", support=3, surface=MAT)
    words = text_of(evidence(client, cast.petra, mai))
    said = re.search(r"(\d+) turns at standing by or less, (\d+) at any support", words)
    later = [turn for turn in Attempt.objects.filter(drill__key="back-walkover") if turn.day > day]
    told = [int(number) for number in said.groups()]
    assert told == [sum(turn.support <= 1 for turn in later), len(later)] == [10, 13]


# --- another ladder ----------------------------------------------------------------------


def test_a_signature_on_the_gates_of_an_older_version_is_refused(cast, client, mai, new_gates):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.petra, mai).content.decode()
    new_gates(certainty=0.81)
    answer = decide(client, cast.petra, mai, "sign", html=html, surface=MAT)
    assert answer.status_code == 409
    assert "The gates have changed since this page was drawn: ladder 2" in text_of(answer)
    assert not Decision.objects.filter(kind=Decision.Kind.SIGN).exists()
    # The page that was drawn again carries the version in force.
    again = answer.content.decode()
    assert decide(client, cast.petra, mai, "sign", html=again, surface=MAT).status_code == 302
    assert Decision.objects.get(kind=Decision.Kind.SIGN).ladder.number == 2


def test_a_recommendation_on_the_gates_of_an_older_version_is_refused(cast, client, mai, new_gates):
    html = evidence(client, cast.petra, mai).content.decode()
    new_gates(certainty=0.81)
    answer = decide(client, cast.petra, mai, "recommend", html=html, surface=MAT)
    assert answer.status_code == 409
    assert "The gates have changed since this page was drawn" in text_of(answer)
    assert not Decision.objects.exists()


def test_so_is_a_sending_back(cast, client, mai, new_gates):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.petra, mai).content.decode()
    new_gates(certainty=0.81)
    answer = decide(client, cast.petra, mai, "send-back", html=html, reason="not yet")
    assert answer.status_code == 409
    assert "The gates have changed since this page was drawn" in text_of(answer)
    assert Decision.objects.count() == 1


def test_so_is_an_exception(cast, client, mai, new_gates):
    place_at(cast, mai, 5, TODAY - datetime.timedelta(weeks=8))
    html = evidence(client, cast.petra, mai, stage="6").content.decode()
    new_gates(certainty=0.81)
    answer = decide(client, cast.petra, mai, "exception", html=html, stage="6", reason="strong")
    assert answer.status_code == 409
    assert "The gates have changed since this page was drawn" in text_of(answer)
    assert not Decision.objects.exists()


def test_so_is_a_placing_on_the_child_s_page(cast, client, mai, new_gates):
    html = child_page(client, cast.petra, mai)
    new_gates(certainty=0.81)
    placed = Placing.objects.count()
    answer = post(client, cast.petra, mai, "place", html, stage=5, surface=MAT, reason="seen")
    assert answer.status_code == 409
    assert "The gates have changed since this page was drawn" in text_of(answer)
    assert Placing.objects.count() == placed


def test_a_pause_is_not_held_up_by_another_version_and_its_lift_is(cast, client, mai, new_gates):
    html = child_page(client, cast.petra, mai)
    new_gates(certainty=0.81)
    assert post(client, cast.omar, mai, "pause", html, reason="Fever").status_code == 302
    html = child_page(client, cast.petra, mai)
    new_gates(certainty=0.82)
    assert post(client, cast.petra, mai, "lift", html, reason="well").status_code == 409
    assert not PauseLift.objects.exists()


def test_a_form_of_no_version_decides_nothing(cast, client, mai):
    recommended(client, cast.omar, mai)
    answer = decide(client, cast.petra, mai, "sign", surface=MAT, ladder="")
    assert answer.status_code == 422
    assert "This form was not complete. Nothing was decided." in text_of(answer)
    assert not Decision.objects.filter(kind=Decision.Kind.SIGN).exists()


# --- what has changed since the recommendation -------------------------------------------


def turn_line(child, at, count, **about):
    at = at - datetime.timedelta(minutes=30) + datetime.timedelta(seconds=count)
    about = {"drill": "back-walkover", "surface": MAT, "support": 1} | about
    return {
        "kind": "turn", "id": str(time_ordered_id(at, count)), "at": at.isoformat(),
        "child": str(child.uuid), **about,
    }  # fmt: skip


def come_in(cast, lines, at):
    take_lines(cast.meeting, cast.omar, "tablet", at, lines, 1, at)


def since_then(client, who, child):
    words = text_of(evidence(client, who, child))
    return words.partition("Since then: ")[2].partition(" History ")[0]


AFTER = LATER + datetime.timedelta(hours=1)


def test_with_nothing_new_it_says_so(cast, client, mai):
    recommended(client, cast.omar, mai)
    said = since_then(client, cast.petra, mai)
    assert said.startswith("Nothing has changed: no turn at these drills, and no gate.")


def test_turns_misses_and_stop_signs_since_are_listed(cast, client, mai):
    recommended(client, cast.omar, mai)
    lines = [
        turn_line(mai, AFTER, 1, clean=True),
        turn_line(mai, AFTER, 2, clean=False),
        turn_line(mai, AFTER, 3, clean=False, faults=["arms-give"]),
    ]
    come_in(cast, lines, AFTER)
    said = since_then(client, cast.petra, mai)
    assert said.startswith("Back walkover: 3 turns, 2 not clean, 1 stop sign.")


def test_a_turn_that_the_spotter_caught_is_told_among_the_faults(cast, client, mai):
    come_in(cast, [turn_line(mai, AFTER, 1, clean=False, caught=True)], AFTER)
    words = text_of(evidence(client, cast.petra, mai))
    assert "Back walkover Stop sign: caught by the spotter (once, on 4 Mar)." in words
    # The days stand below the decision.
    assert words.index("History") < words.index("4 Mar 2026 stop sign")


def test_turns_that_were_all_clean_are_said_to_be(cast, client, mai):
    recommended(client, cast.omar, mai)
    come_in(cast, [turn_line(mai, AFTER, at, clean=True) for at in range(2)], AFTER)
    assert since_then(client, cast.petra, mai).startswith("Back walkover: 2 turns, all clean.")


def test_turns_at_either_drill_of_a_gate_are_listed(cast, client, mai, new_gates):
    new_gates("4.bridge-line", or_drill="sit-depth")
    recommended(client, cast.omar, mai)
    come_in(cast, [turn_line(mai, AFTER, 1, drill="sit-depth", support=0, value=2)], AFTER)
    assert since_then(client, cast.petra, mai).startswith("The sit, hands held: 1 turn.")


def test_a_gate_that_was_met_and_is_not_now_is_listed(cast, client, mai):
    recommended(client, cast.omar, mai)
    come_in(cast, [turn_line(mai, AFTER, at, clean=False) for at in range(5)], AFTER)
    said = since_then(client, cast.petra, mai)
    assert "Met then, not now: Back walkover: steady at standing by or less." in said


def test_a_changed_gate_is_listed_with_its_values(cast, client, mai, new_gates):
    recommended(client, cast.omar, mai)
    new_gates(certainty=0.81)
    said = since_then(client, cast.petra, mai)
    assert "Changed gate: Back walkover: steady at standing by or less (sure 80 % → 81 %)." in said


@pytest.mark.parametrize("seed", range(6))
def test_what_is_said_to_have_changed_is_what_the_log_holds(cast, client, mai, seed):
    """Counted again from the log by other code than the page's."""
    recommended(client, cast.omar, mai)
    draw = random.Random(seed)
    old = list(Attempt.objects.filter(drill__key="back-walkover"))
    lines = []
    for at in range(draw.randint(1, 9)):
        # One stop sign at any support, one fault that is none.
        faults = draw.choice([[], [], ["half-hearted"], ["low-back-only"]])
        clean = not faults and draw.random() < 0.6
        lines.append(turn_line(mai, AFTER, at, clean=clean, faults=faults))
    struck = [lines[0]["id"], *(str(turn.pk) for turn in draw.sample(old, draw.randint(0, 2)))]
    lines += [
        {"kind": "strike", "id": str(time_ordered_id(AFTER, 100 + at)), "code": "other",
         "at": AFTER.isoformat(), "turn": turn}
        for at, turn in enumerate(struck)
    ]  # fmt: skip
    come_in(cast, lines, AFTER)
    said = since_then(client, cast.petra, mai)
    gone = set(Strike.objects.values_list("attempt_id", flat=True))
    new = [turn for turn in Attempt.objects.filter(received_at=AFTER) if turn.pk not in gone]
    expected = [
        (len(new), "turn"),
        ("all" if new and all(turn.clean for turn in new) else 0, "clean"),
        (sum(not turn.clean for turn in new), "not clean"),
        (sum(turn.faults == ["half-hearted"] for turn in new), "stop sign"),
        (sum(turn.pk in gone for turn in old), "older turn"),
    ]
    told = re.search(r"Back walkover: (\d.*?)\.", said)
    parts = told.group(1).split(", ") if told else []
    for (number, words), part in zip([each for each in expected if each[0]], parts, strict=True):
        assert re.fullmatch(rf"{number} {words}s?( taken back)?", part)


# --- what the signer saw ---------------------------------------------------------------


def seen_on(client, who, child):
    return field(evidence(client, who, child).content.decode(), "sign/4", "seen_on")


def test_a_signer_says_on_which_day_they_saw_it(cast, client, mai):
    recommended(client, cast.omar, mai)
    assert seen_on(client, cast.petra, mai) == ""
    answer = decide(client, cast.petra, mai, "sign", surface=MAT, seen_on="")
    assert (answer.status_code, Decision.objects.count()) == (422, 1)
    assert "Say on which day you saw it yourself." in text_of(answer)
    old = TODAY - datetime.timedelta(days=29)
    answer = decide(client, cast.petra, mai, "sign", surface=MAT, seen_on=old)
    assert (answer.status_code, Decision.objects.count()) == (422, 1)
    assert "Whoever signs saw it, today or in the last 28 days." in text_of(answer)
    day = TODAY - datetime.timedelta(days=28)
    assert decide(client, cast.petra, mai, "sign", surface=MAT, seen_on=day).status_code == 302
    words = text_of(evidence(client, cast.omar, mai))
    assert "Petra, 4 Mar 2026, 20:00, under ladder 1, who saw it on 4 Feb 2026" in words


def test_the_day_is_there_for_those_who_graded_it(cast, client, mai, log):
    recommended(client, cast.omar, mai)
    for back in (29, 27, 28):
        day = TODAY - datetime.timedelta(days=back)
        log(mai, "back-walkover", "1", day=day, support=1, surface=MAT, by=cast.petra)
    assert seen_on(client, cast.petra, mai) == "2026-02-05"
    assert seen_on(client, cast.luis, mai) == ""


# --- what was done today, and from when --------------------------------------------------


def test_after_a_signature_both_pages_say_what_was_done_and_from_when(cast, client, mai):
    recommended(client, cast.omar, mai)
    assert decide(client, cast.petra, mai, "sign", surface=MAT).status_code == 302
    said = (
        "Signed: Back walkover, unspotted, on Mat on sprung dance floor and easier "
        "(Petra, today 20:00). It counts from tomorrow, 5 Mar."
    )
    for page in (evidence(client, cast.omar, mai), get(client, cast.omar, f"/children/{mai.uuid}")):
        assert said in text_of(page)
    with time_machine.travel(LATER + datetime.timedelta(days=1), tick=False):
        assert "It counts from tomorrow" not in text_of(evidence(client, cast.omar, mai))


def test_after_closing_a_signature_of_today_counts_no_more(cast, client, mai):
    recommended(client, cast.omar, mai)
    decide(client, cast.petra, mai, "sign", surface=MAT)
    with time_machine.travel(LATER + datetime.timedelta(minutes=5), tick=False):
        assert "/send-back/4" not in evidence(client, cast.luis, mai).content.decode()
        assert decide(client, cast.luis, mai, "close", reason="not yet").status_code == 302
        words = text_of(evidence(client, cast.omar, mai))
    assert "Closed: Back walkover, unspotted (Luis, today 20:05). It is closed from now" in words
    assert "It counts from tomorrow" not in words


NOW_FOR_REVIEW = "Now: for review. From tomorrow, 5 Mar, if nothing more comes in: "


def decided_now(client, who, child):
    words = text_of(evidence(client, who, child))
    return words.partition(" Decision ")[2].partition("History")[0]


def test_the_page_says_what_is_true_now_and_from_when(cast, client, mai, log):
    recommended(client, cast.omar, mai)
    assert "Now:" not in decided_now(client, cast.omar, mai)
    decide(client, cast.petra, mai, "sign", surface=MAT)
    opens = NOW_FOR_REVIEW + "open, on Mat on sprung dance floor and easier."
    assert opens in decided_now(client, cast.omar, mai)
    # A stop sign later that evening.
    log(mai, "back-walkover", "0", support=1, surface=MAT, faults=("arms-give",))
    words = decided_now(client, cast.omar, mai)
    assert "From tomorrow, 5 Mar, if nothing more comes in: re-check." in words
    with time_machine.travel(LATER + datetime.timedelta(minutes=5), tick=False):
        decide(client, cast.luis, mai, "close", reason="not after that")
        words = decided_now(client, cast.omar, mai)
    assert "Now: closed. From tomorrow, 5 Mar, if nothing more comes in: closed." in words
    with time_machine.travel(LATER + datetime.timedelta(days=1), tick=False):
        assert "Now:" not in decided_now(client, cast.omar, mai)


def test_a_signature_of_a_child_who_is_paused_that_evening_says_so(cast, client, mai):
    recommended(client, cast.omar, mai)
    decide(client, cast.petra, mai, "sign", surface=MAT)
    html = child_page(client, cast.omar, mai)
    assert post(client, cast.omar, mai, "pause", html, reason="a knock").status_code == 302
    page = evidence(client, cast.omar, mai)
    assert "As long as the pause lasts it changes nothing." in text_of(page)
    assert "Now: paused." in text_of(page)
    assert "if nothing more comes in: paused." in text_of(page)


def test_after_placing_pausing_and_lifting_the_child_s_page_says_so(cast, client):
    ilse = cast.ilse
    html = child_page(client, cast.petra, ilse)
    post(client, cast.petra, ilse, "place", html, stage=5, surface=MAT, reason="seen")
    words = text_of(get(client, cast.petra, f"/children/{ilse.uuid}"))
    assert "on Mat on sprung dance floor (Petra, today 20:00). Open from tomorrow, 5 Mar" in words
    post(client, cast.petra, ilse, "pause", child_page(client, cast.petra, ilse), reason="Fever")
    words = text_of(get(client, cast.petra, f"/children/{ilse.uuid}"))
    assert "Paused (Petra, today 20:00). It counts from now on, until a director lifts it." in words
    with time_machine.travel(LATER + datetime.timedelta(minutes=5), tick=False):
        post(client, cast.petra, ilse, "lift", child_page(client, cast.petra, ilse), reason="well")
        words = text_of(get(client, cast.petra, f"/children/{ilse.uuid}"))
    assert "Since 4 Mar: nobody may tumble Ilse. Petra lifted it today: it ends tomorrow." in words
    assert words.count("Petra lifted it today") == 1
    assert "Pause lifted (" not in words
