"""The evidence hour: who could come, who plans, and what graders are not shown."""

import datetime

import pytest
import time_machine
from django.test import Client

from progression.models import Attempt
from readiness.hour.candidates import TURNS, candidates
from readiness.models import HourChild, Pain, Pause
from readiness.record.ladders import Ladders
from readiness.record.standings import read
from tests.support.cast import NOW, TODAY, make_child, make_staff, time_ordered_id
from tests.support.pages import get, text_of
from tests.support.ready import MAT, lacks_turns

LATER = NOW + datetime.timedelta(hours=2)
WEEK = datetime.timedelta(weeks=1)


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(LATER, tick=False):
        yield


@pytest.fixture
def ola(cast):
    return make_staff("Ola", "coach", cast.hall)


@pytest.fixture
def mai(cast, log):
    lacks_turns(cast, log, cast.mai)
    return cast.mai


def found(*children, on=TODAY):
    return candidates(list(children), LATER, on)


def planned(client, cast, ola, *children, **more):
    client.force_login(cast.petra)
    page = client.get("/evidence-hour")
    data = {
        "token": page.context["form"]["token"].value(),
        "evening": page.context["chosen"],
        "children": [str(child.uuid) for child in children],
        "first": str(cast.omar.uuid),
        "second": str(ola.uuid),
    }
    return client.post("/evidence-hour", data | more)


def test_who_lacks_only_turns_is_found_with_the_chance_of_the_engine(cast, mai):
    (each,) = found(mai, cast.ilse)
    assert (each.child, each.why_not, each.drill, each.support) == (mai, "", "back-walkover", 1)
    reading = read(mai, TODAY)
    gate = next(g.gate for g in reading.read.stage("4").gates if g.gate.code == "4.back-walkover")
    days = reading.evidence.clean_days(gate.drill, Ladders().on(TODAY), TODAY, gate.scope(MAT))
    assert [entry[1:] for entry in days] == [(4, 4)] * 3
    # Sure enough, three days of four: one more day with clean turns, as a rule.
    assert 0.8 < each.chance < 1
    assert TURNS == 6
    assert any("seen by two" in other for other in each.others)


def test_whom_an_hour_is_not_enough_stands_below_the_others(cast, client, mai, log):
    """Clean turns are asked on four days: one day and this one are two."""
    far = make_child("Ada Far", cast.blue)
    lacks_turns(cast, log, far, days=((6, 2), (5, 2), (4, 2), (3, 2), (1, 1)))
    near, below = found(far, mai)
    assert (near.child, near.is_enough) == (mai, True)
    assert (below.child, below.is_enough, below.why_not) == (far, False, "")
    words = text_of(get(client, cast.petra, "/evidence-hour"))
    assert words.index("Mai") < words.index("6 turns that evening would not be enough")
    assert words.index("would not be enough") < words.index("Ada")


def test_who_is_not_clean_often_enough_is_not_found(cast, log):
    lacks_turns(cast, log, cast.mai, outcomes="1000")
    assert found(cast.mai) == []


def test_nobody_on_re_check_is_found(cast, log, mai):
    log(mai, "back-walkover", "0", support=1, surface=MAT, faults=("arms-give",))
    assert found(mai) == []


def test_whom_something_hurts_is_left_out(cast, mai):
    hurts(cast, None, mai)
    (each,) = found(mai)
    assert "hurts" in each.why_not


@pytest.mark.parametrize(("back", "left_out"), [(14, True), (15, False)])
def test_nobody_within_fourteen_days_of_a_stop_sign(cast, log, mai, back, left_out):
    """At another skill, which sends this one nowhere."""
    day = TODAY - datetime.timedelta(days=back)
    log(mai, "safe-fall", "0", day=day, support=0, surface=MAT, faults=("head-touches",))
    (each,) = found(mai)
    assert ("stop sign" in each.why_not) == left_out


