"""Likely doubles are listed and never joined by the program."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.models import Child, Merge, NotDouble
from studio.people.doubles import doubles_of, likely_doubles
from tests.support.cast import NOW, Cast, make_child

pytestmark = pytest.mark.django_db


def child(name: str, born: tuple[int, int] | None = (2016, 4), guardian: str = "") -> Child:
    made = make_child(name, born=born or (2016, 4))
    made.guardian = guardian
    if born is None:
        made.birth_year = made.birth_month = None
    made.save()
    return made


@pytest.mark.parametrize(
    ("one", "other", "why"),
    [
        (
            ("Inés Marlow",),
            ("Ines Marlow",),
            "the same name but for accents, born in the same month",
        ),
        (("Łucja Đorđević",), ("Lucja Dordevic",), "the same name but for accents"),
        (("Tran Mai",), ("Mai Tran",), "the same names the other way round"),
        (("Mai Tran",), ("Mai Tran", (2016, 5)), "the same name, another month of birth"),
        (("Mai Tran",), ("Mai", None, ""), ""),
        (("Mai Tran-Okafor", (2016, 4)), ("Mai Tran", (2016, 4)), "a part of the name"),
        (
            ("Mai Tran", (2016, 4), "Ana Tran"),
            ("Mai Okafor", (2015, 4), "ana tran"),
            "a part of the name, another month of birth, the same guardian",
        ),
        # Brothers and sisters, twins, and namesakes of another year are two children.
        (("Mai Tran", (2016, 4), "Ana Tran"), ("Leo Tran", (2016, 4), "Ana Tran"), ""),
        (("Mai Tran", (2016, 4)), ("Mai Tran", (2014, 4)), ""),
        (("Mai Tran", (2016, 4)), ("Mai Okafor", (2016, 4)), ""),
    ],
)
def test_what_speaks_for_it_that_two_are_one(db, one, other, why: str) -> None:
    found = likely_doubles([child(*one), child(*other)])
    assert [", ".join(double.why).startswith(why) for double in found] == [True] * bool(why)
    assert not Merge.objects.exists()


def test_a_child_whose_birth_nobody_knows_is_compared_by_name(db) -> None:
    (double,) = likely_doubles([child("Mai Tran", None), child("mai tran")])
    assert double.why == ("the same name",)


def test_queries_do_not_grow_with_the_children(cast: Cast, client) -> None:
    client.force_login(cast.petra)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert client.get("/doubles").status_code == 200
        return len(captured)

    for number in range(2):
        make_child(f"Nia Oduya {number}", cast.blue)
    few = queries()
    for _ in range(20):
        make_child("Uli Brand", cast.blue)
    assert queries() == few


def test_names_that_are_nearly_the_same_are_listed_as_a_roster_asks_about_them(db) -> None:
    (double,) = likely_doubles([child("Maren Holt"), child("Maren Holdt")])
    assert double.why == ("a name that is nearly the same", "born in the same month")


def test_two_who_were_looked_at_are_listed_no_more_until_it_is_taken_back(
    cast: Cast, client, time_machine
) -> None:
    time_machine.move_to(NOW, tick=False)
    client.force_login(cast.petra)
    other = make_child("Mai Tran Okafor", cast.red)
    address = f"/children/{other.uuid}/same-as/{cast.mai.uuid}"
    assert f'formaction="{address}/two"' in client.get(address).content.decode()
    for _twice in range(2):
        page = client.post(f"{address}/two", follow=True).content.decode()
    row = NotDouble.objects.get()
    assert (row.by, row.at) == (cast.petra, NOW)
    assert "No two children here look like one." in page
    assert "Petra, 4 Mar 2026" in page
    assert doubles_of(other, [cast.mai]) == []
    # Somebody of another hall neither sees it nor takes it back.
    client.force_login(cast.dora)
    assert client.post(f"/doubles/{row.uuid}/again").status_code == 404
    client.force_login(cast.petra)
    client.post(f"/doubles/{row.uuid}/again")
    row.refresh_from_db()
    assert (row.ended_by, row.ended_at) == (cast.petra, NOW)
    assert "a part of the name" in client.get("/doubles").content.decode()
    assert [each.other for each in doubles_of(other, [cast.mai])] == [cast.mai]


def test_a_child_is_not_said_to_be_another_one_than_itself(cast: Cast, client) -> None:
    client.force_login(cast.petra)
    mai = cast.mai.uuid
    assert client.post(f"/children/{mai}/same-as/{mai}/two").status_code == 404
    assert not NotDouble.objects.exists()
