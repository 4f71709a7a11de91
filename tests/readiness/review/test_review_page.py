"""The review, a class at a glance, and the evidence page with the forms that decide."""

import datetime
import re
import uuid

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt, LineAside
from readiness.models import Decision, Standing
from readiness.record.intake import take_lines
from readiness.record.standings import digest_of, read
from readiness.review import rows
from studio.models import SpentToken
from tests.support.cast import NOW, TODAY, make_child, make_staff, time_ordered_id
from tests.support.deciding import at_once
from tests.support.pages import decide, evidence, filled, get, recommended, text_of
from tests.support.ready import MAT, place_at, ready_to_be_signed

LATER = NOW + datetime.timedelta(hours=2)


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(LATER, tick=False):
        yield


@pytest.fixture
def mai(cast, log):
    ready_to_be_signed(cast, log)
    return cast.mai


# --- the review ------------------------------------------------------------------------


def test_it_begins_with_what_needs_a_decision(cast, client, mai):
    assert "One child waits for a recommendation." in text_of(get(client, cast.petra, "/review"))
    recommended(client, cast.omar, mai)
    assert "One child waits for you." in text_of(get(client, cast.petra, "/review"))
    assert "Nothing waits for you." in text_of(get(client, cast.omar, "/review"))


def test_with_nothing_to_decide_it_says_so(cast, client):
    assert "Nothing waits for you." in text_of(get(client, cast.petra, "/review"))


def test_a_row_says_stage_state_score_and_what_holds_the_child(cast, client, mai, log):
    log(cast.ilse, "hollow-hold", [12.0], support=0)
    words = text_of(get(client, cast.petra, "/review"))
    assert "Mai Blue Back walkover, unspotted for review score 100 All 5 gates met" in words
    assert "Ilse Blue" in words
    assert "closed score" in words


def test_a_coach_sees_the_children_of_the_own_classes_and_a_director_of_the_own_halls(cast, client):
    words = text_of(get(client, cast.omar, "/review"))
    assert "Mai" in words
    assert "Ilse" in words
    assert "Rosa" not in words
    assert "Rosa" in text_of(get(client, cast.petra, "/review"))
    assert "Mai" not in text_of(get(client, cast.dora, "/review"))
    assert get(client, cast.tam, "/review").status_code == 403


def test_it_can_be_narrowed_to_a_class_and_a_state(cast, client, mai):
    words = text_of(get(client, cast.petra, f"/review?class={cast.red.uuid}"))
    assert "Rosa" in words
    assert "Mai" not in words
    words = text_of(get(client, cast.petra, "/review?state=for-review"))
    assert "Mai" in words
    assert "Rosa" not in words
    assert "No child fits." in text_of(get(client, cast.petra, "/review?state=paused"))


def test_a_child_who_went_back_this_week_is_told_with_the_cause(cast, client, mai, log):
    log(mai, "back-walkover", "0", support=1, surface=MAT, faults=("arms-give",))
    words = text_of(get(client, cast.petra, "/review"))
    assert "One went back to more support this week." in words
    assert "re-check" in words
    assert "A stop sign on 4 Mar. Hands-on now; the way back begins on the next class day" in words
    assert "Elbows fold, head sinks toward the floor" in words


def test_the_week_s_stop_signs_are_told_whatever_state_is_asked_for(cast, client, mai, log):
    log(mai, "back-walkover", "0", support=1, surface=MAT, faults=("arms-give",))
    words = text_of(get(client, cast.petra, "/review?state=paused"))
    assert "No child fits." in words
    assert "Elbows fold, head sinks toward the floor" in words
    words = text_of(get(client, cast.petra, f"/review?class={cast.red.uuid}"))
    assert "Elbows fold, head sinks toward the floor" not in words


def test_no_stop_sign_of_the_week_is_left_out_of_a_long_list(cast, client, log):
    names = [f"Kid{number:02}" for number in range(35)]
    for name in names:
        child = make_child(f"{name} Long", cast.blue)
        log(child, "kick-to-handstand", "0", support=0, faults=("head-touches",))
    words = text_of(get(client, cast.petra, "/review"))
    week = words[words.index("Stop signs") :]
    assert [name for name in names if name not in week] == []