def test_a_child_is_in_one_hour_at_a_time(cast, client, ola, mai):
    assert planned(client, cast, ola, mai).status_code == 302
    (each,) = found(mai)
    assert "hour to come" in each.why_not


def test_the_planner_chooses_up_to_four_and_two_others_who_grade(cast, client, ola, mai, log):
    page = text_of(get(client, cast.petra, "/evidence-hour"))
    assert "Mai" in page
    assert " %" in page
    for wrong in (
        {"children": []},
        {"second": str(cast.omar.uuid)},
        {"first": str(cast.petra.uuid)},
        {"first": str(cast.tam.uuid)},
        {"children": [str(cast.ilse.uuid)]},
    ):
        assert planned(client, cast, ola, mai, **wrong).status_code == 422
    assert not HourChild.objects.exists()
    assert planned(client, cast, ola, mai).status_code == 302
    row = HourChild.objects.get()
    assert (row.child, row.first, row.second, row.by) == (mai, cast.omar, ola, cast.petra)


def test_five_children_are_one_too_many(cast, client, ola, log):
    children = [make_child(f"Kid{n} Long", cast.blue) for n in range(5)]
    for child in children:
        lacks_turns(cast, log, child)
    answer = planned(client, cast, ola, *children)
    assert answer.status_code == 422
    assert "Four children at most" in text_of(answer)
    assert planned(client, cast, ola, *children[:4]).status_code == 302


def test_a_child_of_another_class_is_a_visitor(cast, client, ola, log):
    lacks_turns(cast, log, cast.rosa)
    assert planned(client, cast, ola, cast.rosa).status_code == 302
    meeting = HourChild.objects.get().meeting
    assert (meeting.group, meeting.visits.get().child) == (cast.blue, cast.rosa)


@pytest.fixture
def sheet(cast, client, ola, mai):
    planned(client, cast, ola, mai)
    return f"/evidence-hour/{HourChild.objects.get().meeting.uuid}"


def write(client, who, sheet, *turns):
    row = HourChild.objects.get()
    page = get(client, who, sheet)
    data = {"token": page.context["sheet"].token["token"].value()}
    for number, (clean, fault) in enumerate(turns, start=1):
        data[f"{row.pk}-{number}-clean_turn"], data[f"{row.pk}-{number}-fault"] = clean, fault
    return client.post(sheet, data), data


def test_a_graders_sheet_has_no_chance_no_gate_and_no_other_grade(cast, client, ola, mai, sheet):
    write(Client(), ola, sheet, ("no", "arms-give"), ("yes", ""))
    answer = get(client, cast.omar, sheet)
    words = text_of(answer)
    assert "Mai" in words
    assert "Back walkover" in words
    for hidden in ("%", "chance", "gate", "sure", "steady", "logged."):
        assert hidden not in words
    assert answer.content.decode().count("Turn ") == 3
    # Nor a link to where they stand.
    assert str(mai.uuid) not in answer.content.decode()


def test_the_way_to_ones_own_sheet_is_on_the_review(cast, client, mai, sheet):
    link = f'<a href="{sheet}">Your sheet of the evidence hour: Blue, '
    assert link in get(client, cast.omar, "/review").content.decode()
    for other in (cast.petra, cast.ines):
        assert sheet not in get(client, other, "/review").content.decode()
    with time_machine.travel(LATER + datetime.timedelta(days=1), tick=False):
        assert sheet not in get(client, cast.omar, "/review").content.decode()


def test_who_grades_is_shown_no_chance_until_it_is_over(cast, client, mai):
    data = {"first": str(cast.omar.uuid), "second": str(cast.luis.uuid)}
    planned(client, cast, cast.luis, mai, **data)
    words = text_of(get(client, cast.luis, "/evidence-hour"))
    assert "no chances are shown to you" in words
    assert "Mai" not in words
    with time_machine.travel(LATER + datetime.timedelta(days=1), tick=False):
        assert "no chances" not in text_of(get(client, cast.luis, "/evidence-hour"))


