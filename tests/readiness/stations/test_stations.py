"""The page of an evening's stations: offered, changed by hand, taken."""

import datetime
import html
import json
import re
import uuid

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.models import Drill
from readiness.engine.stations import planner
from readiness.engine.stations.plan import Clash, Fix, Plan
from readiness.engine.stations.problem import At, Post
from readiness.models import Pause, SpotterTraining, StationPlace, StationPlan
from readiness.stations.evening.gather import Settled, gather, roster_of
from readiness.stations.plan_page import missed
from readiness.stations.taken import last_before, taken_of
from studio.models import Attendance, Meeting
from tests.support.cast import NOW, TODAY, make_child
from tests.support.engine.any_plan import any_plan
from tests.support.pages import field, signed_in, text_of
from tests.support.ready import MAT, lacks_turns, place_at

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def planned(monkeypatch):
    """The problems that the planner was asked for, each with what the plan was to be near."""
    asked = []

    def plan(problem, near=None):
        asked.append((problem, near))
        return any_plan(problem, near)

    monkeypatch.setattr(planner, "plan", plan)
    with time_machine.travel(NOW, tick=False):
        yield asked


def page(cast, query="", by=None):
    return signed_in(by or cast.omar).get(f"/stations/{cast.meeting.uuid}{query}")


def take(cast, query="", **changed):
    shown = html.unescape(page(cast, query).content.decode())
    sent = {name: field(shown, "take", name) for name in ("token", "draft")} | changed
    return signed_in(cast.omar).post(f"/stations/{cast.meeting.uuid}/take", sent)


def train(cast, drill):
    SpotterTraining.objects.create(
        staff=cast.omar, drill=Drill.objects.get(key=drill), trained_by="Uma Voss", until=TODAY,
        age=30, by=cast.petra, day=TODAY, at=NOW,
    )  # fmt: skip


def token(cast, child, station, rotation):
    return f"{child.uuid}~{station}~{rotation}"


def test_a_plan_is_offered_and_nothing_is_stored(cast):
    words = text_of(page(cast))
    assert "Mai" in words
    assert "Ilse" in words
    assert "rotation 6" in words
    assert "Nothing of this counts before it is taken." in words
    assert not StationPlan.objects.exists()


def test_what_is_taken_is_what_was_seen_and_by_whom(cast, planned):
    assert take(cast).status_code == 302
    row = StationPlan.objects.get()
    assert (row.meeting, row.by, row.rotations, row.start) == (cast.meeting, cast.omar, 6, 0)
    problem, _near = planned[0]
    taken = taken_of(cast.meeting)
    assert set(taken.plan.at) == set(any_plan(problem).at)
    assert set(taken.plan.posts) == set(any_plan(problem).posts)
    words = text_of(page(cast))
    assert "Taken by Omar at 18:00." in words
    assert "Take it" not in words


def test_the_last_one_taken_counts(cast):
    take(cast)
    station = taken_of(cast.meeting).plan.at[0].station
    other = next(a.station for a in taken_of(cast.meeting).plan.at if a.station != station)
    take(cast, f"?lock={token(cast, cast.mai, other, 1)}")
    assert StationPlan.objects.count() == 2
    assert At(cast.mai.pk, other, 0) in taken_of(cast.meeting).plan.at


@pytest.mark.parametrize("draft", ["", "x", "x:y:z"])
def test_a_draft_that_cannot_be_read_takes_nothing(cast, draft):
    answer = take(cast, draft=draft)
    assert answer.status_code == 422
    assert "Nothing was taken" in text_of(answer)
    assert not StationPlan.objects.exists()


def test_another_evenings_draft_is_not_taken(cast):
    other = Meeting.objects.create(
        group=cast.blue, date=TODAY + datetime.timedelta(days=7), starts_at=cast.blue.starts_at
    )
    shown = html.unescape(page(cast).content.decode())
    sent = {name: field(shown, "take", name) for name in ("token", "draft")}
    answer = signed_in(cast.omar).post(f"/stations/{other.uuid}/take", sent)
    assert answer.status_code == 422
    assert not StationPlan.objects.exists()


def test_a_plan_taken_twice_by_one_tap_is_taken_once(cast):
    shown = html.unescape(page(cast).content.decode())
    sent = {name: field(shown, "take", name) for name in ("token", "draft")}
    for _ in range(2):
        signed_in(cast.omar).post(f"/stations/{cast.meeting.uuid}/take", sent)
    assert StationPlan.objects.count() == 1


