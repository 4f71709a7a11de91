"""The child's page, and the taps and forms on it."""

import datetime
import re
import uuid
from html import unescape

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.child.ladder_drawing import levels_of
from readiness.child.page import hand_contact_sentences
from readiness.engine.ladder import Ladder
from readiness.models import Pause, PauseLift, Placing
from readiness.record.intake import take_lines
from readiness.record.standings import read
from tests.support.cast import TODAY, time_ordered_id
from tests.support.deciding import LATER
from tests.support.pages import filled
from tests.support.ready import MAT, place_at

pytestmark = pytest.mark.usefixtures("_later")


def page(client, who, child, query=""):
    client.force_login(who)
    return client.get(f"/children/{child.uuid}{query}")


# --- who sees it -----------------------------------------------------------------------


def test_a_coach_and_a_director_see_the_child_and_an_assistant_is_refused(cast, client):
    assert page(client, cast.omar, cast.mai).status_code == 200
    assert page(client, cast.petra, cast.mai).status_code == 200
    refused = page(client, cast.tam, cast.mai)
    assert refused.status_code == 403
    assert "Mai " not in refused.content.decode()


@pytest.mark.parametrize("who", ["ines", "dora"])
def test_a_child_of_another_class_or_hall_is_not_found(cast, client, who):
    answer = page(client, getattr(cast, who), cast.mai)
    assert answer.status_code == 404
    assert "Mai " not in answer.content.decode()


def test_nobody_is_let_in_without_signing_in(cast, client):
    assert client.get(f"/children/{cast.mai.uuid}").status_code == 302


# --- what it shows ---------------------------------------------------------------------


def test_the_shipped_ladder_is_two_tracks_that_meet(ladder_content):
    stages = [s for s in Ladder.from_content(ladder_content).stages if s.part_of is None]
    assert levels_of(stages) == [[["9", "8", "7", "6"]], [["4", "3", "2"], ["5"]], [["1"]]]


def test_every_stage_has_its_state_in_words(cast, client, mai):
    html = page(client, cast.omar, mai).content.decode()
    assert html.count("rung-said") == 9
    assert "placed, open since 15 Jan" in html
    assert "open from the start" in html
    assert "state-for-review" in html
    assert "for review" in html


def test_the_stage_for_review_is_shown_with_each_gate_and_a_link_to_recommend(cast, client, mai):
    html = page(client, cast.omar, mai).content.decode()
    assert "To enter: Back walkover, unspotted" in html
    assert "The record is" in html
    assert "sure that Mai is clean at least 4 times in 5" in html
    assert "No stop sign on record." in html
    assert "Seen clean by two graders" in html
    assert "The first turn on 4 Mar was clean." in html
    assert f'href="/children/{mai.uuid}/evidence/4">Recommend</a>' in html
    assert f'href="/children/{mai.uuid}/letter"' in html


def test_another_stage_is_shown_when_it_is_asked_for(cast, client, mai):
    html = page(client, cast.omar, mai, "?stage=6").content.decode()
    assert "To enter: Handspring, hands-on" in html
    assert "Waits for: Back walkover, unspotted and Handspring lead-ups." in html
    # Out of reach: no score. Stage 4 is in reach.
    assert "The score says" not in html
    assert "score <strong>" not in html
    html = page(client, cast.omar, mai, "?stage=4").content.decode()
    assert "score <strong>100</strong>" in html
    assert "The score says how far the gates of this stage have come" in html
    assert page(client, cast.omar, mai, "?stage=77").status_code == 200


def test_a_clean_gate_says_what_would_open_it(cast, client, log):
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=4))
    log(cast.mai, "back-walkover", "1101", support=1)
    html = page(client, cast.omar, cast.mai, "?stage=4").content.decode()
    said = re.search(r"This opens at 80 %: about (\d+) more clean turns on (\d+) days", html)
    assert said
    # Twelve clean turns on four days are asked for, and three stand on one day.
    assert int(said.group(1)) >= 9
    assert int(said.group(2)) >= 3