def test_what_a_grader_saw_is_logged_once_under_that_name(cast, client, mai, sheet):
    before = Attempt.objects.count()
    answer, data = write(client, cast.omar, sheet, ("yes", ""), ("no", "caught"), ("", ""))
    assert answer.status_code == 302
    assert client.post(sheet, data).status_code == 302
    turns = Attempt.objects.order_by("done_at", "pk")[before:]
    assert [(t.author, t.child, t.clean, t.caught, t.graded, t.support) for t in turns] == [
        (cast.omar, mai, True, False, True, 1),
        (cast.omar, mai, False, True, True, 1),
    ]
    assert "Turn 1" in text_of(client.get(sheet))
    assert "Turn 2" not in text_of(client.get(sheet))


def test_a_clean_turn_has_no_fault(cast, client, sheet):
    before = Attempt.objects.count()
    answer, _data = write(client, cast.omar, sheet, ("yes", "arms-give"))
    assert answer.status_code == 422
    assert Attempt.objects.count() == before


@pytest.mark.parametrize("days", [-1, 1])
def test_nothing_is_written_down_on_another_day(cast, client, sheet, days):
    before = Attempt.objects.count()
    with time_machine.travel(LATER + datetime.timedelta(days=days), tick=False):
        words = text_of(get(client, cast.omar, sheet))
        answer, _data = write(client, cast.omar, sheet, ("yes", ""))
    assert "on the day of the hour" in words
    assert "Log what I saw" not in words
    assert answer.status_code == 409
    assert "Nothing was logged" in text_of(answer)
    assert Attempt.objects.count() == before


def hurts(cast, log, child):
    Pain.objects.create(
        id=time_ordered_id(NOW), child=child, meeting=cast.meeting, place="wrist", day=TODAY,
        at=NOW, by=cast.omar, received_at=NOW, digest="0",
    )  # fmt: skip


def has_a_stop_sign(cast, log, child):
    log(child, "safe-fall", "0", support=0, surface=MAT, faults=("head-touches",))


def is_sent_back(cast, log, child):
    """By turns that were not clean, without a stop sign."""
    for back in (2, 1):
        day = TODAY - datetime.timedelta(days=back)
        log(child, "back-walkover", "0" * 8, day=day, support=1, surface=MAT)


def is_paused(cast, log, child):
    Pause.objects.create(child=child, by=cast.petra, at=NOW, day=TODAY, reason="Asked to wait.")


@pytest.mark.parametrize("happens", [hurts, has_a_stop_sign, is_sent_back, is_paused])
def test_who_was_planned_is_left_in_peace_for_what_came_since(
    cast, client, log, mai, sheet, happens
):
    assert "Not tonight" not in text_of(get(client, cast.omar, sheet))
    happens(cast, log, mai)
    words = text_of(get(client, cast.omar, sheet))
    assert "Not tonight, after all: a director knows why." in words
    assert "stop sign on" not in words


def test_the_planner_prints_both_sheets_and_writes_on_neither(cast, client, sheet):
    answer = get(client, cast.petra, sheet)
    words = text_of(answer)
    assert "Omar" in words
    assert "Ola" in words
    assert "%" not in words
    assert client.post(sheet, {}).status_code == 404
    for stranger in (cast.ines, cast.dora):
        assert get(client, stranger, sheet).status_code == 404


def test_queries_do_not_grow_with_the_children(cast, client, log, django_assert_max_num_queries):
    def queries(names):
        for name in names:
            lacks_turns(cast, log, make_child(name, cast.blue))
        client.force_login(cast.petra)
        client.get("/evidence-hour")
        with django_assert_max_num_queries(60) as asked:
            client.get("/evidence-hour")
        return len(asked)

    few = queries(["Ada One", "Bo Two"])
    assert queries([f"Kid{n} More" for n in range(8)]) == few