def test_tonight_leads_there_and_opens_the_evening(cast):
    client = signed_in(cast.omar)
    assert 'name="to" value="stations"' in client.get("/").content.decode()
    answer = client.post(f"/classes/{cast.blue.uuid}/meet", {"to": "stations"})
    assert answer.url == f"/stations/{cast.meeting.uuid}"
    assert 'value="stations"' not in signed_in(cast.tam).get("/").content.decode()


def test_an_assistant_and_another_coach_see_and_take_nothing(cast):
    assert page(cast, by=cast.tam).status_code == 403
    assert page(cast, by=cast.ines).status_code == 404
    for by, status in ((cast.tam, 403), (cast.ines, 404)):
        answer = signed_in(by).post(f"/stations/{cast.meeting.uuid}/take", {"draft": "x"})
        assert answer.status_code == status
    assert not StationPlan.objects.exists()


def test_a_small_form_leads_to_an_address_that_says_what_is_settled(cast, planned):
    cell = token(cast, cast.mai, "hollow-hold", 2)
    answer = page(cast, f"?what=lock&cell={cell}&rotations=5")
    assert answer.status_code == 302
    words = text_of(signed_in(cast.omar).get(answer.url))
    assert "Mai is at Hollow hold in rotation 2." in words
    assert planned[-1][0].locked == {At(cast.mai.pk, "hollow-hold", 1)}
    assert planned[-1][0].rotations == 5


def test_not_there_is_a_ban_and_put_there_a_lock(cast, planned):
    at = {"who": cast.mai.uuid, "station": "hollow-hold", "rotation": 3}
    query = "&".join(f"{name}={value}" for name, value in at.items())
    signed_in(cast.omar).get(page(cast, f"?what=put&{query}").url)
    assert planned[-1][0].locked == {At(cast.mai.pk, "hollow-hold", 2)}
    cell = token(cast, cast.mai, "hollow-hold", 3)
    signed_in(cast.omar).get(page(cast, f"?what=ban&cell={cell}").url)
    assert planned[-1][0].banned == {At(cast.mai.pk, "hollow-hold", 2)}


def test_a_swap_is_two_locks_in_one_rotation(cast, planned):
    one, other = token(cast, cast.mai, "hollow-hold", 1), token(cast, cast.ilse, "arch-hold", 1)
    signed_in(cast.omar).get(page(cast, f"?what=swap&one={one}&other={other}").url)
    locks = {At(cast.mai.pk, "arch-hold", 0), At(cast.ilse.pk, "hollow-hold", 0)}
    assert planned[-1][0].locked == locks
    later = token(cast, cast.ilse, "arch-hold", 2)
    signed_in(cast.omar).get(page(cast, f"?what=swap&one={one}&other={later}").url)
    assert planned[-1][0].locked == set()


def test_a_split_is_asked_of_the_planner_said_and_kept_with_the_plan_that_is_taken(cast, planned):
    answer = page(cast, "?what=split&station=hollow-hold")
    words = text_of(signed_in(cast.omar).get(answer.url))
    assert "Hollow hold is at two places." in words
    assert "Hollow hold, second place" in words
    seconds = {each.key: each.second_of for each in planned[-1][0].stations if each.second_of}
    assert seconds == {"hollow-hold/2": "hollow-hold"}
    take(cast, "?split=hollow-hold")
    assert "Hollow hold, second place" in text_of(page(cast))
    again = re.search(r'href="([^"]*)">Plan again', page(cast).content.decode()).group(1)
    assert "Hollow hold is at two places." in text_of(page(cast, html.unescape(again)))


def test_a_split_that_cannot_be_says_what_is_in_the_way(cast, monkeypatch):
    fixes = ((Fix("split", key="hollow-hold"),), (Fix("equipment", key="floor-mat"),))
    monkeypatch.setattr(planner, "plan", lambda problem, near=None: Clash(fixes))
    words = html.unescape(text_of(page(cast, "?split=hollow-hold")))
    assert "This evening cannot be planned as it stands." in words
    assert "give up: “Hollow hold is at two places”" in words
    assert "Take it" not in words


def test_nobody_can_spot_is_one_tap_and_a_plan_to_take_like_any_other(cast, planned):
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(days=70))
    train(cast, "back-walkover")
    shown = page(cast).content.decode()
    assert any(each.spotters for each in planned[-1][0].stations)
    address = html.unescape(re.search(r'href="([^"]*)">Nobody can spot', shown).group(1))
    words = text_of(page(cast, address))
    assert "Nobody spots tonight: an evening of ground work, nothing is held." in words
    assert "Nobody can spot tonight" not in words
    assert not any(each.spotters for each in planned[-1][0].stations)
    assert take(cast, address).status_code == 302
    assert "Nobody can spot tonight" in text_of(page(cast))
    again = re.search(r'href="([^"]*)">Plan again', page(cast).content.decode()).group(1)
    assert "ground=1" in again


