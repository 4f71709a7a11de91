"""The review, a class at a glance and tonight."""

import datetime
import re

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt, RejectedLine
from readiness.models import Decision, Pain, Pause, PauseLift, Placing, Standing
from readiness.record.intake import take_lines
from readiness.record.ladders import Ladders
from readiness.record.standings import digest_of, read
from studio.people.family import say_family
from tests.support.cast import NOW, TODAY, give_consent, make_child, time_ordered_id
from tests.support.deciding import at_once
from tests.support.pages import decide, filled, get, recommended, text_of
from tests.support.ready import MAT, place_at

pytestmark = pytest.mark.usefixtures("_later")


# --- the review ------------------------------------------------------------------------


def test_it_begins_with_what_needs_a_decision(cast, client, mai):
    assert "One child waits for a recommendation." in text_of(get(client, cast.petra, "/review"))
    recommended(client, cast.omar, mai)
    assert "One child waits for you." in text_of(get(client, cast.petra, "/review"))
    assert "Nothing waits for you." in text_of(get(client, cast.omar, "/review"))


def test_a_director_s_own_family_waits_for_somebody_else(cast, client, mai):
    recommended(client, cast.omar, mai)
    say_family(mai, cast.petra, cast.luis, NOW)
    assert "Nothing waits for you." in text_of(get(client, cast.petra, "/review"))
    assert "One child waits for you." in text_of(get(client, cast.luis, "/review"))


def test_family_neither_recommends_nor_places_nor_lifts_through_any_page(cast, client, mai):
    for staff in (cast.petra, cast.omar):
        say_family(mai, staff, cast.luis, NOW)
    assert "waits for a recommendation" not in text_of(get(client, cast.omar, "/review"))
    page, child = f"/children/{mai.uuid}/evidence/4", f"/children/{mai.uuid}"
    for staff in (cast.petra, cast.omar):
        html = get(client, staff, page).text
        assert f"{child}/recommend/4" not in html
        assert "You are family of Mai: somebody else decides here." in html
    other = get(client, cast.luis, page).text
    assert decide(client, cast.omar, mai, "recommend", other, surface=MAT).status_code == 403
    html, other = (get(client, staff, child).text for staff in (cast.petra, cast.luis))
    assert f"{child}/place" not in html
    assert "another director places" in html
    about = filled(other, "place", stage="5", surface=MAT, reason="saw it")
    client.force_login(cast.petra)
    assert client.post(f"{child}/place", about).status_code == 403
    # Pausing only adds caution: it stays.
    assert client.post(f"{child}/pause", filled(html, "pause", reason="a knock")).status_code == 302
    html, other = (get(client, staff, child).text for staff in (cast.petra, cast.luis))
    assert f"{child}/lift" not in html
    assert "another director lifts it" in html
    about = filled(other, "lift", reason="cleared")
    client.force_login(cast.petra)
    assert client.post(f"{child}/lift", about).status_code == 403
    # The placing is the one with which the record begins.
    assert [t.objects.count() for t in (Decision, Placing, Pause, PauseLift)] == [0, 1, 1, 0]


def test_turns_without_a_guardians_yes_have_a_heading_of_their_own(cast, client, log):
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=4))
    log(cast.ilse, "back-walkover", "1", support=0)
    page = get(client, cast.petra, "/review")
    assert 'id="less-support"' in page.text
    assert 'id="without-yes"' not in page.text
    give_consent(cast.mai, yes=False, day=TODAY - datetime.timedelta(days=9))
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=4))
    log(cast.mai, "back-walkover", "1", support=3)
    week = get(client, cast.petra, "/review").context["week"]
    assert [each.child for each in week.without_yes] == [cast.mai]
    assert [each.child for each in week.flags] == [cast.ilse]
    assert "Without a guardian’s yes to hands" in get(client, cast.petra, "/review").text


@pytest.mark.parametrize(
    ("place", "days", "said"),
    [
        ("neck", (0,), "Something hurt: the neck. There it is a pause at once."),
        (
            "wrist",
            (3, 0),
            "The same place hurt twice: a wrist, on 1 Mar and on 4 Mar. Within 21 days that is "
            "a pause.",
        ),
    ],
)
def test_a_pause_for_pain_says_by_which_rule(cast, client, place, days, said):
    for back in days:
        at = NOW - datetime.timedelta(days=back)
        about = {"by": cast.omar, "at": at, "received_at": at, "digest": "", "day": at.date()}
        Pain.objects.create(id=time_ordered_id(at), child=cast.mai, place=place, **about)
    names = Ladders().named_on(TODAY).pain_names
    said = said.replace("the neck", names["neck"]).replace("a wrist", names["wrist"])
    assert said in text_of(get(client, cast.petra, f"/children/{cast.mai.uuid}"))


def test_with_nothing_to_decide_it_says_so(cast, client):
    assert "Nothing waits for you." in text_of(get(client, cast.petra, "/review"))


def test_a_row_says_stage_state_gates_met_and_what_holds_the_child(cast, client, mai, log):
    log(cast.ilse, "hollow-hold", [12.0], support=0)
    words = text_of(get(client, cast.petra, "/review/all"))
    assert "Mai Blue Back walkover, unspotted for review 5 of 5 gates met All 5 gates met" in words
    assert "Ilse Blue" in words
    assert "closed 0 of 6 gates met" in words
    assert "readiness" not in words
    assert "score" not in words


