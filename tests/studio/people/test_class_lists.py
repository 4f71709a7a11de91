"""The classes of children come with their halls."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.models import Child, ClassGroup
from studio.people.class_lists import classes_of
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


def test_all_classes_of_children_come_with_their_halls_in_one_query(
    cast: Cast, nowhere: Child
) -> None:
    for group in (cast.far, cast.red):
        cast.mai.classes.add(group)
    with CaptureQueriesContext(connection) as queries:
        classes = classes_of([cast.mai, nowhere])
        assert named(classes, cast.mai) == [(name, "Europe/Berlin") for name in ORDER]
    assert len(queries) == 1
    assert classes[nowhere.pk] == []