def test_a_turn_with_less_support_than_allowed_is_told(cast, client, log):
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=4))
    log(cast.mai, "back-walkover", "11", support=0, surface=MAT)
    words = text_of(get(client, cast.petra, "/review"))
    assert "Mai Back walkover, unspotted × 2 Omar, Wed 4 Mar less support than allowed" in words


def test_a_tablet_whose_clock_is_off_is_no_matter_for_the_director(cast, client):
    line = {
        "kind": "turn",
        "id": str(time_ordered_id(NOW)),
        "at": (NOW + datetime.timedelta(days=2)).isoformat(),
        "child": str(cast.mai.uuid),
        "drill": "log-roll",
        "surface": MAT,
        "support": 0,
        "clean": True,
    }
    take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
    assert Attempt.objects.get().flags == ["clock"]
    words = text_of(get(client, cast.petra, "/review"))
    assert "No turn was logged with less support than allowed." in words


def test_a_pause_says_why(cast, client):
    line = {
        "kind": "hurt",
        "id": str(time_ordered_id(NOW)),
        "at": NOW.isoformat(),
        "child": str(cast.mai.uuid),
        "place": "head",
    }
    take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
    words = text_of(get(client, cast.petra, "/review"))
    assert (
        "paused score – Paused since 4 Mar, until a director lifts it Something hurt: Head" in words
    )
    assert "One is paused." in words
    assert "Something hurt: Head" in text_of(get(client, cast.petra, f"/children/{cast.mai.uuid}"))


def test_a_child_long_without_a_turn_is_told(cast, client, log):
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=8))
    day = TODAY - datetime.timedelta(days=29)
    log(cast.mai, "back-walkover", "111", day=day, support=3, surface=MAT)
    words = text_of(get(client, cast.petra, "/review"))
    assert "On 4 Mar it had been more than 28 days without a turn." in words
    assert "Long without a turn Mai" in words


