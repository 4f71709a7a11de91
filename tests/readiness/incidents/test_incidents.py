"""What the floor logs is the start of an incident; the rest is written at the desk, and stays."""

import datetime
import json
import uuid

import pytest
import time_machine

from progression.models import Attempt
from readiness.floor.pack import build_pack
from readiness.models import Fell, HeadKnock, IncidentAccount, IncidentAddition, Pain, Pause
from readiness.record.intake import take_lines
from readiness.record.standings import read
from readiness.record.told.incidents import incidents_of
from studio.models import Child
from studio.people.class_lists import leave
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.pages import get, text_of

MINUTE = datetime.timedelta(minutes=1)
HOUR = datetime.timedelta(hours=1)
ROWS = (IncidentAccount, IncidentAddition, HeadKnock, Pain)


@pytest.fixture
def page(client, cast):
    client.force_login(cast.omar)
    with time_machine.travel(NOW, tick=False):
        yield client


def line(kind, child, minutes_ago=0, **about):
    at = NOW - minutes_ago * MINUTE
    known = {"kind": kind, "id": str(time_ordered_id(at)), "at": at.isoformat()}
    return known | {"child": str(child.uuid)} | about


def send(cast, *lines, by=None):
    answers = take_lines(cast.meeting, by or cast.omar, "tablet 3", NOW, lines, 3, NOW)
    return [answer.answer for answer in answers]


def turn(child, minutes_ago=0, **about):
    known = {"drill": "back-walkover", "surface": "sprung-dance-floor", "support": 3}
    return line("turn", child, minutes_ago, clean=False, **known, **about)


def happened(*children):
    found = Child.objects.filter(pk__in=[child.pk for child in children])
    return incidents_of(found, TODAY - datetime.timedelta(days=7), TODAY)


def address(child, start, what=""):
    return f"/children/{child.uuid}/incidents/{start}{what}"


def write(client, child, start, **about):
    data = {
        "token": str(uuid.uuid4()), "day": TODAY, "time": "17:40", "kind": "fall",
        "drill": "back-walkover", "support": 3, "surface": "sprung-dance-floor",
        "mats": "two mats, no gap", "what": "Her left foot slid.", "first_aid": "ice, by Omar",
    }  # fmt: skip
    return client.post(address(child, start, "/account"), data | about)


def add(client, child, start, text="The wrist was sprained."):
    data = {"token": str(uuid.uuid4()), "text": text}
    return client.post(address(child, start, "/addition"), data)


def test_a_fall_a_head_and_a_catch_are_each_the_start_of_one(cast):
    lines = [
        line("fell", cast.mai, 50),
        line("hurt", cast.ilse, 50, place="neck"),
        turn(cast.mai, 30, caught=True),
        turn(cast.ilse, 30, faults=["head-touches"]),
        turn(cast.mai, 10, faults=["half-hearted"]),
        line("hurt", cast.mai, 5, place="wrist"),
    ]
    assert send(cast, *lines) == ["kept"] * 6
    kinds = {(each.child, each.kind, each.drill) for each in happened(cast.mai, cast.ilse)}
    assert kinds == {
        (cast.mai.pk, "fall", ""),
        (cast.ilse.pk, "head", ""),
        (cast.mai.pk, "caught", "back-walkover"),
        (cast.ilse.pk, "head", "back-walkover"),
    }


def test_what_is_logged_soon_after_each_other_is_one_and_the_gravest_names_it(cast):
    # A quarter of an hour after the line before; the last one is too late.
    send(
        cast, turn(cast.mai, 50, caught=True), line("fell", cast.mai, 45),
        line("hurt", cast.mai, 30, place="head"), turn(cast.mai, 14, caught=True),
    )  # fmt: skip
    later, first = sorted(happened(cast.mai), key=lambda each: len(each.starts))
    assert [len(first.starts), first.kind, first.drill] == [3, "head", "back-walkover"]
    assert [len(later.starts), later.kind] == [1, "caught"]