def test_holds_are_drawn_as_a_chart_with_what_is_asked(cast, client, log):
    for back, seconds in ((21, 11.0), (14, 14.0), (7, 18.0), (0, 16.0)):
        day = TODAY - datetime.timedelta(days=back)
        log(cast.mai, "hollow-hold", [seconds], day=day, support=0)
    html = page(client, cast.omar, cast.mai, "?stage=2").content.decode()
    assert "15 s reached, last on 25 Feb and 4 Mar." in html
    chart = re.search(r'<svg class="chart.*?</svg>', html, re.S).group()
    assert chart.count("chart-dot") == 4
    assert chart.count("chart-need") == 1
    assert "style=" not in html


def test_a_stop_sign_is_told_with_the_fault_and_what_mends_it(cast, client, mai, log):
    log(mai, "back-walkover", "0", support=1, surface=MAT, faults=("arms-give",))
    html = page(client, cast.omar, mai).content.decode()
    assert "A stop sign on 4 Mar." in html
    assert "Elbows fold, head sinks toward the floor" in html
    assert "stop sign</span>" in html
    assert "Shoulder shrugs, hands and knees" in html
    assert "After what was seen today nothing backward or upside down this evening" in html


def test_a_struck_turn_stays_readable_with_who_and_why(cast, client, log):
    turn = log(cast.mai, "log-roll", "1", support=0)[0]
    strike = {
        "kind": "strike",
        "id": str(time_ordered_id(LATER)),
        "at": LATER.isoformat(),
        "turn": str(turn.pk),
        "code": "wrong-child",
    }
    take_lines(cast.meeting, cast.omar, "tablet", LATER, [strike], 1, LATER)
    html = page(client, cast.omar, cast.mai).content.decode()
    assert "<s>clean</s>" in html
    assert "struck by Omar: wrong child" in html


def test_times_are_those_of_the_hall(cast, client, log):
    log(cast.mai, "log-roll", "1", support=0)
    html = page(client, cast.omar, cast.mai).content.decode()
    # 17:00 UTC in March is 18:00 in Berlin.
    assert "4 Mar, 18:00" in html


def test_a_turn_late_in_the_evening_belongs_to_the_hall_s_day(cast, client, log):
    cast.hall.zone = "America/Chicago"
    cast.hall.save(update_fields=["zone"])
    late = datetime.datetime(2026, 3, 5, 1, 30, tzinfo=datetime.UTC)
    with time_machine.travel(late, tick=False):
        html = page(client, cast.omar, cast.mai).content.decode()
        answer = client.post(
            f"/children/{cast.mai.uuid}/pause", filled(html, "pause", reason="a knock")
        )
    assert answer.status_code == 302
    assert Pause.objects.get().day == datetime.date(2026, 3, 4)


def test_the_page_takes_few_queries_whatever_the_record(cast, client, mai, log):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert page(client, cast.omar, mai).status_code == 200
        return len(captured)

    queries()
    before = queries()
    for day in (TODAY - datetime.timedelta(days=back) for back in (1, 2, 3)):
        log(mai, "hollow-hold", [20.0], day=day, support=0)
        log(mai, "kick-to-handstand", "1101", day=day, support=0)
    assert queries() == before <= 60


# --- placing, pausing, lifting ---------------------------------------------------------


def test_a_director_places_a_child(cast, client):
    html = page(client, cast.petra, cast.mai).content.decode()
    data = filled(html, "place", stage="5", surface=MAT, reason="did it before me")
    answer = client.post(f"/children/{cast.mai.uuid}/place", data)
    assert answer.status_code == 302
    assert Placing.objects.get().stage == 5
    assert "Placed at Handspring lead-ups" in page(client, cast.omar, cast.mai).content.decode()