def test_lines_set_aside_are_counted_for_those_whose_meeting_it_was(cast, client):
    line = {"kind": "dance", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
    assert LineAside.objects.count() == 1
    assert "1 line from a tablet could not be taken" in text_of(get(client, cast.petra, "/review"))
    assert "could not be taken" not in text_of(get(client, cast.dora, "/review"))


# Every page asks who is signed in, and what the studio is called.
FRAME = 3
MOST_QUERIES = 8


@pytest.mark.parametrize("address", ["/", "/review", "/classes/{blue}", "/gates", "/tablets"])
def test_a_list_asks_as_often_for_two_children_as_for_two_hundred(cast, client, mai, log, address):
    address = address.format(blue=cast.blue.uuid)
    client.force_login(cast.petra)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert client.get(address).status_code == 200
        return len(captured)

    queries()
    few = queries()
    rows.KEPT.clear()
    few_with_no_row_kept = queries()
    for number in range(200):
        child = make_child(f"Child{number} Test", cast.blue)
        if number % 10 == 0:
            log(child, "hollow-hold", [20.0], support=0)
            log(child, "back-walkover", "10", support=0, faults=("half-hearted",))
    queries()
    assert queries() == few
    rows.KEPT.clear()
    assert queries() == few_with_no_row_kept
    assert few <= few_with_no_row_kept <= MOST_QUERIES + FRAME


def test_reading_anew_takes_as_many_queries_for_two_children_as_for_twenty(cast, client, mai, log):
    client.force_login(cast.petra)

    def queries():
        Standing.objects.update(stale=True)
        with CaptureQueriesContext(connection) as captured:
            assert client.get("/review").status_code == 200
        return len(captured)

    queries()
    few = queries()
    for number in range(18):
        child = make_child(f"Child{number} Test", cast.blue)
        log(child, "hollow-hold", [20.0], support=0)
    queries()
    assert queries() == few


# --- a class ---------------------------------------------------------------------------


def test_a_class_lists_its_children_with_the_next_stage(cast, client, mai):
    words = text_of(get(client, cast.omar, f"/classes/{cast.blue.uuid}"))
    assert re.search(r"Ilse .*Mai Back walkover, unspotted for review", words)
    assert "Rosa" not in words


def test_a_class_is_for_its_coaches_and_directors(cast, client):
    address = f"/classes/{cast.blue.uuid}"
    assert get(client, cast.tam, address).status_code == 403
    assert get(client, cast.ines, address).status_code == 404
    assert get(client, cast.dora, address).status_code == 404


# --- tonight ---------------------------------------------------------------------------


def test_tonight_opens_the_floor_of_today_s_class(cast, client):
    answer = get(client, cast.omar, "/")
    assert f'action="/classes/{cast.blue.uuid}/meet"' in answer.content.decode()
    assert f'href="/classes/{cast.blue.uuid}"' in answer.content.decode()
    opened = client.post(f"/classes/{cast.blue.uuid}/meet")
    assert (opened.status_code, opened["Location"]) == (302, f"/floor/{cast.meeting.uuid}")


def test_tonight_links_no_records_for_an_assistant(cast, client):
    html = get(client, cast.tam, "/").content.decode()
    assert "Open the floor" in html
    assert f'href="/classes/{cast.blue.uuid}"' not in html


def test_tonight_shows_the_meeting_somebody_stands_in_for(cast, client):
    cast.meeting.staff.add(cast.ines)
    html = get(client, cast.ines, "/").content.decode()
    assert "You stand in on this date." in html
    assert f'href="/floor/{cast.meeting.uuid}"' in html


def test_tonight_goes_by_the_clock_of_the_hall(cast, client):
    cast.hall.zone = "America/Chicago"
    cast.hall.save(update_fields=["zone"])
    # 19:30 on Wednesday the 4th in Chicago.
    late = datetime.datetime(2026, 3, 5, 1, 30, tzinfo=datetime.UTC)
    with time_machine.travel(late, tick=False):
        words = text_of(get(client, cast.omar, "/"))
    assert words.startswith("Tonight Wednesday 4 March Blue 17:30")


# --- evidence --------------------------------------------------------------------------


def test_clean_and_stop_signs_are_shown_apart_with_days_graders_and_surface(cast, client, mai):
    words = text_of(evidence(client, cast.petra, mai))
    assert "18 of 18 clean, 100 %" in words
    # 1 - .05^(1/18) = .1533: Clopper & Pearson's one-sided bound, as in most_after_none.
    assert "18 turns no stop sign on record" in words
    assert "None in 18 turns still leaves up to about 16 in 100 possible." in words
    assert "Graded by: Ines (2 turns, days: 1); Omar (16 turns, days: 4)." in words
    assert "read for: Mat on sprung dance floor" in words
    assert "25 Feb 2026 Mat on sprung dance floor standing by 2 of 2 2 Ines" in words


def test_turns_after_a_stop_sign_are_counted_from_it(cast, client, mai, log):
    day = TODAY - datetime.timedelta(days=8)
    log(mai, "back-walkover", "0", day=day, support=1, surface=MAT, faults=("arms-give",))
    words = text_of(evidence(client, cast.petra, mai))
    assert "10 turns after 24 Feb 2026" in words
    assert "None in 10 turns still leaves up to about 26 in 100 possible." in words


def test_evidence_is_for_those_who_see_the_child(cast, client, mai):
    assert evidence(client, cast.omar, mai).status_code == 200
    assert evidence(client, cast.tam, mai).status_code == 403
    assert evidence(client, cast.ines, mai).status_code == 404
    assert evidence(client, cast.dora, mai).status_code == 404
    assert evidence(client, cast.omar, mai, stage="12").status_code == 404
    assert evidence(client, cast.omar, mai, stage="9/two-handsprings").status_code == 200


def test_a_coach_recommends_a_director_signs_and_both_stand_in_the_history(cast, client, mai):
    html = evidence(client, cast.omar, mai).content.decode()
    assert "/sign/4" not in html
    assert "/send-back/4" not in html
    recommended(client, cast.omar, mai)
    answer = decide(client, cast.petra, mai, "sign", surface=MAT, reason="")
    assert (answer.status_code, answer["Location"]) == (302, f"/children/{mai.uuid}/evidence/4")
    words = text_of(evidence(client, cast.omar, mai))
    assert "Signed by Petra today. It opens tomorrow." in words
    assert "Omar, 4 Mar 2026, 20:00, under ladder 1 three calm classes" in words
    assert "Signed: Back walkover, unspotted, on Mat on sprung dance floor and easier" in words


def test_the_recommender_is_refused_by_the_server_not_just_by_the_page(cast, client, mai):
    recommended(client, cast.petra, mai)
    page = evidence(client, cast.petra, mai)
    assert f"/children/{mai.uuid}/sign/4" not in page.content.decode()
    assert "The person who recommends never signs" in text_of(page)
    other = evidence(client, cast.luis, mai).content.decode()
    answer = decide(client, cast.petra, mai, "sign", html=other, surface=MAT)
    assert answer.status_code == 403
    assert "Somebody else has to sign" in text_of(answer)
    assert Decision.objects.get().kind == Decision.Kind.RECOMMEND


@pytest.mark.parametrize("verb", ["sign", "send-back", "exception"])
def test_a_coach_s_account_may_not_decide(cast, client, mai, verb):
    recommended(client, cast.omar, mai)
    client.force_login(cast.omar)
    data = {"token": str(uuid.uuid4()), "digest": "x", "surface": MAT, "reason": "x"}
    assert client.post(f"/children/{mai.uuid}/{verb}/4", data).status_code == 403
    assert Decision.objects.count() == 1


@pytest.mark.parametrize("verb", ["recommend", "sign", "send-back", "exception"])
def test_nothing_is_decided_by_a_link_or_about_another_hall_s_child(cast, client, mai, verb):
    client.force_login(cast.petra)
    assert client.get(f"/children/{mai.uuid}/{verb}/4").status_code == 405
    client.force_login(cast.dora)
    data = {"token": str(uuid.uuid4()), "digest": "x", "surface": MAT, "reason": "x"}
    assert client.post(f"/children/{mai.uuid}/{verb}/4", data).status_code == 404
    client.force_login(cast.tam)
    assert client.post(f"/children/{mai.uuid}/{verb}/4", data).status_code == 403
    assert not Decision.objects.exists()


def test_evidence_that_changed_since_the_page_was_drawn_redraws_it(cast, client, mai, log):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.petra, mai).content.decode()
    log(mai, "back-walkover", "0", support=1, surface=MAT)
    answer = decide(client, cast.petra, mai, "sign", html=html, surface=MAT)
    assert answer.status_code == 409
    assert "The evidence has changed since this page was drawn." in text_of(answer)
    assert "18 of 19 clean, 94 %" in text_of(answer)
    assert Decision.objects.count() == 1
    assert not SpentToken.objects.filter(job="sign").exists()
    # The page that was drawn anew can be signed.
    again = answer.content.decode()
    assert decide(client, cast.petra, mai, "sign", html=again, surface=MAT).status_code == 302