def test_a_fall_that_was_a_wrong_tap_is_none(cast):
    fell = line("fell", cast.mai, 5)
    strike = line("strike", cast.mai, 4, turn=fell["id"], code="wrong-tap")
    assert send(cast, fell, strike) == ["kept", "kept"]
    assert happened(cast.mai) == []
    assert Fell.objects.count() == 1
    fell = line("fell", cast.mai, 3)
    strike = line("strike", cast.mai, 2, turn=fell["id"], code="wrong-tap")
    assert send(cast, fell) == ["kept"]
    assert send(cast, strike, by=cast.tam) == ["refused"]


def test_a_fall_is_in_the_pack_with_whose_tap_it_was_until_it_is_taken_back(cast):
    def falls(staff):
        pack = json.loads(build_pack(cast.meeting, staff, NOW))
        [mai] = [each for each in pack["children"] if each["id"] == str(cast.mai.uuid)]
        return [(each["id"], each["mine"]) for each in mai["fell"]]

    fell = line("fell", cast.mai, 5)
    send(cast, fell, line("hurt", cast.mai, 4, place="wrist"))
    assert falls(cast.omar) == [(fell["id"], True)]
    assert falls(cast.petra) == [(fell["id"], False)]
    send(cast, line("strike", cast.mai, 2, turn=fell["id"], code="wrong-tap"))
    assert falls(cast.omar) == []


def test_a_fall_sent_twice_is_one(cast):
    fell = line("fell", cast.mai)
    assert send(cast, fell) == ["kept"]
    assert send(cast, fell) == ["had"]
    assert Fell.objects.get().by == cast.omar


def test_the_page_begins_with_what_the_floor_logged(page, cast):
    caught = turn(cast.mai, 20, caught=True)
    send(cast, caught)
    html = page.get(address(cast.mai, caught["id"])).content.decode()
    assert "caught, at Back walkover, hands-on, on" in html
    assert '<option value="caught" selected>' in html
    assert '<option value="back-walkover" selected>' in html
    assert "Not written down yet." in html


@pytest.mark.parametrize(("minutes_ago", "filled_in"), [(5, True), (20, True), (4, False)])
def test_what_hurt_soon_after_it_is_filled_in(page, cast, minutes_ago, filled_in):
    fell = line("fell", cast.mai, 20)
    send(cast, fell, line("hurt", cast.mai, minutes_ago, place="wrist"))
    html = page.get(address(cast.mai, fell["id"])).content.decode()
    assert ('<option value="wrist" selected>' in html) == filled_in
    assert ('<option value="" selected>nothing</option>' in html) != filled_in


def test_what_is_written_is_kept_with_who_wrote_it_and_when(page, cast):
    fell = line("fell", cast.mai, 20)
    send(cast, fell, line("told", cast.mai, 2, what="fall", whom="guardian-phone"))
    assert write(page, cast.mai, fell["id"]).status_code == 302
    row = IncidentAccount.objects.get()
    assert (row.child, row.day, row.kind, row.drill.key) == (
        cast.mai, TODAY, "fall", "back-walkover",
    )  # fmt: skip
    assert (row.by, row.at, row.support, row.hurt) == (cast.omar, NOW, 3, "")
    words = text_of(page.get(address(cast.mai, fell["id"])))
    for said in (
        "two mats, no gap", "Her left foot slid.", "ice, by Omar", "Blue, Mill hall",
        "Family told of a fall: a parent or guardian, by phone", "Wednesday 4 March 2026, 17:40",
        "Written down by Omar, 4 Mar 2026, 18:00.", "Mai Tran, 9 years, Blue",
    ):  # fmt: skip
        assert said in words


def test_for_a_day_it_may_be_written_again_and_what_was_written_before_stays(page, cast):
    fell = line("fell", cast.mai, 20)
    send(cast, fell)
    write(page, cast.mai, fell["id"])
    first = IncidentAccount.objects.get()
    with time_machine.travel(NOW + 23 * HOUR, tick=False):
        again = write(page, cast.mai, fell["id"], seen=first.pk, what="Her right foot slid.")
        assert again.status_code == 302
        words = text_of(page.get(address(cast.mai, fell["id"])))
    assert IncidentAccount.objects.count() == 2
    assert words.index("Her right foot slid.") < words.index("As it was written before")
    assert words.index("As it was written before") < words.rindex("Her left foot slid.")
    assert len(happened(cast.mai)) == 1


