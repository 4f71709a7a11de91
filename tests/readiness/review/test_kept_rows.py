"""What a row of the review says may be kept from an earlier look, and must never be old."""

from collections.abc import Iterable
from contextlib import suppress
from typing import Any

import pytest
from django.utils import translation

from progression.models import LadderVersion, Surface
from readiness.models import Decision
from readiness.record import decisions
from readiness.record.decisions import DecisionRefused
from readiness.record.ladders import Ladders
from readiness.record.memory import Memory
from readiness.record.standings import fresh_standings, readings
from readiness.review import rows as review_rows
from readiness.review.rows import Key, Row, RowText, children_of, rows_of
from studio.models import Child, Staff
from studio.people.class_lists import classes_of
from tests.support.cast import NOW, TODAY, Cast, Logged, make_child
from tests.support.evenings import FIRST, SURFACES
from tests.support.kept_parts import Careless, Floor, Parts, tells_something_old
from tests.support.ready import place_at

Kept = Memory[Key, RowText]
# What makes it show when a part of the key is overlooked; "rows" is a look in between.
SHOWS = {
    "digest": ["tap"],
    "language": ["pause", "rows", "other_language"],
    "decides": ["ask", "rows", "other_rights"],
    "facts": ["ask"],
    "staff": ["ask", "rows", "other_director"],
}
# Nothing needs to: the digest is of a reading of that day; and all sentences are made with the
# name, but those of a row do not tell it so far.
SHOWN_BY_NOTHING = {"day", "name"}


class Desk(Floor):
    """Classes on which anything may happen; after it the rows are looked at with what was kept
    of the looks before, and once more with nothing kept."""

    def __init__(self, cast: Cast, seed: int, content: Any, kept: Kept) -> None:
        super().__init__(cast, seed, content, Parts(0))
        self.rows_kept = kept
        self.staff = cast.petra
        place_at(cast, cast.mai, 3, FIRST)

    def anything(self) -> str:
        if self.draw.random() < 0.5:
            return super().anything()
        happens = self.draw.choice([self.ask, self.ask, self.other_director, self.other_rights])
        happens()
        return happens.__name__

    def other_coach(self) -> None:
        self.staff = self.cast.omar if self.staff != self.cast.omar else self.cast.petra

    def other_director(self) -> None:
        self.staff = self.cast.luis if self.staff != self.cast.luis else self.cast.petra

    def other_rights(self) -> None:
        """By PIN, or by password again."""
        self.staff.coach_rights_only = not self.staff.coach_rights_only

    def ask(self) -> None:
        Decision.objects.create(
            kind=Decision.Kind.RECOMMEND, child=self.cast.mai, stage=self.draw.choice("1234"),
            at=self.now(), day=self.day, reading={}, digest="", as_director=False,
            surface=Surface.objects.get(key=SURFACES[0]), ladder=LadderVersion.objects.first(),
            by=self.draw.choice([self.cast.omar, self.cast.petra]),
        )  # fmt: skip

    def pause(self) -> None:
        with suppress(DecisionRefused):
            decisions.pause(self.cast.mai, self.cast.omar, self.now(), "fever")

    def rows(self) -> tuple[list[RowText], list[RowText]]:
        """The same rows, first with what is kept."""
        with translation.override(self.language):
            return looked(self, self.rows_kept), looked(self, Kept(1000))


def looked(desk: Desk, kept: Kept) -> list[RowText]:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(review_rows, "KEPT", kept)
        children = list(Child.objects.filter(pk__in=[desk.cast.mai.pk, desk.twin.pk]))
        rows = rows_of(children, classes_of(children), desk.staff, desk.now(), Ladders())
        return [row.text for row in rows]


@pytest.mark.django_db
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_with_anything_between_two_looks_what_is_kept_is_what_would_be_made(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    desk = Desk(cast, seed, ladder_content, Kept(1000))
    shown: set[RowText] = set()
    for number in range(60):
        happened = desk.anything()
        warm, cold = desk.rows()
        assert warm == cold, (seed, number, happened)
        shown |= set(warm)
    assert len(shown) >= 12


def test_every_part_of_the_key_is_tried() -> None:
    assert {*Key._fields} == {*SHOWS} - {"staff"} | SHOWN_BY_NOTHING


@pytest.mark.django_db
@pytest.mark.parametrize("overlooked", SHOWS)
def test_without_any_one_part_of_the_key_something_old_would_be_told(
    cast: Cast, ladder_content: dict[str, Any], overlooked: str
) -> None:
    desk = Desk(cast, 4, ladder_content, Careless(overlooked))
    assert tells_something_old(desk, SHOWS[overlooked], desk.rows)


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of those of whom a row had to be made."""
    names: list[str] = []
    make = review_rows._row_text

    def noted(reading: Any, words: Any, *about: Any) -> RowText:
        names.append(words.child)
        return make(reading, words, *about)

    monkeypatch.setattr(review_rows, "_row_text", noted)
    monkeypatch.setattr(review_rows, "KEPT", Kept(100))
    return names


@pytest.mark.django_db
def test_only_rows_of_those_who_did_something_are_made_again(
    cast: Cast, log: Logged, made: list[str]
) -> None:
    def look(staff: Staff) -> list[Row]:
        return rows_of(*children_of(staff, TODAY), staff, NOW, Ladders())

    look(cast.petra)
    look(cast.petra)
    assert sorted(made) == ["Ilse", "Mai", "Rosa"]
    log(cast.mai, "hollow-hold", [20])
    look(cast.petra)
    make_child("Nora Veen", cast.blue)
    look(cast.petra)
    assert made[3:] == ["Mai", "Nora"]
    # For somebody else it is another row; who a class is shown to decides the class.
    assert [row.child.called for row in look(cast.omar)] == ["Ilse", "Mai", "Nora"]
    assert sorted(made[5:]) == ["Ilse", "Mai", "Nora"]


@pytest.mark.django_db
def test_a_row_is_kept_by_the_reading_that_it_was_made_of(
    cast: Cast, log: Logged, made: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A turn may come between the look at the standings and that at the readings."""

    def late(children: Iterable[Child]) -> Any:
        log(cast.mai, "hollow-hold", [20])
        fresh_standings([cast.mai], NOW)
        return readings(children)

    monkeypatch.setattr(review_rows, "readings", late)
    rows = rows_of([cast.mai], classes_of([cast.mai]), cast.petra, NOW, Ladders())
    assert made == ["Mai"]
    monkeypatch.setattr(review_rows, "readings", readings)
    again = rows_of([cast.mai], classes_of([cast.mai]), cast.petra, NOW, Ladders())
    assert (made, again[0].text) == (["Mai"], rows[0].text)


@pytest.mark.django_db
def test_a_change_of_class_shows_at_once(cast: Cast, made: list[str]) -> None:
    def classes() -> list[list[str]]:
        rows = rows_of(*children_of(cast.petra, TODAY), cast.petra, NOW, Ladders())
        return [[group.name for group in row.classes] for row in rows if row.child == cast.mai]

    assert classes() == [["Blue"]]
    cast.mai.classes.add(cast.red)
    assert classes() == [["Blue", "Red"]]
    cast.blue.name = "Early Blue"
    cast.blue.save()
    assert classes() == [["Early Blue", "Red"]]
