"""Children who share a name, and classes that do, are told apart wherever they are listed."""

import pytest
import time_machine
from django.urls import reverse

from readiness.floor.pack import build_pack
from studio.models import Child
from studio.people.told_apart import full_name, full_names, name_classes, tell_apart, who
from tests.support.cast import NOW, TODAY, make_child, make_class
from tests.support.every_page import EVENING, build


@pytest.fixture
def namesakes(cast):
    """Three more called Mai, one of the very same name; all in the blue class."""
    twins = [make_child("Mai Tran", cast.blue, born=born) for born in ((2015, 9), (2014, 1))]
    other = make_child("Mai O'Neill-Şahin", cast.blue)
    return [cast.mai, *twins, other]


def a_child(pk, name, used="", born=(2016, 4), list_id=""):
    return Child(
        pk=pk, name=name, name_used=used, birth_year=born[0], birth_month=born[1], list_id=list_id
    )


MESSY = [
    # One has no accent where the other has.
    (["Zoë Brand", "Zoe Brun"], ["Zoë Bra.", "Zoe Bru."]),
    # Letter case, and another kind of apostrophe.
    (["Mai o’Neill", "MAI O'Neal"], ["Mai o’Neill", "MAI O'Neal"]),
    # A name of one word, and the same with another.
    (["Bo", "Bo Lund"], ["Bo", "Bo L."]),
    (["Ana Sofia Reis", "Ana Sofia Reis da Silva"], ["Ana R.", "Ana S."]),
]  # fmt: skip


@pytest.mark.parametrize(("written", "told"), MESSY)
def test_messy_names_are_told_apart(written, told):
    children = [a_child(pk, name, name.split()[0]) for pk, name in enumerate(written)]
    names = list(tell_apart(children).values())
    assert names == told
    assert [child.listed for child in children] == told


def test_three_of_one_full_name_are_told_apart_by_birth_and_then_by_the_studios_id():
    children = [
        a_child(1, "Mai Tran", "Mai", (2016, 4), "A7"),
        a_child(2, "Mai Tran", "Mai", (2016, 4)),
        a_child(3, "Mai  TRAN", "Mai", (2015, 9)),
    ]
    assert list(tell_apart(children).values()) == [
        "Mai Tran, born Apr 2016 · A7",
        "Mai Tran, born Apr 2016 · 2",
        "Mai  TRAN, born Sep 2015",
    ]
    assert len(set(full_names(children).values())) == 3


@pytest.mark.django_db
def test_a_class_has_its_hall_where_another_has_its_name(cast):
    name_classes([cast.blue])
    assert cast.blue.shown == "Blue"
    other = make_class("BLUE", cast.other_hall)
    name_classes([cast.blue, other])
    assert (cast.blue.shown, other.shown) == ("Blue (Mill hall)", "BLUE (Quay hall)")
    assert who(cast.mai, TODAY) == "Mai Tran, 9 years, Blue (Mill hall)"


def test_the_floor_names_each_another_way(cast, namesakes):
    pack = build_pack(cast.meeting, cast.omar, NOW)
    for name in ("Mai Tran, born Apr 2016", "Mai Tran, born Sep 2015", "Mai Tran, born Jan 2014"):
        assert pack.count(f'"name":"{name}"') == 1, name
    assert "Mai O" in pack


@pytest.mark.parametrize("address", ["/review/all", "class"])
def test_lists_name_each_another_way(client, cast, namesakes, address):
    make_class("Blue", cast.other_hall)
    client.force_login(cast.petra)
    address = reverse("class", args=[cast.blue.uuid]) if address == "class" else address
    page = client.get(address).text
    for month in ("Apr 2016", "Sep 2015", "Jan 2014"):
        assert f">Mai Tran, born {month}</a>" in page
    assert "Blue (Mill hall)" in page


def test_tonight_and_the_floor_say_the_hall_of_a_class_that_shares_its_name(client, cast):
    make_class("Blue", cast.other_hall)
    client.force_login(cast.omar)
    assert "Blue (Mill hall)" in client.get("/").text
    assert '"group":"Blue (Mill hall)"' in build_pack(cast.meeting, cast.omar, NOW)


DECIDES = ("recommend", "sign", "send-back", "close", "place", "pause", "consent")


def forms_of(page):
    """Its forms by the last part of the address that they are sent to."""
    found = {}
    for form in page.split("<form ")[1:]:
        address = form.split('action="')[1].split('"')[0]
        found[address.removesuffix("/4").rsplit("/", 1)[1]] = form.split("</form>")[0]
    return found


@time_machine.travel(EVENING, tick=False)
def test_whatever_decides_about_a_child_says_full_name_age_and_class(client, cast, log):
    build(cast, log)
    make_child("Mai Tran", cast.blue, born=(2014, 1))
    seen = set()
    for staff, address in [
        (cast.petra, ""),
        (cast.petra, "/evidence/4"),
        (cast.luis, "/evidence/4"),
    ]:
        client.force_login(staff)
        page = client.get(f"/children/{cast.mai.uuid}{address}").text
        assert "Mai Tran, 9 years, Blue" in page.split("page-head")[1].split("actions")[0]
        for word, form in forms_of(page).items():
            if word in DECIDES:
                assert "Mai Tran, 9 years, Blue" in form, word
                seen.add(word)
    assert seen >= {"recommend", "send-back", "place", "pause", "consent"}


def test_a_letter_s_file_name_tells_namesakes_apart(client, cast, namesakes):
    client.force_login(cast.petra)
    names = [
        client.post(f"/children/{child.uuid}/letter.pdf", follow=True)["Content-Disposition"]
        for child in namesakes
    ]
    assert len(set(names)) == 4
    assert full_name(namesakes[0]) == "Mai Tran, born Apr 2016"
    assert full_name(namesakes[3]) == "Mai O'Neill-Şahin"
