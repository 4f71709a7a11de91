"""What was made after a backup comes back with the tablets' lines, once, and nothing else does."""

import datetime
import json
import uuid
from typing import Any

import pytest
import time_machine
from django.core import signing
from django.test import Client

from progression.models import Attempt, RejectedLine
from readiness.outbox.file import read_outbox_file, take_outbox_file
from readiness.record import decisions
from readiness.record.restored.origin import SALT, make_origin
from readiness.record.snapshots import stage_snapshot
from readiness.record.standings import read
from studio import access
from studio.models import Child, ClassGroup, Location, Meeting, Restore, Staff, Studio
from studio.people.consents import NOT_ASKED, answer_on
from studio.people.meetings import meeting_on, new_meeting_id
from tests.support.cast import NOW, TODAY, Cast, make_child, make_class, time_ordered_id
from tests.support.pages import text_of

HOUR = datetime.timedelta(hours=1)
# The backup, what was made after it, the restore, and now.
BACKUP, MADE, RESTORED = NOW - 3 * HOUR, NOW - 2 * HOUR, NOW - HOUR


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def restored(cast: Cast) -> Cast:
    Restore.objects.create(made_at=BACKUP, at=RESTORED)
    return cast


class Lost:
    """A new class with Omar, its meeting and one new child, as a tablet knew them; they are not in
    the database any more."""

    def __init__(self, cast: Cast, hall: Location | None = None, made=MADE) -> None:
        group = make_class("Green", hall or cast.hall, cast.omar)
        child = make_child("Nia Oduya", group, hands=False)
        make_child_of = [cast.mai, child]
        group.children.set(make_child_of)
        meeting = meeting_on(group, TODAY)
        self.group, self.meeting, self.child = group.uuid, meeting.uuid, child.uuid
        self.origin = make_origin(
            meeting, [each.uuid for each in make_child_of], [cast.omar.uuid], made
        )
        meeting.staff.clear()
        meeting.delete()
        group.children.clear()
        group.delete()
        child.delete()


def turns(child: uuid.UUID, n: int) -> list[dict[str, Any]]:
    return [
        {
            "kind": "turn",
            "id": str(time_ordered_id(NOW, k)),
            "at": NOW.isoformat(),
            "child": str(child),
            "drill": "log-roll",
            "surface": "sprung-dance-floor",
            "support": 0,
            "clean": True,
        }
        for k in range(n)
    ]


def send(who: Staff, meeting: uuid.UUID, lines: list[dict[str, Any]], **about: object) -> Any:
    client = Client()
    client.force_login(who)
    body = {"v": 2, "device": "t", "sent_at": NOW.isoformat(), "lines": lines, **about}
    return client.post(f"/floor/{meeting}/attempts", json.dumps(body), "application/json")


def answers(response: Any) -> list[str]:
    assert response.status_code == 200, response.content
    return [line["answer"] for line in response.json()["lines"]]


def test_a_lost_class_meeting_and_child_come_back_with_the_lines_once(restored):
    lost, lines = Lost(restored), None
    lines = turns(lost.child, 3) + turns(restored.mai.uuid, 1)
    lines[-1]["id"] = str(time_ordered_id(NOW, 9))
    assert answers(send(restored.omar, lost.meeting, lines, origin=lost.origin)) == ["kept"] * 4
    # Another tablet has the same ones.
    assert answers(send(restored.omar, lost.meeting, lines, origin=lost.origin)) == ["had"] * 4
    group = ClassGroup.objects.get(uuid=lost.group)
    assert (group.location, group.to_be_sorted) == (restored.hall, True)
    assert group.staff.get() == restored.omar
    assert Meeting.objects.get(uuid=lost.meeting).date == TODAY
    assert Attempt.objects.filter(child__uuid=lost.child).count() == 3
    assert set(group.children.all()) == {restored.mai, Child.objects.get(uuid=lost.child)}


def test_a_child_who_came_back_is_never_lettered_and_never_signed(restored, client):
    lost = Lost(restored)
    send(restored.omar, lost.meeting, turns(lost.child, 3), origin=lost.origin)
    child = Child.objects.get(uuid=lost.child)
    assert not child.is_known
    assert answer_on(child.spotting_consents.all(), TODAY) == NOT_ASKED
    client.force_login(restored.petra)
    assert client.get(f"/children/{child.uuid}").status_code == 200
    assert client.get(f"/children/{child.uuid}/letter").status_code == 404
    assert "age not known" in text_of(client.get(f"/children/{child.uuid}"))
    for page in ("/review", "/consents", f"/classes/{lost.group}", "/"):
        assert client.get(page).status_code == 200