def test_after_a_day_it_is_locked_and_only_added_to(page, cast):
    fell = line("fell", cast.mai, 20)
    send(cast, fell)
    write(page, cast.mai, fell["id"])
    first = IncidentAccount.objects.get()
    with time_machine.travel(NOW + 24 * HOUR, tick=False):
        page.force_login(cast.petra)
        late = write(page, cast.mai, fell["id"], seen=first.pk)
        assert late.status_code == 409
        assert "This was written down more than a day ago" in late.content.decode()
        assert add(page, cast.mai, fell["id"]).status_code == 302
        words = text_of(page.get(address(cast.mai, fell["id"])))
    assert "Locked since 5 Mar 2026, 18:00: it is only added to." in words
    assert "The wrist was sprained." in words
    assert "Petra, 5 Mar 2026, 18:00" in words
    assert [row.objects.count() for row in ROWS] == [1, 1, 0, 0]


def test_who_has_not_seen_what_another_wrote_is_told(page, cast):
    fell = line("fell", cast.mai, 20)
    send(cast, fell)
    write(page, cast.mai, fell["id"])
    page.force_login(cast.petra)
    answer = write(page, cast.mai, fell["id"], what="Other words.")
    assert answer.status_code == 409
    assert "Somebody has written this down since" in answer.content.decode()
    assert IncidentAccount.objects.count() == 1


def test_what_nobody_tapped_is_written_down_as_well(page, cast):
    start, yesterday = uuid.uuid4(), TODAY - datetime.timedelta(days=1)
    assert page.get(address(cast.mai, start)).status_code == 200
    assert write(page, cast.mai, start, day=yesterday, kind="other", drill="").status_code == 302
    assert page.get(address(cast.mai, start)).status_code == 200
    [found] = happened(cast.mai)
    assert (found.day, found.kind, found.drill, found.starts) == (yesterday, "other", "", ())


@pytest.mark.parametrize("place", ["head", "neck"])
def test_a_head_or_a_neck_at_the_desk_pauses_at_once(page, cast, place):
    assert write(page, cast.mai, uuid.uuid4(), kind="head", hurt=place).status_code == 302
    assert read(Child.objects.get(pk=cast.mai.pk), TODAY).read.state.paused_since == TODAY
    assert [row.place for row in Pain.objects.all()] == [place]
    assert HeadKnock.objects.count() == (1 if place == "head" else 0)
    assert Pause.objects.count() == 0


def test_a_head_that_the_floor_has_logged_is_not_logged_again(page, cast):
    head = line("hurt", cast.mai, 5, place="head")
    send(cast, head)
    assert '<option value="head" selected>Head' in (
        page.get(address(cast.mai, head["id"])).content.decode()
    )
    write(page, cast.mai, head["id"], kind="head", hurt="head")
    assert [row.objects.count() for row in ROWS] == [1, 0, 1, 1]


@pytest.mark.parametrize(
    ("about", "status"),
    [
        ({"what": " "}, 422),
        ({"mats": ""}, 422),
        ({"first_aid": ""}, 422),
        ({"kind": "crash"}, 422),
        ({"drill": "somersault"}, 422),
        ({"hurt": "pride"}, 422),
        ({"day": "soon"}, 422),
        ({"day": TODAY + datetime.timedelta(days=1)}, 409),
        ({"seen": uuid.uuid4()}, 409),
    ],
)
def test_what_is_not_complete_is_refused_and_nothing_is_kept(page, cast, about, status):
    assert write(page, cast.mai, uuid.uuid4(), **about).status_code == status
    assert [row.objects.count() for row in ROWS] == [0, 0, 0, 0]