def test_a_form_sent_twice_signs_once_and_lands_on_the_same_page(cast, client, mai):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.petra, mai).content.decode()
    for _ in range(2):
        answer = decide(client, cast.petra, mai, "sign", html=html, surface=MAT)
        assert (answer.status_code, answer["Location"]) == (302, f"/children/{mai.uuid}/evidence/4")
    assert Decision.objects.filter(kind=Decision.Kind.SIGN).count() == 1


def test_the_second_director_is_told_who_decided_and_when(cast, client, mai):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.luis, mai).content.decode()
    assert decide(client, cast.petra, mai, "sign", surface=MAT).status_code == 302
    answer = decide(client, cast.luis, mai, "send-back", html=html, reason="not yet")
    assert answer.status_code == 409
    assert "Already decided by Petra at 20:00: signed. Nothing was changed." in text_of(answer)
    assert Decision.objects.count() == 2


def test_sending_back_without_a_reason_shows_the_form_again(cast, client, mai):
    recommended(client, cast.omar, mai)
    answer = decide(client, cast.petra, mai, "send-back", reason="  ")
    assert answer.status_code == 422
    assert "Write a reason" in text_of(answer)
    assert Decision.objects.count() == 1


def test_a_director_sends_back_and_the_page_says_what_is_waited_for(cast, client, mai):
    recommended(client, cast.omar, mai)
    assert decide(client, cast.petra, mai, "send-back", reason="first turn").status_code == 302
    assert "Sent back: it waits for a new class day." in text_of(evidence(client, cast.omar, mai))