def test_nothing_is_recommended_for_a_child_who_is_not_known(restored, log, monkeypatch):
    monkeypatch.setattr(decisions, "is_for_review", lambda *_: True)
    monkeypatch.setattr(decisions, "surfaces_met", lambda *_: ["sprung-dance-floor"])
    Child.objects.filter(pk=restored.mai.pk).update(birth_year=None, birth_month=None)
    seen = stage_snapshot(read(restored.mai, TODAY), "4")
    with pytest.raises(decisions.DecisionRefused) as refused:
        decisions.recommend(
            restored.mai, "4", restored.omar, seen, NOW, "sprung-dance-floor", "calm"
        )
    assert refused.value.code == "child-not-known"


def test_the_desk_says_who_and_which_they_are(restored, client):
    lost = Lost(restored)
    send(restored.omar, lost.meeting, turns(lost.child, 1), origin=lost.origin)
    client.force_login(restored.petra)
    assert "came back" in text_of(client.get("/"))
    answer = client.post(f"/sorting/children/{lost.child}", {"name": "Nia", "born": "2015"})
    assert answer.status_code == 422
    for name in ("\u200b", "x" * 121):
        said = {"name": name, "born": "2015-02"}
        assert client.post(f"/sorting/children/{lost.child}", said).status_code == 422
    said = {"name": "Nia  Oduya", "name_used": "Nia", "born": "2015-02"}
    assert client.post(f"/sorting/children/{lost.child}", said).status_code == 302
    child = Child.objects.get(uuid=lost.child)
    assert (child.name, child.called, child.born, child.is_known) == (
        "Nia Oduya", "Nia", "2015-02", True,
    )  # fmt: skip
    said = {"name": "Blue", "hall": restored.hall.pk}
    assert client.post(f"/sorting/classes/{lost.group}", said).status_code == 422
    said = {"name": "Green", "hall": restored.hall.pk}
    assert client.post(f"/sorting/classes/{lost.group}", said).status_code == 302
    assert "came back" not in text_of(client.get("/"))
    assert Attempt.objects.get().child == child


def test_a_class_of_a_hall_that_is_not_here_goes_to_be_sorted(restored):
    hall = Location.objects.create(name="New hall", zone="Europe/Lisbon")
    lost = Lost(restored, hall)
    hall.delete()
    assert answers(send(restored.omar, lost.meeting, turns(lost.child, 1), origin=lost.origin)) == [
        "kept"
    ]
    group = ClassGroup.objects.get(uuid=lost.group)
    assert (group.location.name, group.location.zone) == ("To be sorted", "Europe/Lisbon")
    assert group in access.unsorted_classes(restored.petra)


def test_a_tablet_hears_first_that_the_log_has_a_new_name(restored):
    """So that nothing of a lost child is refused before the tablet brings what it keeps."""
    child = make_child("Nia Oduya", restored.blue, hands=False)
    everybody = [each.uuid for each in restored.blue.children.all()]
    origin = make_origin(restored.meeting, everybody, [restored.omar.uuid], MADE)
    lost = child.uuid
    child.classes.clear()
    child.delete()
    lines = turns(lost, 2)
    first = send(restored.omar, restored.meeting.uuid, lines, log="an older name", origin=None)
    assert answers(first) == []
    assert RejectedLine.objects.count() == 0
    log = first.json()["log"]
    assert log == str(Studio.objects.get().log)
    again = send(restored.omar, restored.meeting.uuid, lines, log=log, origin=origin)
    assert answers(again) == ["kept", "kept"]
    # A page of an older release knows of no origin: it is answered line by line.
    old = send(restored.omar, restored.meeting.uuid, lines, log="an older name")
    assert answers(old) == ["had", "had"]


def test_a_404_says_the_log_s_name(restored):
    answer = send(restored.omar, uuid.uuid4(), turns(restored.mai.uuid, 1), origin=None)
    assert answer.status_code == 404
    assert answer.json()["error"] == "not-found"
    assert answer.json()["log"] == str(Studio.objects.get().log)


@pytest.mark.parametrize("made", [BACKUP, RESTORED + datetime.timedelta(seconds=1)])
def test_what_was_not_made_between_backup_and_restore_makes_nothing(restored, made):
    """A former coach's tablet cannot bring a class or a child back that was ended on purpose."""
    lost = Lost(restored, made=made)
    before = Child.objects.count(), ClassGroup.objects.count(), Meeting.objects.count()
    answer = send(restored.omar, lost.meeting, turns(lost.child, 1), origin=lost.origin)
    assert answer.status_code == 404
    assert (Child.objects.count(), ClassGroup.objects.count(), Meeting.objects.count()) == before


def test_whom_the_class_was_not_for_gets_nothing_of_it(restored):
    lost = Lost(restored)
    answer = send(restored.ines, lost.meeting, turns(lost.child, 1), origin=lost.origin)
    assert answer.status_code == 404
    assert Attempt.objects.count() == 0


