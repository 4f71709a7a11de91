"""Likely doubles are listed and never joined by the program."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.models import Child, Merge
from studio.people.doubles import likely_doubles
from tests.support.cast import Cast, make_child

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
