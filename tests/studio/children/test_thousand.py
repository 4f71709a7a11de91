"""A thousand children: things that matter: same hits and same order on SQLite and PostgreSQL.

What is expected is worked out here, by the letters; the suite runs on either database.
"""

import itertools

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.children.page import found
from studio.models import Child
from studio.people.names import fold
from tests.support.cast import NOW, TODAY

pytestmark = pytest.mark.django_db

GIVEN = [
    "Đorđe", "Dora", "Łucja", "Lucia", "Øystein", "Oda", "Ægir", "Aegid", "Inés", "Ines", "Zoë",
    "Žofia", "Işık", "ISA", "Anne-Marie", "Anne Marie", "O’Neill", "Oneil", "Гоша", "Ánh",
]  # fmt: skip
FAMILY = [
    "Ek", "Øst", "Öst", "Łuk", "Luk", "Weiß", "Weiss", "Þor", "Thor", "Nguyễn", "Nguyen", "Şahin",
    "d'Or", "de Or", "Ærø", "Æro", "Smit", "smit", "Đặng", "Dang", "Ng", "Li", "Çelik", "Celik",
    "Brandão",
]  # fmt: skip


@pytest.fixture
def thousand(cast):
    """All pairs of these, twice: the second time with another name used."""
    pairs = [f"{given} {family}" for given, family in itertools.product(GIVEN, FAMILY)]
    used = [*([""] * len(pairs)), *(["Kit"] * len(pairs))]
    Child.objects.bulk_create(
        Child(name=name, name_used=kit, name_key=name, birth_year=2016, birth_month=4)
        for name, kit in zip([*pairs, *pairs], used, strict=True)
    )
    rows = Child.objects.filter(name_key__in=pairs).values_list("pk", flat=True)
    through = Child.classes.through
    through.objects.bulk_create(
        through(child_id=pk, classgroup_id=cast.blue.pk) for pk in rows.order_by("pk")
    )
    return Child.objects.filter(name_key__in=pairs)


@pytest.mark.parametrize(
    ("asked", "least"),
    [
        ("", 1000),
        ("dor", 20),
        ("đor ek", 2),
        ("LUK", 80),
        ("aero", 80),
        ("oneil", 80),
        ("kit", 500),
    ],
)
def test_same_hits_and_same_order_on_sqlite_and_postgresql(thousand, asked, least):
    def key(child):
        return f"{fold(child.name)}\n{fold(child.name_used)}"

    every = list(thousand.order_by("pk"))
    wanted = [c for c in every if all(word in key(c) for word in fold(asked).split())]
    wanted.sort(key=lambda child: (key(child).encode(), child.pk))
    assert list(found(thousand, {"q": asked}, TODAY)) == wanted
    assert len(wanted) >= least


def test_the_list_and_the_class_ask_as_often_for_a_thousand_as_for_two(client, cast, request):
    client.force_login(cast.petra)
    addresses = ["/children", f"/classes/{cast.blue.uuid}", "/children?as=csv"]

    def queries():
        counts = []
        for address in addresses:
            with time_machine.travel(NOW, tick=False), CaptureQueriesContext(connection) as caught:
                assert client.get(address).status_code == 200
            counts.append(len(caught))
        return counts

    queries()
    few = queries()
    request.getfixturevalue("thousand")
    queries()
    assert queries() == few