def test_a_coach_sees_the_children_of_the_own_classes_and_a_director_of_the_own_halls(cast, client):
    words = text_of(get(client, cast.omar, "/review/all"))
    assert "Mai" in words
    assert "Ilse" in words
    assert "Rosa" not in words
    assert "Rosa" in text_of(get(client, cast.petra, "/review/all"))
    assert "Mai" not in text_of(get(client, cast.dora, "/review/all"))
    for page in ("/review", "/review/all", f"/review/after/{cast.mai.uuid}"):
        assert get(client, cast.tam, page).status_code == 403


def test_it_can_be_narrowed_to_a_class_and_a_state(cast, client, mai):
    words = text_of(get(client, cast.petra, f"/review/all?class={cast.red.uuid}"))
    assert "Rosa" in words
    assert "Mai" not in words
    words = text_of(get(client, cast.petra, "/review/all?state=for-review"))
    assert "Mai" in words
    assert "Rosa" not in words
    assert "No child fits." in text_of(get(client, cast.petra, "/review/all?state=paused"))
    words = text_of(get(client, cast.petra, "/review/all?name=ROS"))
    assert "Rosa" in words
    assert "Mai" not in words


def test_a_child_who_went_back_this_week_is_told_with_the_cause(cast, client, mai, log):
    log(mai, "back-walkover", "0", support=1, surface=MAT, faults=("arms-give",))
    words = text_of(get(client, cast.petra, "/review"))
    assert "One went back to more support this week." in words
    assert "re-check" in words
    assert (
        "A stop sign on 4 Mar. · Hands-on now; the way back begins on the next class day" in words
    )
    assert "Elbows fold, head sinks toward the floor" in words


def test_children_who_share_a_name_are_told_apart_in_the_week(cast, client, log):
    make_child("Mai Ender", cast.blue)
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=4))
    log(cast.mai, "back-walkover", "0", support=0, surface=MAT, faults=("arms-give",))
    words = text_of(get(client, cast.petra, "/review"))
    assert "Mai T. Back walkover Omar, Wed 4 Mar" in words
    assert "Mai T. Back walkover, unspotted Omar, Wed 4 Mar" in words


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
    assert "less support than allowed" not in words.lower()


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
    assert "Paused since 4 Mar, until a director lifts it · Something hurt: Head" in words
    assert "One is paused." in words
    lift = f'href="/children/{cast.mai.uuid}#pause">It is lifted on Mai’s page'
    assert lift in get(client, cast.petra, f"/children/{cast.mai.uuid}/evidence/3").text
    assert lift not in get(client, cast.omar, f"/children/{cast.mai.uuid}/evidence/3").text
    assert 'id="pause"' in get(client, cast.petra, f"/children/{cast.mai.uuid}").text
    assert "Something hurt: Head" in text_of(get(client, cast.petra, f"/children/{cast.mai.uuid}"))


def test_a_child_long_without_a_turn_is_told(cast, client, log):
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=8))
    day = TODAY - datetime.timedelta(days=29)
    log(cast.mai, "back-walkover", "111", day=day, support=3, surface=MAT)
    words = text_of(get(client, cast.petra, "/review"))
    assert "On 4 Mar it had been more than 28 days without a turn." in words
    assert "Long without a turn 1 Mai" in words


def test_lines_set_aside_are_counted_for_those_whose_meeting_it_was(cast, client):
    line = {"kind": "dance", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
    assert RejectedLine.objects.count() == 1
    assert "1 line from a tablet could not be taken" in text_of(get(client, cast.petra, "/review"))
    assert "could not be taken" not in text_of(get(client, cast.dora, "/review"))


# Every page asks who is signed in, what the studio is called, and of a director's halls what is
# missing; the first ones what came of the last backup, and the review what waits besides: a changed
# ladder, late turns, turns under one's name, children to be sorted, what was taken back. A list
# asks twice which records its children have.
FRAME = 5
# One is for the moves of classes that are due, two for what came in since the last look, one for
# whose family somebody is, five for what happened and is not written down, one for the evidence
# hour that somebody grades at, one for when the spotters of the week's classes were gone.
MOST_QUERIES = 27


@pytest.mark.parametrize(
    "address", ["/", "/review", "/review/all", "/classes/{blue}", "/gates", "/tablets"]
)
def test_a_list_asks_as_often_for_two_children_as_for_two_hundred(cast, client, mai, log, address):
    address = address.format(blue=cast.blue.uuid)
    client.force_login(cast.petra)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert client.get(address).status_code == 200
        return len(captured)

    queries()
    few = queries()
    for number in range(200):
        child = make_child(f"Child{number} Test", cast.blue)
        if number % 10 == 0:
            log(child, "hollow-hold", [20.0], support=0)
            log(child, "back-walkover", "10", support=0, faults=("half-hearted",))
    queries()
    assert queries() == few <= MOST_QUERIES + FRAME


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
    # Between them, on paper only, stands the day of the site.
    assert words.startswith("Tonight Wednesday 4 March")
    assert "Blue 17:30" in words


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
