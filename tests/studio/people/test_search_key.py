"""Names are looked for and put in order without accents, the same way in both databases."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.models import Child
from studio.people.names import fold
from tests.support.cast import make_child

FOLDED = [
    ("Đorđe Łukasz", "dorde lukasz"),
    ("Søren Æbelø", "soren aebelo"),
    ("Weiß", "weiss"),
    ("WEISS", "weiss"),
    ("Œuvre", "oeuvre"),
    ("Işık İnci", "isik inci"),
    ("Inés", "ines"),
    ("Anne\u2011Marie O’Neill", "anne marie oneill"),
    ("Ｍａｉ", "mai"),
    ("Гоша Й", "гоша и"),
]


@pytest.mark.parametrize(("name", "folded"), FOLDED)
def test_a_name_is_folded(name, folded):
    assert fold(name) == folded


@given(st.text(max_size=40))
def test_folding_twice_is_folding_once(name):
    assert fold(fold(name)) == fold(name)


# Đ stands by D, Ø by O; a shorter name before a longer one, other scripts after Latin.
IN_ORDER = [
    "daan Smit", "Dan-Åke Ek", "Dan Ek", "Dora Ek", "Đorđe Ek", "Dori Ek", "Øde Ek", "Sara",
    "Ṡara-Ek", "Sara Em", "Гоша",
]  # fmt: skip


@pytest.mark.django_db
def test_things_that_matter_same_hits_and_same_order_on_sqlite_and_postgresql():
    for name in reversed(IN_ORDER):
        make_child(name, hands=False)
    found = Child.objects.order_by("search_key", "pk").values_list("name", flat=True)
    assert list(found) == IN_ORDER


@pytest.mark.django_db
def test_a_new_name_brings_a_new_key():
    child = make_child("Mai Tran", hands=False)
    assert Child.objects.get().search_key == "mai tran\nmai"
    child.name, child.name_used = "Đani Ek", ""
    child.save(update_fields=["name", "name_used", "search_key"])
    assert Child.objects.get().search_key == "dani ek\n"
