"""Each room of the invented studio has something to show."""

import datetime
from collections import Counter

import pytest
import time_machine
from django.core.management import call_command
from django.db import transaction

from readiness.demo.build import build
from readiness.models import Elsewhere, HallEquipment, HourChild, NotTonight, Show, Told
from readiness.record.ladders import Ladders
from readiness.record.standings import read
from readiness.record.told.on_the_page import elsewhere_now
from readiness.september.sheet import sheets
from readiness.show.page import show_page
from readiness.spotters.page import spotters_page
from readiness.stations.evening.equipment import said_of
from studio.access import visible_locations
from studio.models import Child, FamilyOnStaff, Staff
from tests.support.pages import signed_in, text_of

# A Sunday, six in Lisbon and seven in Madrid.
NOW = datetime.datetime(2026, 11, 29, 18, 5, tzinfo=datetime.UTC)
TODAY = NOW.date()
MONTHS = ("2026-09", "2026-10", "2026-11")
# So many children that each story of pupils.py which a room needs is among them, and two years:
# who lacks only turns, or one last step, comes of what was before.
SEED, WEEKS, CHILDREN = 1, 104, 18


@pytest.fixture(scope="module")
def _studio(django_db_setup, django_db_blocker):
    """A demo, made once for this file and taken back at its end."""
    with django_db_blocker.unblock(), transaction.atomic():
        build(NOW, SEED, lambda sentence: None, WEEKS, CHILDREN)
        yield
        transaction.set_rollback(True)


@pytest.fixture
def director(_studio, db):
    with time_machine.travel(NOW, tick=False):
        yield Staff.objects.get(username="amadea")


def page(staff, address):
    answer = signed_in(staff).get(address)
    assert answer.status_code == 200
    return text_of(answer)


def child(used):
    return Child.objects.get(name_used=used)


def test_a_show_to_come_has_a_child_of_each_answer(director):
    show = Show.objects.get()
    assert 14 <= (show.on - TODAY).days <= 28
    numbers = show_page(show, director, NOW)["numbers"]
    rows = [row for number in numbers for row in number["rows"]]
    versions = Counter(row["version"] for row in rows)
    assert len(numbers) == 2
    assert versions["yes"] >= 1
    assert versions["beside"] >= 1
    assert versions["easy"] > versions["yes"] + versions["beside"]
    assert any(row["asked"] for row in rows)
    assert show.name in page(director, "/shows")
    assert "Paper Boats" in page(director, f"/shows/{show.uuid}")


def test_what_the_halls_have_was_counted_and_a_barrel_bought(director):
    found = said_of(visible_locations(director))
    assert len(found) == 2
    assert all("floor-mat" in said for said in found.values())
    assert 2 in {said["barrel"].count for said in found.values()}
    assert HallEquipment.objects.filter(thing="barrel").count() == 3


def test_spotters_are_trained_for_all_for_some_no_longer_and_too_young(director):
    context = spotters_page(director, Ladders().named_on(TODAY), TODAY)
    spots = Counter(staff.username for row in context["rows"] for staff, _ in row["may"])
    assert spots["rui"] == len(context["rows"]) > spots["teodor"] > 0
    assert spots["liv"] == 1
    assert "oona" not in spots
    assert "pau" not in spots
    text = page(director, "/spotters")
    assert "Oona Pellervainen may not spot" in text
    assert "too young by the studio’s rule" in text


def test_incidents_are_written_down_and_one_waits(director):
    context = signed_in(director).get("/incidents?month=2026-11").context
    written = [row.incident.account is not None for row in context["rows"]]
    assert True in written
    assert context["waiting"]
    assert sum(context["turns"]) > 0
    months = [signed_in(director).get(f"/incidents?month={m}").context for m in MONTHS]
    assert sum(len(each["rows"]) for each in months) >= 3


def test_an_evidence_hour_is_planned_for_children_who_lack_only_turns(director):
    rows = HourChild.objects.select_related("meeting")
    assert 2 <= rows.count() <= 4
    assert {0 < (row.meeting.date - TODAY).days <= 7 for row in rows} == {True}
    text = page(director, "/evidence-hour")
    assert all(row.child.called in text for row in rows)


def test_one_child_is_half_way_back_after_a_head_knock_and_one_is_there(director):
    half = read(child("Злата"), TODAY).read
    assert half.head_step == 3
    over = read(child("Gabrielė"), TODAY).read
    assert over.head_step is None
    assert over.state.head.is_over
    text = page(director, f"/children/{child('Злата').uuid}/head")
    assert "Step 3 given" in text


def test_the_september_sheet_has_a_row(director):
    assert any(sheet.rows for sheet in sheets(director, NOW))


def test_things_said_beside_the_turns_are_there(director):
    assert NotTonight.objects.count() == 1
    kinds = {each.kind for one in Child.objects.all() for each in elsewhere_now(one)}
    assert kinds == set(Elsewhere.Kind.values)
    family = FamilyOnStaff.objects.get()
    assert family.staff.role == "director"
    assert Told.objects.exists()


def test_the_standings_hold_when_they_are_read_again(director, capsys):
    call_command("rebuild_standings", check=True)
