"""Children come with their classes and halls, whichever way they are asked for."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.models import Child, ClassGroup
from studio.people.class_lists import child_rows, classes_of, from_rows
from tests.support.cast import Cast, make_child

pytestmark = pytest.mark.django_db

# By their keys, which is the order in which the cast makes them.
ORDER = ["Blue", "Red", "Far"]


@pytest.fixture
def nowhere(cast: Cast) -> Child:
    """Comes before the others by name, after them by key."""
    child = make_child("Abel Nowhere", cast.blue)
    child.classes.clear()
    return child


def named(classes: dict[int, list[ClassGroup]], child: Child) -> list[tuple[str, str]]:
    return [(group.name, group.location.zone) for group in classes[child.pk]]


def test_children_come_by_name_with_all_their_classes(cast: Cast, nowhere: Child) -> None:
    for group in (cast.far, cast.red):
        cast.mai.classes.add(group)
    with CaptureQueriesContext(connection) as queries:
        children, classes = from_rows(child_rows(Child.objects.all()))
        assert named(classes, cast.mai) == [(name, "Europe/Berlin") for name in ORDER]
    assert len(queries) == 1
    assert children == list(Child.objects.order_by("name"))
    assert vars(children[0]).keys() == vars(Child.objects.get(pk=nowhere.pk)).keys()
    assert children[0].left_on is None
    assert classes[nowhere.pk] == []


def test_the_classes_of_children_are_the_same(cast: Cast, nowhere: Child) -> None:
    for group in (cast.far, cast.red):
        cast.mai.classes.add(group)
    children, classes = from_rows(child_rows(Child.objects.all()))
    assert classes_of(children) == classes
    assert [name for name, _ in named(classes_of([cast.mai]), cast.mai)] == ORDER
    assert classes_of([nowhere]) == {nowhere.pk: []}


def test_of_a_class_all_the_other_classes_are_told_as_well(cast: Cast) -> None:
    cast.mai.classes.add(cast.red)
    theirs = Child.objects.filter(pk__in=cast.blue.children.values("pk"))
    _, classes = from_rows(child_rows(theirs))
    assert [name for name, _ in named(classes, cast.mai)] == ["Blue", "Red"]