def test_a_director_writes_an_exception_for_stage_six(cast, client, mai):
    place_at(cast, mai, 5, TODAY - datetime.timedelta(weeks=8))
    answer = decide(client, cast.petra, mai, "exception", stage="6", reason="stiff, and strong")
    assert answer.status_code == 302
    words = text_of(evidence(client, cast.petra, mai, stage="6"))
    assert "Petra wrote an exception on 4 Mar 2026." in words


def test_a_surface_that_is_not_met_is_refused(cast, client, mai):
    answer = decide(client, cast.omar, mai, "recommend", surface="hard-floor")
    assert answer.status_code == 422
    assert "The gates are not met on this surface" in text_of(answer)
    assert not Decision.objects.exists()


def test_a_studio_with_one_adult_is_told_why_and_what_a_guest_reviewer_is_for(cast, client, mai):
    cast.luis.is_active = False
    cast.luis.save(update_fields=["is_active"])
    words = text_of(evidence(client, cast.petra, mai))
    assert "A signature needs two people" in words
    assert "guest reviewer: an account for one day" in words


def test_a_guest_reviewer_signs_on_the_day_of_the_account(cast, client, mai):
    cast.luis.is_active = False
    cast.luis.save(update_fields=["is_active"])
    recommended(client, cast.petra, mai)
    guest = make_staff("Greta", "director", cast.hall)
    guest.guest_on = TODAY
    guest.save(update_fields=["guest_on"])
    assert "guest reviewer" not in text_of(evidence(client, cast.petra, mai))
    assert decide(client, guest, mai, "sign", surface=MAT).status_code == 302
    assert Decision.objects.get(kind=Decision.Kind.SIGN).by == guest


@pytest.mark.django_db(transaction=True)
def test_a_review_that_reads_beside_a_turn_never_keeps_the_older_reading(cast, mai, log):
    Standing.objects.update(read_on=TODAY - datetime.timedelta(days=1))
    client = Client()
    client.force_login(cast.petra)
    at_once(
        lambda: client.get("/review"),
        lambda: log(mai, "back-walkover", "0", support=1, surface=MAT),
    )
    kept = Standing.objects.get(child=mai)
    assert kept.stale or kept.digest == digest_of(read(mai, TODAY).data)


@pytest.mark.django_db(transaction=True)
def test_of_two_directors_who_press_at_the_same_moment_one_wins_and_one_gets_409(cast, mai):
    first, second = Client(), Client()
    recommended(first, cast.omar, mai)
    forms = {
        first: (cast.petra, "sign", {"surface": MAT}),
        second: (cast.luis, "send-back", {"reason": "not yet"}),
    }
    sent = {}
    for client, (who, verb, more) in forms.items():
        html = evidence(client, who, mai).content.decode()
        sent[client] = (f"/children/{mai.uuid}/{verb}/4", filled(html, f"{verb}/4", **more))
    answers = []
    at_once(*(lambda c=client: answers.append(c.post(*sent[c])) for client in sent))
    assert sorted(answer.status_code for answer in answers) == [302, 409]
    lost = next(answer for answer in answers if answer.status_code == 409)
    assert re.search(r"Already decided by (Petra|Luis) at 20:00", text_of(lost))
    assert Decision.objects.exclude(kind=Decision.Kind.RECOMMEND).count() == 1