def test_a_stage_above_seven_is_refused_by_the_server(cast, client):
    html = page(client, cast.petra, cast.mai).content.decode()
    assert "8 · Handspring, unspotted" not in html
    data = filled(html, "place", stage="8", surface=MAT, reason="can do it")
    answer = client.post(f"/children/{cast.mai.uuid}/place", data)
    assert answer.status_code == 422
    assert "A child is placed at stage 7 at most." in answer.content.decode()
    assert not Placing.objects.exists()


def test_a_reason_left_out_shows_the_form_again_as_it_was_filled_in(cast, client):
    html = page(client, cast.petra, cast.mai).content.decode()
    data = filled(html, "place", stage="5", surface=MAT, reason=" ")
    answer = client.post(f"/children/{cast.mai.uuid}/place", data)
    assert answer.status_code == 422
    assert "Write a reason" in answer.content.decode()
    assert '<option value="5" selected>' in answer.content.decode()
    assert not Placing.objects.exists()


def test_a_coach_may_pause_but_neither_place_nor_lift(cast, client):
    html = page(client, cast.omar, cast.mai).content.decode()
    assert f"/children/{cast.mai.uuid}/place" not in html
    for verb in ("place", "lift"):
        assert client.post(f"/children/{cast.mai.uuid}/{verb}").status_code == 403
    data = filled(html, "pause", reason="a knock to the head")
    assert client.post(f"/children/{cast.mai.uuid}/pause", data).status_code == 302
    html = client.get(f"/children/{cast.mai.uuid}").content.decode()
    assert "nobody may tumble Mai until a director lifts the pause" in html
    assert "a knock to the head" in html
    assert not PauseLift.objects.exists()


def test_a_director_lifts_a_pause_from_tomorrow(cast, client):
    html = page(client, cast.petra, cast.mai).content.decode()
    client.post(f"/children/{cast.mai.uuid}/pause", filled(html, "pause", reason="ill"))
    html = client.get(f"/children/{cast.mai.uuid}").content.decode()
    assert "Who cleared Mai, and when" in html
    time = LATER + datetime.timedelta(minutes=3)
    with time_machine.travel(time, tick=False):
        data = filled(html, "lift", reason="")
        answer = client.post(f"/children/{cast.mai.uuid}/lift", data)
        assert answer.status_code == 422
        assert "Write down who, and when." in answer.content.decode()
        assert "Who cleared Mai, and when" in answer.content.decode()
        assert not PauseLift.objects.exists()
        data = filled(html, "lift", reason="Dr Ahn, on 3 March")
        assert client.post(f"/children/{cast.mai.uuid}/lift", data).status_code == 302
        html = client.get(f"/children/{cast.mai.uuid}").content.decode()
    assert "Petra lifted it today: it ends tomorrow." in html


def test_a_form_without_its_token_decides_nothing(cast, client):
    html = page(client, cast.petra, cast.mai).content.decode()
    data = filled(html, "pause", reason="ill") | {"token": "x"}
    answer = client.post(f"/children/{cast.mai.uuid}/pause", data)
    assert answer.status_code == 422
    assert not Pause.objects.exists()


@pytest.mark.parametrize("verb", ["step", "place", "pause", "lift"])
def test_nothing_is_changed_by_following_a_link_or_for_another_class(cast, client, verb):
    client.force_login(cast.petra)
    assert client.get(f"/children/{cast.mai.uuid}/{verb}").status_code == 405
    client.force_login(cast.dora)
    data = {"token": str(uuid.uuid4()), "reason": "ill"}
    assert client.post(f"/children/{cast.mai.uuid}/{verb}", data).status_code == 404
    assert not Pause.objects.exists()


# --- weight on the hands ---------------------------------------------------------------


def hands(client, cast):
    html = page(client, cast.omar, cast.mai).content.decode()
    part = html.split("Weight on the hands")[1].split("</section>")[0].split("<form")[0]
    return [unescape(said) for said in re.findall(r"<p>(.*?)</p>", part)]


