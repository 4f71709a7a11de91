"""Queries that are built once answer what Django itself answers, for whatever values."""

import datetime
import threading
import uuid
from collections.abc import Sequence
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.models import Exists, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Coalesce
from django.test.utils import CaptureQueriesContext

from studio.db.prepared import Prepared, prepared
from studio.models import Attendance, Child, ClassGroup, Location, Meeting, Staff
from studio.people.meetings import meeting_for
from tests.support.cast import NOW, TODAY, Cast

pytestmark = pytest.mark.django_db
Query = QuerySet[Any, Any]


@prepared
def everything() -> Query:
    return Child.objects.order_by("pk").values_list("pk", "uuid", "left_on", "birth_year")


@prepared
def of_names(names: Sequence[str], most: int) -> Query:
    rows = Child.objects.filter(name__in=names, pk__lte=most)
    return rows.order_by("-pk").values_list("name", "birth_year")


@prepared
def on_days(days: Sequence[datetime.date], groups: Sequence[int], meeting: uuid.UUID) -> Query:
    met = Meeting.objects.filter(Q(date__in=days) | Q(uuid=meeting), group__in=groups)
    return met.order_by("pk").values_list("uuid", "date", "group__location__zone")


@prepared
def twice(pk: int) -> Query:
    """A value in two places, an annotation, a subquery, and constants of its own."""
    here = Attendance.objects.filter(child=OuterRef("pk"), present=True)
    found = Child.objects.filter(Q(pk=pk) | Q(pk__lt=pk), classes__in=ClassGroup.objects.all())
    return found.distinct().order_by("pk").values_list("pk", Exists(here), Value("text"))


@prepared
def together(pks: Sequence[int]) -> Query:
    children = Child.objects.filter(pk__in=pks).values_list("uuid", "name")
    return children.union(Staff.objects.filter(pk__in=pks).values_list("uuid", "username"))


@prepared
def moments(pks: Sequence[int]) -> Query:
    """None, as they are stored, and worked out."""
    worked_out = Coalesce("last_login", "date_joined")
    return Staff.objects.filter(pk__in=pks).values_list("last_login", "date_joined", worked_out)


@prepared
def for_update(pks: Sequence[int]) -> Query:
    rows = Child.objects.filter(pk__in=pks).order_by("pk").select_for_update()
    return rows.values_list("pk", "uuid")


def plain(query: Prepared, *values: Any, **kind: Any) -> list[Any]:
    """What Django answers without anything kept."""
    return list(query.__wrapped__(*values, **kind))  # type: ignore[attr-defined]


def questions(cast: Cast) -> list[tuple[Prepared, list[tuple[Any, ...]]]]:
    pks = sorted(Child.objects.values_list("pk", flat=True))
    groups = list(ClassGroup.objects.values_list("pk", flat=True))
    names = list(Child.objects.order_by("pk").values_list("name", flat=True))
    later = TODAY + datetime.timedelta(days=1)
    return [
        (everything, [(), ()]),
        (of_names, [(names, 9**9), (names[:1], 9**9), (names, pks[0]), (["\x011", "'%s"], 1)]),
        (
            on_days,
            [
                ([TODAY], groups, uuid.uuid4()),
                ([TODAY, later], groups[:1], cast.meeting.uuid),
                ([later], groups, cast.meeting.uuid),
            ],
        ),
        (twice, [(pk,) for pk in pks]),
        (together, [(pks,), (pks[:1],), ([*pks, 10**9 + 1],)]),
        (for_update, [(pks,), (pks[1:],)]),
        (moments, [([cast.omar.pk],)]),
    ]


def test_each_answers_as_django_does_for_one_values_after_the_others(cast):
    Attendance.objects.create(
        id=uuid.uuid4(), meeting=cast.meeting, child=cast.mai, present=True, at=NOW, by=cast.omar,
        digest="",
    )  # fmt: skip
    with transaction.atomic():
        for _ in range(2):
            for query, several in questions(cast):
                for values in several:
                    got, expected = query(*values), plain(query, *values)
                    # A union has no order of its own.
                    assert sorted(map(repr, got)) == sorted(map(repr, expected)), values


def test_it_is_built_once_for_numbers_of_values_that_are_alike(cast, monkeypatch):
    built: list[int] = []

    @prepared
    def counted(pks: Sequence[int]) -> Query:
        built.append(len(pks))
        return Child.objects.filter(pk__in=pks).values_list("pk")

    for number in (1, 2, 3, 4, 3, 5, 8, 7, 1):
        assert set(counted(range_of(number))) == set(plain(counted, range_of(number)))
    # Those of plain() among them: at 1, 2, 4 and 8 once more than the number itself.
    assert sorted(built) == sorted([1, 2, 4, 8, 1, 2, 3, 4, 3, 5, 8, 7, 1])


def range_of(number: int) -> list[int]:
    return list(range(1, number + 1))


def test_without_any_value_nothing_is_asked(cast):
    with CaptureQueriesContext(connection) as queries:
        assert of_names([], 2030) == []
    assert len(queries) == 0


def test_each_kind_has_a_query_of_its_own(cast):
    @prepared
    def of_kind(pk: int, *, table: type[Any]) -> Query:
        return table.objects.filter(pk=pk).values_list("uuid")

    for table in (Child, Staff, Child):
        row = table.objects.first()
        assert of_kind(row.pk, table=table) == [(row.uuid,)]


def test_a_value_that_the_query_never_asks_for_is_a_fault(cast):
    @prepared
    def careless(pk: int, name: str) -> Query:
        return Child.objects.filter(pk=pk).values_list("name")

    with pytest.raises(ValueError, match="careless"):
        careless(1, "Mai")


@pytest.mark.django_db(transaction=True)
def test_threads_do_not_share_what_is_kept(cast):
    answers: list[list[Any]] = []

    def ask() -> None:
        answers.append(everything())
        connection.close()

    threads = [threading.Thread(target=ask) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [plain(everything)] * 3


@pytest.mark.parametrize(
    ("who", "sees"),
    [("omar", True), ("petra", True), ("tam", True), ("ines", False), ("dora", False)],
)
def test_a_meeting_is_found_by_whoever_may_see_it_alone(cast, who, sees):
    found = meeting_for(getattr(cast, who), cast.meeting.uuid, TODAY)
    assert (found == cast.meeting) is sees
    if found is not None:
        with CaptureQueriesContext(connection) as queries:
            assert isinstance(found.group.location, Location)
            assert found.group.location == cast.meeting.group.location
            assert (found.date, found.group.name) == (cast.meeting.date, cast.meeting.group.name)
        # What the cast itself had not read yet.
        assert len(queries) <= 2
    assert meeting_for(getattr(cast, who), uuid.uuid4(), TODAY) is None


def test_a_director_who_came_by_pin_sees_a_coachs_meetings(cast):
    cast.petra.coach_rights_only = True
    assert meeting_for(cast.petra, cast.meeting.uuid, TODAY) is None