def test_a_near_miss_is_not_asked_for_mats_and_first_aid(page, cast):
    caught = {"kind": "caught", "mats": "", "first_aid": ""}
    # Where something hurts it is no near miss.
    assert write(page, cast.mai, uuid.uuid4(), hurt="wrist", **caught).status_code == 422
    start = uuid.uuid4()
    assert write(page, cast.mai, start, **caught).status_code == 302
    html = page.get(address(cast.mai, start)).text
    assert "<dt>First aid, and by whom</dt>" not in html
    assert (
        '<details class="field">'
        in html[: html.index("not asked for after a near miss")].splitlines()[-2]
    )
    with time_machine.travel(NOW + datetime.timedelta(minutes=1), tick=False):
        write(page, cast.mai, start, seen=str(IncidentAccount.objects.get().pk), kind="fall")
    html = page.get(address(cast.mai, start)).text
    assert "<dt>First aid, and by whom</dt><dd>ice, by Omar</dd>" in html
    assert (
        '<details class="field" open>'
        in html[: html.index("not asked for after a near miss")].splitlines()[-2]
    )


def test_nothing_is_added_where_nothing_was_written(page, cast):
    fell = line("fell", cast.mai, 5)
    send(cast, fell)
    assert add(page, cast.mai, fell["id"]).status_code == 409
    write(page, cast.mai, fell["id"])
    assert add(page, cast.mai, fell["id"], " ").status_code == 422
    assert IncidentAddition.objects.count() == 0


def test_a_second_click_with_the_same_form_writes_once(page, cast):
    token, start = str(uuid.uuid4()), uuid.uuid4()
    assert [write(page, cast.mai, start, token=token).status_code for _ in "12"] == [302, 302]
    assert IncidentAccount.objects.count() == 1


def test_another_childs_is_not_found_and_not_written(page, cast):
    fell = line("fell", cast.ilse, 5)
    send(cast, fell)
    assert page.get(address(cast.mai, fell["id"])).status_code == 404
    assert write(page, cast.mai, fell["id"]).status_code == 404
    write(page, cast.ilse, fell["id"])
    assert page.get(address(cast.mai, fell["id"])).status_code == 404
    assert IncidentAccount.objects.count() == 1


def test_assistants_guests_and_other_classes_do_not_read_it(page, cast):
    fell = line("fell", cast.mai, 5)
    send(cast, fell)
    write(page, cast.mai, fell["id"])
    for who, status in ((cast.tam, 403), (cast.ines, 404), (cast.dora, 404), (cast.petra, 200)):
        assert get(page, who, address(cast.mai, fell["id"])).status_code == status
    cast.luis.guest_on = TODAY
    cast.luis.save(update_fields=["guest_on"])
    assert get(page, cast.luis, address(cast.mai, fell["id"])).status_code == 403


def test_of_a_child_who_left_it_stays_readable(page, cast):
    fell = line("fell", cast.mai, 5)
    send(cast, fell)
    write(page, cast.mai, fell["id"])
    leave(cast.mai, cast.blue, TODAY)
    words = text_of(get(page, cast.petra, address(cast.mai, fell["id"])))
    assert "Her left foot slid." in words


def test_of_two_records_merged_it_is_one_childs(page, cast):
    other = make_child("Mai T.", cast.blue)
    fell = line("fell", other, 5)
    send(cast, fell)
    write(page, other, fell["id"])
    merge(other, cast.mai, cast.petra, NOW)
    [found] = happened(cast.mai)
    assert (found.child, len(found.accounts)) == (cast.mai.pk, 1)
    assert "Her left foot slid." in text_of(page.get(address(cast.mai, fell["id"])))


def test_a_turn_struck_later_leaves_what_was_written(page, cast):
    caught = turn(cast.mai, 20, caught=True)
    send(cast, caught)
    write(page, cast.mai, caught["id"], kind="caught")
    send(cast, line("strike", cast.mai, 1, turn=caught["id"], code="wrong-tap"))
    assert Attempt.objects.unstruck().count() == 0
    [found] = happened(cast.mai)
    assert (found.kind, found.starts, len(found.accounts)) == ("caught", (), 1)