def test_where_nobody_may_spot_ground_work_is_offered_by_itself(cast):
    words = text_of(page(cast))
    assert "an evening of ground work, nothing is held." in words
    assert "Nobody can spot tonight" not in words
    assert "Take it" in words


def test_where_nobody_is_here_it_says_so_and_asks_no_planner(cast, planned):
    for child in (cast.mai, cast.ilse):
        Attendance.objects.create(
            id=uuid.uuid4(), present=False, at=NOW, meeting=cast.meeting, child=child,
            by=cast.omar, digest="0",
        )  # fmt: skip
    words = text_of(page(cast))
    assert "Nobody is here to plan for." in words
    assert "cannot be planned" not in words
    assert "Put there" not in words
    assert planned == []


def test_who_lacks_the_same_is_named_in_one_sentence(cast):
    evening = gather(roster_of(cast.meeting), Settled())
    hold = {At(child.pk, "arch-hold", 0) for child in (cast.mai, cast.ilse)}
    (sentence,) = missed(evening, Plan(tuple(hold), (), {}, 0, 0))
    assert sentence.startswith("Ilse and Mai: ")


def test_an_adult_is_settled_like_a_child(cast, planned):
    cell = token(cast, cast.omar, "hollow-hold", 1)
    signed_in(cast.omar).get(page(cast, f"?what=lock&cell={cell}").url)
    assert planned[-1][0].locked == {Post(cast.omar.pk, "hollow-hold", 0)}


def test_who_comes_late_and_who_is_gone(cast, planned):
    mai = f"who={cast.mai.uuid}&first=3&last=6"
    answer = page(cast, f"?what=here&{mai}")
    assert "Mai is here for rotations 3 to 6." in text_of(signed_in(cast.omar).get(answer.url))
    present = {child.id: child.present for child in planned[-1][0].children}
    assert present == {cast.mai.pk: {2, 3, 4, 5}, cast.ilse.pk: None}
    omar = f"who={cast.omar.uuid}&first=1&last=0"
    answer = page(cast, f"?what=here&{omar}")
    assert "Omar is not here for stations." in text_of(signed_in(cast.omar).get(answer.url))
    assert planned[-1][0].adults[0].present == frozenset()


def test_what_is_given_up_is_gone_from_the_address(cast, planned):
    cell = token(cast, cast.mai, "hollow-hold", 2)
    shown = page(cast, f"?lock={cell}").content.decode()
    link = re.search(r'<a class="push" href="([^"]*)"', shown).group(1)
    signed_in(cast.omar).get(f"/stations/{cast.meeting.uuid}{html.unescape(link)}")
    assert planned[-1][0].locked == set()


def test_who_is_gone_is_no_second_adult(cast):
    cast.meeting.staff.add(cast.ines)
    assert "One adult tonight" not in text_of(page(cast))
    assert "One adult tonight" in text_of(page(cast, f"?here={cast.ines.uuid}~1~0"))


@pytest.mark.parametrize(
    "query",
    ["lock=x", "lock=a~b~c", "here=x~1~2", "rotations=many", "rotations=0", "from=99", "what=swap"],
)
def test_an_address_that_cannot_be_read_is_read_as_far_as_it_can(cast, query):
    answer = page(cast, f"?{query}")
    answer = signed_in(cast.omar).get(answer.url) if answer.status_code == 302 else answer
    assert answer.status_code == 200


def test_only_what_is_left_is_planned_again_and_what_was_stays(cast, planned):
    take(cast)
    before = taken_of(cast.meeting).plan
    take(cast, f"?from=3&here={cast.mai.uuid}~1~2")
    problem, near = planned[-1]
    assert problem.start == 2
    assert {each.rotation for each in problem.done} == {0, 1}
    assert set(near.at) == set(before.at)
    now = taken_of(cast.meeting)
    assert now.row.start == 2
    assert {a for a in now.plan.at if a.rotation < 2} == {a for a in before.at if a.rotation < 2}
    assert not [a for a in now.plan.at if a.child == cast.mai.pk and a.rotation >= 2]


def test_it_opens_with_last_weeks_plan(cast, planned):
    take(cast)
    coming = Meeting.objects.create(
        group=cast.blue, date=TODAY + datetime.timedelta(days=7), starts_at=cast.blue.starts_at
    )
    assert set(last_before(coming).at) == set(taken_of(cast.meeting).plan.at)
    late = Meeting.objects.create(
        group=cast.blue, date=TODAY + datetime.timedelta(days=29), starts_at=cast.blue.starts_at
    )
    assert last_before(late) is None


