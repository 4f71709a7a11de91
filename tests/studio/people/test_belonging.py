"""Who belonged to a class on a day, and for how long somebody who taught there goes on reading."""

import datetime
import io
import json

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.test import Client

from progression.models import Attempt
from studio.models import Child, Meeting
from studio.people import class_lists
from studio.people.class_lists import belonged, belonged_or_belongs
from studio.people.meetings import meeting_on
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id

DAY = datetime.timedelta(days=1)


def called(condition):
    return sorted(child.name for child in Child.objects.filter(condition))


def pack(staff, meeting):
    client = Client()
    client.force_login(staff)
    return client.get(f"/floor/{meeting.uuid}/pack")


def names_in(answer):
    return sorted(child["name"] for child in answer.json()["children"])


# Children


def test_a_child_belongs_from_the_day_it_came_to_the_day_it_left(cast):
    zoe = make_child("Zoe Ray")
    class_lists.join(zoe, cast.blue, TODAY - 20 * DAY)
    class_lists.join(zoe, cast.blue, TODAY - 10 * DAY)
    class_lists.leave(zoe, cast.blue, TODAY - 5 * DAY)
    class_lists.join(zoe, cast.blue, TODAY + 5 * DAY)
    belongs = {
        days: "Zoe Ray" in called(belonged(cast.blue.pk, TODAY + days * DAY))
        for days in (-21, -20, -6, -5, 0, 4, 5, 6)
    }
    assert [days for days, there in belongs.items() if there] == [-20, -6, 5, 6]


def test_without_any_change_a_child_has_always_been_there(cast):
    before = called(belonged(cast.blue.pk, TODAY - 900 * DAY))
    assert before == sorted(child.name for child in cast.blue.children.all())


def test_a_pack_lists_who_belonged_to_the_class_on_its_date(cast):
    class_lists.leave(cast.ilse, cast.blue, TODAY + DAY)
    class_lists.join(cast.rosa, cast.blue, TODAY + DAY)
    later = meeting_on(cast.blue, TODAY + 7 * DAY)
    with time_machine.travel(NOW + 7 * DAY, tick=False):
        assert names_in(pack(cast.omar, cast.meeting)) == ["Ilse", "Mai"]
        assert names_in(pack(cast.omar, later)) == ["Mai", "Rosa"]


@pytest.mark.parametrize("strike", [False, True])
def test_a_turn_of_an_evening_before_the_child_left_is_taken_late(cast, strike):
    class_lists.leave(cast.ilse, cast.blue, TODAY + DAY)
    assert cast.ilse.name in called(belonged_or_belongs(cast.blue.pk, TODAY, TODAY))
    lines = [
        {
            "kind": "turn",
            "id": str(time_ordered_id(NOW, 1)),
            "at": NOW.isoformat(),
            "child": str(cast.ilse.uuid),
            "drill": "wall-shrugs",
            "surface": "air-floor",
            "value": 7,
        }
    ]
    if strike:
        about = {"turn": lines[0]["id"], "code": "wrong-child", "at": NOW.isoformat()}
        lines.append({"kind": "strike", "id": str(time_ordered_id(NOW, 2)), **about})
    client = Client()
    client.force_login(cast.omar)
    with time_machine.travel(NOW + 2 * DAY, tick=False):
        sent_at = (NOW + 2 * DAY).isoformat()
        call = {"v": 1, "device": "t", "sent_at": sent_at, "lines": lines}
        answer = client.post(
            f"/floor/{cast.meeting.uuid}/attempts",
            json.dumps(call),
            content_type="application/json",
        )
    assert {line["answer"] for line in answer.json()["lines"]} == {"kept"}
    assert Attempt.objects.filter(child=cast.ilse).count() == 1


def test_the_command_takes_a_child_out_and_names_what_is_not_there(cast):
    words = ["--location", cast.hall.name, "--child"]
    out = io.StringIO()
    with time_machine.travel(NOW, tick=False):
        call_command("leave_class", "Blue", *words, cast.ilse.name, stdout=out)
        assert not cast.blue.children.filter(pk=cast.ilse.pk).exists()
        with pytest.raises(CommandError, match="in that class"):
            call_command("leave_class", "Blue", *words, cast.ilse.name)
        with pytest.raises(CommandError, match="There is no class"):
            call_command("leave_class", "Green", *words, cast.ilse.name)


def test_a_roster_keeps_the_day_on_which_a_child_came(cast):
    from studio.imports.bring_in import FileOptions
    from studio.roster.bring_in import ROSTER, Scope, read_roster

    data = b"NAME,BIRTH,CLASS,GUARDIAN\nNia Oduya,2015-02,Blue,B Oduya\n"
    scope = Scope.of(cast.petra, TODAY)
    ROSTER.store(read_roster(data, FileOptions(), scope, TODAY), scope, NOW)
    assert "Nia Oduya" not in called(belonged(cast.blue.pk, TODAY - DAY))
    assert "Nia Oduya" in called(belonged(cast.blue.pk, TODAY))


# Staff


def addresses(cast):
    mai, meeting = cast.mai.uuid, cast.meeting.uuid
    return [
        ("get", f"/floor/{meeting}"),
        ("get", f"/floor/{meeting}/pack"),
        ("post", f"/floor/{meeting}/attempts"),
        ("get", f"/children/{mai}"),
        ("get", f"/children/{mai}/evidence/4"),
        ("get", f"/children/{mai}/letter"),
        ("post", f"/children/{mai}/letter.pdf"),
        ("post", f"/children/{mai}/told"),
        ("post", f"/children/{mai}/sore"),
        ("post", f"/children/{mai}/growing"),
        ("post", f"/children/{mai}/pause"),
        ("post", f"/children/{mai}/consent"),
        ("post", f"/children/{mai}/step"),
        ("post", f"/children/{mai}/recommend/4"),
    ]


def answers(staff, cast):
    client = Client()
    client.force_login(staff)
    return {
        address: getattr(client, method)(address).status_code for method, address in addresses(cast)
    }


def test_a_stand_in_reads_for_28_days_and_then_nothing_at_any_address(cast):
    cast.meeting.staff.add(cast.ines)
    with time_machine.travel(NOW + 28 * DAY, tick=False):
        assert 404 not in answers(cast.ines, cast).values()
    with time_machine.travel(NOW + 29 * DAY, tick=False):
        assert set(answers(cast.ines, cast).values()) == {404}


def test_a_former_coach_reads_nothing_from_the_day_the_class_is_anothers(cast):
    Meeting.objects.all().delete()
    cast.meeting = meeting_on(cast.blue, TODAY)
    with time_machine.travel(NOW, tick=False):
        assert 404 not in answers(cast.omar, cast).values()
        cast.blue.staff.remove(cast.omar)
        assert set(answers(cast.omar, cast).values()) == {404}


def test_the_classes_own_staff_are_not_written_into_a_meeting_and_are_counted_all_the_same(cast):
    meeting = meeting_on(cast.blue, TODAY + 7 * DAY)
    assert not meeting.staff.exists()
    with time_machine.travel(NOW, tick=False):
        own = pack(cast.omar, meeting).json()["meeting"]["adults"]
        meeting.staff.add(cast.ines, cast.omar)
        assert pack(cast.omar, meeting).json()["meeting"]["adults"] == own + 1 == 3
