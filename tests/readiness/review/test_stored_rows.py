"""What a row of the review says is stored with the child's standing, and must never be old."""

from typing import Any

import pytest

from readiness.models import Standing
from readiness.record.ladders import Ladders
from readiness.record.list_facts import latest_reviews
from readiness.record.rebuild import rebuild
from readiness.record.standings import facts_of, fresh_standings, read
from readiness.review.rows import RowText, children_of, rows_of
from studio.models import Child
from tests.support.cast import NOW, TODAY, Cast, Logged
from tests.support.class_evenings import ClassEvenings, tells_something_old
from tests.support.ready import ready_to_be_signed


@pytest.mark.django_db
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_with_anything_between_two_looks_what_is_stored_is_what_would_be_made(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    evenings = ClassEvenings(cast, seed, ladder_content, 3)
    shown: set[RowText] = set()
    for number in range(60):
        happened = evenings.anything()
        stored, again = evenings.rows()
        assert stored == again, (seed, number, happened)
        shown |= set(stored)
    assert len(shown) >= 12


@pytest.mark.django_db
@pytest.mark.parametrize("happens", ["tap", "strike", "late"])
def test_were_it_overlooked_something_old_would_be_told(
    cast: Cast, ladder_content: dict[str, Any], happens: str
) -> None:
    evenings = ClassEvenings(cast, 4, ladder_content, 3)
    assert tells_something_old(evenings, [happens], {"stale": False}, evenings.rows)


def test_the_columns_are_what_the_whole_record_says(cast: Cast, log: Logged) -> None:
    ready_to_be_signed(cast, log)
    fresh_standings([cast.mai], NOW)
    standing = Standing.objects.get(child=cast.mai)
    facts = facts_of(read(cast.mai, TODAY), latest_reviews({cast.mai.pk: cast.mai.pk})[cast.mai.pk])
    assert {name: getattr(standing, name) for name in facts._fields} == facts._asdict()
    shown = facts.stage, facts.state, facts.score, facts.holding, facts.waits_for
    assert shown == ("4", "for-review", 100, "", "recommendation")


@pytest.mark.parametrize(
    ("column", "wrong"),
    [("stage", "1"), ("state", "closed"), ("score", 99), ("holding", "1.hollow-hold"),
     ("waits_for", ""), ("fell_on", TODAY), ("away", True), ("listed", "{}")],
)  # fmt: skip
def test_a_column_that_is_wrong_is_found_and_put_right(
    cast: Cast, log: Logged, column: str, wrong: Any
) -> None:
    ready_to_be_signed(cast, log)
    fresh_standings([cast.mai], NOW)
    children = Child.objects.filter(pk=cast.mai.pk)
    assert list(rebuild(children, check=True)) == []
    right = getattr(Standing.objects.get(), column)
    Standing.objects.update(**{column: wrong})
    assert [each.what for each in rebuild(children, check=False)] == [f"list facts of {TODAY}"]
    fresh_standings([cast.mai], NOW)
    assert getattr(Standing.objects.get(), column) == right


def test_a_standing_without_the_columns_is_read_again(cast: Cast, log: Logged) -> None:
    """As an earlier release left it."""
    log(cast.mai, "hollow-hold", [20])
    fresh_standings([cast.mai], NOW)
    facts = fresh_standings([cast.mai], NOW)[cast.mai.pk].facts
    Standing.objects.update(stage="", state="", score=None, holding="", listed="")
    assert fresh_standings([cast.mai], NOW)[cast.mai.pk].facts == facts


@pytest.mark.django_db
def test_a_change_of_class_shows_at_once(cast: Cast) -> None:
    def classes() -> list[list[str]]:
        rows = rows_of(children_of(cast.petra, TODAY), cast.petra, NOW, Ladders())
        return [[group.name for group in row.classes] for row in rows if row.child == cast.mai]

    assert classes() == [["Blue"]]
    cast.mai.classes.add(cast.red)
    assert classes() == [["Blue", "Red"]]
    cast.blue.name = "Early Blue"
    cast.blue.save()
    assert classes() == [["Early Blue", "Red"]]