def test_what_came_in_since_a_plan_was_taken_is_said_on_it(cast):
    take(cast)
    Pause.objects.create(child=cast.mai, reason="Fever", by=cast.omar, at=NOW, day=TODAY)
    words = text_of(page(cast))
    assert "Something came in since this plan was taken" in words
    assert "Mai is not at" in words
    assert "Ilse is not at" not in words


def test_it_cannot_be_done_is_said_with_what_would_free_it(cast, monkeypatch):
    spotter, wall = Fix("spotter", key="back-walkover+1"), Fix("wall", amount=2)
    lock = Fix("lock", settled=At(cast.mai.pk, "hollow-hold", 0))
    fixes = ((spotter,), (wall, lock))
    monkeypatch.setattr(planner, "plan", lambda problem, near=None: Clash(fixes))
    answer = page(cast)
    words = text_of(answer)
    assert answer.status_code == 200
    assert "1 more person who may spot Back walkover (1 spotter)" in words
    said = "2 more places for a station at the wall and give up: “Mai is at Hollow hold in"
    assert said in html.unescape(words)
    assert "Take it" not in words


def test_how_good_it_is_stands_behind_a_more(cast):
    shown = page(cast).content.decode()
    assert re.search(r"<details[^>]*><summary>How good this plan is</summary>", shown)
    assert "at most 2 % more" in text_of(page(cast))


def test_the_command_says_the_same_and_takes_nothing(cast, capsys):
    call_command("plan_stations", "--meeting", str(cast.meeting.uuid))
    assert "Mai" in capsys.readouterr().out
    call_command("plan_stations", "--meeting", str(cast.meeting.uuid), "--json")
    data = json.loads(capsys.readouterr().out)
    assert data["rotations"] == 6
    assert {each["child"] for each in data["children"]} == {
        str(cast.mai.uuid), str(cast.ilse.uuid),
    }  # fmt: skip
    assert not StationPlan.objects.exists()


def test_the_command_ends_with_an_error_where_nothing_can_be_done(cast, monkeypatch, capsys):
    clash = Clash(((Fix("adult"),),))
    monkeypatch.setattr(planner, "plan", lambda problem, near=None: clash)
    with pytest.raises(CommandError, match="cannot be planned"):
        call_command("plan_stations", "--meeting", str(cast.meeting.uuid), "--json")
    assert json.loads(capsys.readouterr().out)["remedies"] == ["1 more adult in the room"]
    with pytest.raises(CommandError, match="no such meeting"):
        call_command("plan_stations", "--meeting", str(uuid.uuid4()))


def test_a_merged_childs_place_is_read_under_the_record_that_stands(cast):
    take(cast)
    twice = make_child("Mai Tran", cast.blue)
    twice.merged_into = cast.mai
    twice.save(update_fields=["merged_into"])
    row = StationPlan.objects.get()
    place = StationPlace.objects.filter(plan=row).first()
    StationPlace.objects.create(
        plan=row, rotation=7, station="hollow-hold", drill=place.drill, spotters=0, child=twice
    )
    assert At(cast.mai.pk, "hollow-hold", 7) in taken_of(cast.meeting).plan.at


def test_the_pages_queries_do_not_grow_with_the_class(cast):
    def queries():
        with CaptureQueriesContext(connection) as caught:
            assert page(cast).status_code == 200
        return len(caught)

    page(cast)
    few = queries()
    for number in range(18):
        make_child(f"Kid{number} Long", cast.blue)
    page(cast)
    assert queries() == few


def test_good_evenings_are_said_to_the_coach_alone_and_not_printed(cast, log, capsys):
    train(cast, "back-walkover")
    lacks_turns(cast, log, cast.mai)
    for weeks in (2, 1):
        day = TODAY - datetime.timedelta(weeks=weeks)
        log(cast.mai, "back-walkover", "11", day=day, support=1, surface=MAT, by=cast.ines)
    shown = page(cast, f"?lock={token(cast, cast.mai, 'back-walkover%2B1', 1)}").content.decode()
    sentence = "Mai three: one good evening could bring Mai to review."
    (held,) = re.findall(r'<details class="no-print"><summary>Held turns.*?</details>', shown, re.S)
    assert sentence in held
    assert shown.count(sentence) == 1
    for form in ((), ("--json",)):
        call_command("plan_stations", "--meeting", str(cast.meeting.uuid), *form)
        assert "to review" not in capsys.readouterr().out