@pytest.mark.parametrize("key", ["another server's key", None])
def test_lines_of_another_server_s_class_are_set_aside_in_full(restored, key):
    lost = Lost(restored)
    origin = signing.dumps({}, key=key, salt=SALT) if key else "nonsense"
    lines = turns(lost.child, 2)
    answer = send(restored.omar, lost.meeting, lines, origin=origin)
    assert [(line["answer"], line["code"]) for line in answer.json()["lines"]] == [
        ("refused", "other-server")
    ] * 2
    assert {json.loads(each.body)["id"] for each in RejectedLine.objects.all()} == {
        line["id"] for line in lines
    }
    assert not Meeting.objects.filter(uuid=lost.meeting).exists()


def test_a_saved_file_brings_a_lost_class_too(restored, client):
    lost, other = Lost(restored), uuid.uuid4()
    records = [
        {"meeting": str(lost.meeting), "author": str(restored.omar.uuid), "line": line}
        for line in turns(lost.child, 3)
    ]
    strange = {
        "meeting": str(other),
        "author": str(restored.omar.uuid),
        "line": turns(restored.mai.uuid, 6)[5],
    }
    content = {
        "v": 2,
        "device": "t",
        "records": [*records, strange],
        "origins": {str(lost.meeting): lost.origin, str(other): "nonsense"},
    }
    file = read_outbox_file(json.dumps(content).encode())
    for expected in ((3, 0), (0, 3)):
        taken = take_outbox_file(
            file, access.visible_meetings(restored.petra, TODAY), restored.petra, NOW
        )
        (row,) = taken.meetings
        assert (row.kept, row.had) == expected
        assert taken.other_server == 1
    assert RejectedLine.objects.count() == 1


def test_a_restore_that_nobody_told_of_is_noticed_by_what_a_tablet_names(cast, log):
    """The database was put back by other means; its log still has the old name."""
    log(cast.mai, "log-roll", "1", support=0)
    name = str(Studio.objects.get().log)
    answer = send(cast.omar, cast.meeting.uuid, [], log=name, last=str(uuid.uuid4()), origin=None)
    assert answer.json()["log"] != name
    restore = Restore.objects.get()
    assert restore.made_at == Attempt.objects.get().received_at
    assert restore.at == NOW


@pytest.mark.parametrize(
    "said", [{"kind": "here", "present": False}, {"kind": "hurt", "place": "wrist"}]
)
def test_a_line_that_is_no_turn_is_known_as_well(cast, said):
    line = said | {"id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    line["child"] = str(cast.mai.uuid)
    assert answers(send(cast.omar, cast.meeting.uuid, [line])) == ["kept"]
    name = str(Studio.objects.get().log)
    answer = send(cast.omar, cast.meeting.uuid, [], log=name, last=line["id"], origin=None)
    assert answer.json()["log"] == name
    assert not Restore.objects.exists()


def test_a_meeting_s_id_is_made_of_the_class_and_the_planned_time(cast):
    cast.meeting.staff.clear()
    cast.meeting.delete()
    meeting = meeting_on(cast.blue, TODAY)
    assert meeting.uuid == uuid.uuid5(cast.blue.uuid, "2026-03-04 17:30")
    assert meeting_on(cast.blue, TODAY) == meeting
    # Moved to another day, it keeps its id; a second one planned for that time has another.
    Meeting.objects.filter(pk=meeting.pk).update(date=TODAY + datetime.timedelta(days=1))
    second = meeting_on(cast.blue, TODAY)
    assert second.uuid == uuid.uuid5(cast.blue.uuid, "2026-03-04 17:30:2")
    assert new_meeting_id(cast.blue, TODAY, cast.blue.starts_at) == uuid.uuid5(
        cast.blue.uuid, "2026-03-04 17:30:3"
    )


def test_the_pack_carries_an_origin_without_names(cast, client):
    client.force_login(cast.omar)
    origin = client.get(f"/floor/{cast.meeting.uuid}/pack").json()["origin"]
    said = signing.loads(origin, salt=SALT)
    assert said["meeting"] == str(cast.meeting.uuid)
    assert set(said["children"]) == {str(cast.mai.uuid), str(cast.ilse.uuid)}
    assert set(said["staff"]) == {str(cast.omar.uuid), str(cast.tam.uuid)}
    text = json.dumps(said)
    for name in ("Mai", "Ilse", "Omar", "Blue", "Mill"):
        assert name not in text


def test_a_name_of_one_long_word_is_a_name(restored, client):
    lost = Lost(restored)
    send(restored.omar, lost.meeting, turns(lost.child, 1), origin=lost.origin)
    client.force_login(restored.petra)
    said = {"name": "N" * 120, "born": "2015-02"}
    assert client.post(f"/sorting/children/{lost.child}", said).status_code == 302
    assert Child.objects.get(uuid=lost.child).called == "N" * 120
