"""What a pack says of a child may be kept from an earlier pack, and must never be old."""

import datetime
import threading
import uuid
from collections.abc import Callable
from typing import Any

import pytest

from readiness.floor import pack as floor_pack
from readiness.floor.kept_parts import Key, LastDone, Part
from readiness.floor.pack import build_pack
from readiness.record.memory import Place
from studio.models import Meeting
from tests.support.cast import NOW, TODAY, Cast, Logged, make_child
from tests.support.evenings import FIRST
from tests.support.kept_parts import Careless, Floor, Parts, tells_something_old
from tests.support.ready import place_at

# What makes it show when a part of the key is overlooked. Of the day nothing needs to: the id of
# what is kept at its start is that of one day.
SHOWS = {
    "start": ["late", "look"],
    "turns": ["tap"],
    "events": ["hurt"],
    "name": ["rename"],
    "ladders": ["other_ladder"],
    "language": ["other_language"],
    "staff": ["other_coach"],
}


@pytest.mark.django_db
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_with_anything_between_two_packs_what_is_kept_is_what_would_be_made(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    kept = Parts(1000)
    floor = Floor(cast, seed, ladder_content, kept)
    place_at(cast, cast.mai, 7, FIRST)
    for number in range(60):
        happened = floor.anything()
        warm, cold = floor.packs(floor.draw.choice([0, 0, 0, 7]))
        assert warm == cold, (seed, number, happened)
    assert len(kept) >= 3


def test_every_part_of_the_key_is_tried() -> None:
    assert {*Key._fields} == {*SHOWS} - {"staff"} | {"day"}


@pytest.mark.django_db
@pytest.mark.parametrize("overlooked", SHOWS)
def test_without_any_one_part_of_the_key_something_old_would_be_told(
    cast: Cast, ladder_content: dict[str, Any], overlooked: str
) -> None:
    floor = Floor(cast, 4, ladder_content, Careless(overlooked))
    assert tells_something_old(floor, SHOWS[overlooked], floor.packs)


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of those of whom a part had to be made."""
    names: list[str] = []
    make: Callable[..., Part] = floor_pack._part

    def noted(reading: Any, name: str, numbers: Any) -> Part:
        names.append(name)
        return make(reading, name, numbers)

    monkeypatch.setattr(floor_pack, "_part", noted)
    monkeypatch.setattr(floor_pack, "KEPT", Parts(100))
    return names


def test_only_those_whose_record_has_changed_are_read(
    cast: Cast, log: Logged, made: list[str]
) -> None:
    log(cast.mai, "log-roll", "1", day=TODAY - datetime.timedelta(days=7))
    build_pack(cast.meeting, cast.omar, NOW)
    build_pack(cast.meeting, cast.omar, NOW)
    assert sorted(made) == ["Ilse", "Mai"]
    log(cast.mai, "log-roll", "1")
    build_pack(cast.meeting, cast.omar, NOW)
    make_child("Nora Veen", cast.blue)
    build_pack(cast.meeting, cast.omar, NOW)
    assert made[2:] == ["Mai", "Nora"]


def test_of_a_day_that_is_over_for_the_child_nothing_is_kept(
    cast: Cast, log: Logged, made: list[str]
) -> None:
    log(cast.mai, "log-roll", "1", day=TODAY - datetime.timedelta(days=7))
    build_pack(cast.meeting, cast.omar, NOW)
    before = TODAY - datetime.timedelta(days=7)
    last_week = Meeting.objects.get(group=cast.blue, date=before)
    for _ in range(2):
        build_pack(last_week, cast.omar, NOW)
    assert sorted(made) == ["Ilse"] * 3 + ["Mai"] * 3


# --- what keeps them -----------------------------------------------------------------


def key_of(day: datetime.date) -> Key:
    return Key(day, uuid.UUID(int=1), frozenset(), frozenset(), "Mai", (), "en")


PART = Part("{}", (), LastDone({}, TODAY, {}))


def test_at_most_so_many_are_kept_and_those_asked_for_last_stay() -> None:
    kept, key = Parts(2), key_of(TODAY)
    for child in (1, 2):
        kept.keep(Place(child, 1), key, PART)
    assert kept.find(Place(1, 1), key) is PART
    kept.keep(Place(3, 1), key, PART)
    assert [kept.find(Place(child, 1), key) for child in (1, 2, 3)] == [PART, None, PART]
    assert len(kept) == 2


def test_those_of_days_that_are_over_everywhere_are_dropped_with_the_next_day() -> None:
    kept = Parts(10)
    days = [TODAY + datetime.timedelta(days=ahead) for ahead in range(3)]
    for child, day in enumerate(days[:2]):
        kept.keep(Place(child, 1), key_of(day), PART)
    assert len(kept) == 2
    kept.keep(Place(2, 1), key_of(days[2]), PART)
    found = [kept.find(Place(child, 1), key_of(day)) for child, day in enumerate(days)]
    assert found == [None, PART, PART]


def test_threads_may_use_them_at_the_same_time() -> None:
    kept, failed = Parts(5), []

    def use(staff: int) -> None:
        try:
            for turn in range(2000):
                kept.keep(Place(turn % 7, staff), key_of(TODAY), PART)
                kept.find(Place(turn % 5, staff), key_of(TODAY))
        except Exception as error:  # noqa: BLE001
            failed.append(error)

    threads = [threading.Thread(target=use, args=(staff,)) for staff in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert len(kept) == 5
