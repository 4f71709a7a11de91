"""Classes on which anything may happen between two packs, and a memory that overlooks things."""

import datetime
import json
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from django.utils import translation

from readiness.floor import pack as floor_pack
from readiness.floor.kept_parts import Key, Part
from readiness.floor.pack import build_pack
from readiness.models import Standing
from readiness.record.decisions import DecisionRefused
from readiness.record.memory import Memory, Place
from readiness.record.standings import fresh_standings
from studio.models import Child, Meeting, Staff
from tests.support.cast import NOW, Cast
from tests.support.evenings import Evenings

Pack = dict[str, Any]
Parts = Memory[Key, Part]


class Careless(Memory[Any, Any]):
    """Overlooks one part of the key, or for whom it is."""

    def __init__(self, overlooked: str) -> None:
        super().__init__(1000)
        self.overlooked = overlooked

    def find(self, place: Place, key: Any) -> Any:
        return super().find(*self._blurred(place, key))

    def keep(self, place: Place, key: Any, value: Any) -> None:
        super().keep(*self._blurred(place, key), value)

    def _blurred(self, place: Place, key: Any) -> tuple[Place, Any]:
        if self.overlooked == "staff":
            return Place(place.child, 0), key
        return place, key._replace(**{self.overlooked: None})


class Floor(Evenings):
    """Classes on which anything may happen; after it a pack is fetched with what was kept of
    the ones before, and once more with nothing kept."""

    def __init__(self, cast: Cast, seed: int, content: Any, kept: Parts) -> None:
        super().__init__(cast, seed, content)
        self.kept = kept
        self.staff, self.language = cast.omar, "en"
        self.both([self.turn(self.day)], self.day)

    def anything(self) -> str:
        happens = self.draw.choice(
            [self.next_day, self.tap, self.tap, self.tap, self.late, self.strike, self.strike,
             self.decide, self.decide, self.hurt, self.rename, self.look, self.forget_standing,
             self.other_ladder, self.other_coach, self.other_language]
        )  # fmt: skip
        happens()
        return happens.__name__

    def next_day(self) -> None:
        self.day += datetime.timedelta(days=self.draw.choice([1, 7, 7, 14]))
        self.both([self.turn(self.day) for _ in range(4)], self.day)

    def tap(self) -> None:
        self.both([self.turn(self.day)], self.day)

    def decide(self) -> None:
        with suppress(DecisionRefused):
            super().decide()

    def rename(self) -> None:
        child = Child.objects.get(pk=self.cast.mai.pk)
        child.name_used = "Maia" if child.called == "Mai" else "Mai"
        child.save(update_fields=["name_used"])

    def look(self) -> None:
        """Somebody opens the review."""
        fresh_standings([self.cast.mai, self.twin], self.now())

    def forget_standing(self) -> None:
        Standing.objects.filter(child=self.cast.mai).delete()

    def other_coach(self) -> None:
        self.staff = self.cast.tam if self.staff == self.cast.omar else self.cast.omar

    def other_language(self) -> None:
        """Months have other names, of which Django itself knows."""
        self.language = "fr" if self.language == "en" else "en"

    def packs(self, back: int = 0) -> tuple[Pack, Pack]:
        """The same pack, first with what is kept; of a class so many days ago."""
        meeting, _ = Meeting.objects.get_or_create(
            group=self.cast.blue,
            date=self.day - datetime.timedelta(days=back),
            starts_at=self.cast.blue.starts_at,
        )
        with translation.override(self.language):
            kept = fetched(meeting, self.staff, self.kept)
            return kept, fetched(meeting, self.staff, Parts(1000))


def fetched(meeting: Meeting, staff: Staff, kept: Parts) -> Pack:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(floor_pack, "KEPT", kept)
        pack: Pack = json.loads(build_pack(meeting, staff, NOW))
    return pack


def tells_something_old(floor: Floor, happens: list[str], look: Callable[[], Any]) -> bool:
    """After these what is kept is not what would be made."""
    for _ in range(12):
        floor.next_day()
    for _ in range(20):
        look()
        for each in happens:
            getattr(floor, each)()
        warm, cold = look()
        if warm != cold:
            return True
    return False
