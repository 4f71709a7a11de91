"""Lists: as a file that no spreadsheet runs, and on paper with the studio and the day."""

import csv
import io

import pytest
import time_machine

from studio.lists import csv_text
from tests.support.cast import NOW, make_child


def rows_of(response):
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.reader(io.StringIO(response.content.decode("utf-8-sig"))))


def test_no_cell_of_a_list_is_a_formula():
    text = csv_text(["=a"], [["+1", None, 3], ["＝1+1", "－2", "＠x"]])
    assert list(csv.reader(io.StringIO(text))) == [
        ["'=a"],
        ["'+1", "", "3"],
        ["'＝1+1", "'－2", "'＠x"],
    ]


@time_machine.travel(NOW, tick=False)
@pytest.mark.django_db
def test_the_families_that_have_not_answered_are_given_out(client, cast):
    make_child("=Ada Alder", cast.blue, hands=False)
    client.force_login(cast.petra)
    answer = client.get("/consents?as=csv")
    assert answer["Content-Disposition"] == 'attachment; filename="hands-2026-03-04.csv"'
    assert rows_of(answer)[1][:3] == ["'=Ada Alder", "9", "Blue (Mill hall)"]


@pytest.mark.django_db
def test_the_drills_are_given_out(client, cast):
    client.force_login(cast.tam)
    rows = rows_of(client.get("/drills?as=csv"))
    assert rows[0] == ["number", "stage", "drill", "what counts"]
    assert len(rows) > 30


@time_machine.travel(NOW, tick=False)
@pytest.mark.django_db
def test_a_class_and_the_review_are_given_out(client, cast):
    client.force_login(cast.omar)
    (header, *rows) = rows_of(client.get(f"/classes/{cast.blue.uuid}?as=csv"))
    assert header == ["child", "born", "class", "stage", "state", "what holds it"]
    assert [row[0] for row in rows] == [cast.ilse.name, cast.mai.name]
    assert len(rows_of(client.get(f"/review/all?as=csv&class={cast.red.uuid}"))) == 1
    assert rows_of(client.get(f"/review/all?as=csv&class={cast.blue.uuid}"))[1:] == rows


@time_machine.travel(NOW, tick=False)
@pytest.mark.django_db
def test_staff_classes_and_halls_are_given_out(client, cast):
    client.force_login(cast.petra)
    staff = {row[0]: row for row in rows_of(client.get("/staff?as=csv"))[1:]}
    assert staff["Omar"][1:5] == ["omar", "coach", "Mill hall", "yes"]
    assert "Dora" not in staff
    classes = rows_of(client.get("/classes?as=csv"))
    assert [row[0] for row in classes[1:]] == ["Blue", "Red"]
    assert classes[1][2:5] == ["Wednesday", "17:30", "60"]
    (_header, hall) = rows_of(client.get("/halls?as=csv"))
    assert hall[:3] == ["Mill hall", "112", "4 Weir Lane"]


@time_machine.travel(NOW, tick=False)
@pytest.mark.django_db
@pytest.mark.parametrize("address", ["/consents", "/drills", "/halls", "/staff", "/classes"])
def test_a_printed_list_has_the_studio_and_the_day_on_it(client, cast, address):
    make_child("Ada Alder", cast.blue, hands=False)
    client.force_login(cast.petra)
    page = client.get(address).content.decode()
    assert '<p class="print-only">Lantern Yard · 4 March 2026</p>' in page