def test_landings_on_the_hands_stand_beside_the_child_s_own_usual_week(client, cast, log):
    # A kick to handstand lands once a turn, donkey kicks once a rep. Another child's do not count.
    for back in (21, 14, 7, 0):
        log(cast.mai, "kick-to-handstand", "110", day=TODAY - datetime.timedelta(days=back))
    log(cast.mai, "donkey-kicks", [6], support=0)
    log(cast.ilse, "donkey-kicks", [60], support=0)
    assert hands(client, cast) == [
        "9 landings on the hands in the last 7 days.",
        "Mai's own usual week, from the last 28 days: 4.5.",
    ]


@pytest.mark.parametrize(("reps", "caution"), [(16, False), (17, True)])
def test_much_more_than_usual_is_a_caution_and_says_that_it_is_no_rule(
    client, cast, log, reps, caution
):
    # 3 in each of four weeks, and 17 more: 20 this week, beside a usual 29 / 4 = 7.25.
    for back in (21, 14, 7, 0):
        log(cast.mai, "kick-to-handstand", "111", day=TODAY - datetime.timedelta(days=back))
    log(cast.mai, "donkey-kicks", [reps], support=0)
    said = hands(client, cast)
    assert said[0] == f"{3 + reps} landings on the hands in the last 7 days."
    assert any("A caution, not a rule" in sentence for sentence in said) is caution
    assert any("not established" in sentence for sentence in said) is caution


def test_landing_again_after_three_weeks_is_a_caution_of_its_own(client, cast, log):
    log(cast.mai, "kick-to-handstand", "1", day=TODAY - datetime.timedelta(days=40))
    log(cast.mai, "donkey-kicks", [20], support=0)
    assert hands(client, cast) == [
        "20 landings on the hands in the last 7 days.",
        "Mai's own usual week, from the last 28 days: 5.",
        "A caution, not a rule: that is a lot after three weeks without. Ask about wrists and "
        "elbows, and think of fewer landings today. What such numbers foretell is not "
        "established.",
    ]


def test_a_young_record_has_no_usual_week(client, cast, log):
    log(cast.mai, "kick-to-handstand", "1" * 40)
    assert hands(client, cast) == [
        "40 landings on the hands in the last 7 days.",
        "The record is too young to say what is usual.",
    ]


def test_with_no_landings_there_is_none(client, cast):
    assert hands(client, cast) == ["No landing on the hands in the last 7 days."]


def test_who_may_not_see_the_child_sees_no_landings(client, cast, log):
    log(cast.mai, "kick-to-handstand", "1" * 40)
    for who in (cast.tam, cast.ines, cast.dora):
        assert "landings" not in page(client, who, cast.mai).content.decode()


def test_the_landings_are_of_the_record_that_is_read_already(cast, log, django_assert_num_queries):
    log(cast.mai, "kick-to-handstand", "1" * 40)
    reading = read(cast.mai, TODAY)
    with django_assert_num_queries(0):
        assert hand_contact_sentences(reading)[0].startswith("40 landings")


# --- the years before ------------------------------------------------------------------


def test_a_young_child_has_a_path_for_staff_and_none_has_it_in_a_letter(cast, client):
    # Mai was born in April 2016: nine, with three terms left.
    assert cast.mai.age_on(TODAY) == 9
    html = page(client, cast.omar, cast.mai).content.decode()
    section = html.partition('id="path"')[2].partition("</section>")[0]
    assert "three terms a year (common practice)" in section
    assert "Term 3" in section
    assert "Term 4" not in section
    letter = client.get(f"/children/{cast.mai.uuid}/letter").content.decode()
    assert "terms" not in letter
    cast.mai.birth_year = 2014
    cast.mai.save()
    assert 'id="path"' not in page(client, cast.omar, cast.mai).content.decode()
