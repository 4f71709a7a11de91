"""Classes on which anything may happen between two looks at what is stored of the children."""

import datetime
import json
from collections.abc import Callable
from contextlib import suppress
from typing import Any, TypeVar

from django.db import transaction
from django.utils import translation

from progression.models import LadderVersion, Surface
from readiness.floor.pack import build_pack
from readiness.models import Decision, Standing
from readiness.record import decisions
from readiness.record.decisions import DecisionRefused
from readiness.record.ladders import Ladders
from readiness.record.standings import fresh_standings, refresh_standings
from readiness.review.rows import RowText, rows_of
from studio.models import Child, Meeting, Staff
from tests.support.cast import NOW, Cast
from tests.support.evenings import FIRST, SURFACES, Evenings
from tests.support.ready import place_at

Pack = dict[str, Any]
Look = TypeVar("Look")


class ClassEvenings(Evenings):
    """After anything has happened, a page is looked at as it is stored, and as it would be with
    every child read again."""

    def __init__(self, cast: Cast, seed: int, content: Any, placed: int) -> None:
        super().__init__(cast, seed, content)
        self.coach, self.reader, self.language = cast.omar, cast.petra, "en"
        self.both([self.turn(self.day)], self.day)
        place_at(cast, cast.mai, placed, FIRST)

    def anything(self) -> str:
        happens = self.draw.choice(
            [self.next_day, self.tap, self.tap, self.tap, self.late, self.strike, self.strike,
             self.decide, self.decide, self.hurt, self.rename, self.look, self.forget_standing,
             self.other_ladder, self.other_coach, self.other_language, self.recommend,
             self.recommend, self.other_director, self.other_rights]
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

    def pause(self) -> None:
        with suppress(DecisionRefused):
            decisions.pause(self.cast.mai, self.cast.omar, self.now(), "fever")

    def recommend(self) -> None:
        """Whatever the record says, and read again as after every decision."""
        Decision.objects.create(
            kind=Decision.Kind.RECOMMEND, child=self.cast.mai, stage=self.draw.choice("1234"),
            at=self.now(), day=self.day, reading={}, digest="", as_director=False,
            surface=Surface.objects.get(key=SURFACES[0]), ladder=LadderVersion.objects.first(),
            by=self.draw.choice([self.cast.omar, self.cast.petra]),
        )  # fmt: skip
        refresh_standings([self.cast.mai], self.day)

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
        self.coach = self._other(self.coach, self.cast.omar, self.cast.tam)

    def other_director(self) -> None:
        self.reader = self._other(self.reader, self.cast.petra, self.cast.luis)

    def other_rights(self) -> None:
        """By PIN, or by password again."""
        self.reader.coach_rights_only = not self.reader.coach_rights_only

    def other_language(self) -> None:
        """Months have other names, of which Django itself knows."""
        self.language = "fr" if self.language == "en" else "en"

    def _other(self, now: Staff, one: Staff, other: Staff) -> Staff:
        return other if now == one else one

    def packs(self, back: int = 0) -> tuple[Pack, Pack]:
        """The same pack twice; of a class so many days ago. Its origin is signed anew each time."""
        meeting, _ = Meeting.objects.get_or_create(
            group=self.cast.blue,
            date=self.day - datetime.timedelta(days=back),
            starts_at=self.cast.blue.starts_at,
        )

        def look() -> Pack:
            return json.loads(build_pack(meeting, self.coach, NOW)) | {"origin": ""}

        return self._twice(look)

    def rows(self) -> tuple[list[RowText], list[RowText]]:
        """The same rows twice."""
        children = list(Child.objects.filter(pk__in=[self.cast.mai.pk, self.twin.pk]))
        now = self.now()
        return self._twice(
            lambda: [row.text for row in rows_of(children, self.reader, now, Ladders())]
        )

    def _twice(self, look: Callable[[], Look]) -> tuple[Look, Look]:
        """As stored, and with every child read again, of which nothing stays."""
        with translation.override(self.language):
            stored = look()
            with transaction.atomic():
                Standing.objects.update(stale=True)
                again = look()
                transaction.set_rollback(True)
        return stored, again


def tells_something_old(
    evenings: ClassEvenings,
    happens: list[str],
    overlooked: dict[str, Any],
    look: Callable[[], tuple[Any, Any]],
) -> bool:
    """After these, with columns of the standing set as if nothing had happened, what is stored
    is not what would be made."""
    for _ in range(12):
        evenings.next_day()
    for _ in range(20):
        look()
        for each in happens:
            getattr(evenings, each)()
        Standing.objects.update(
            **{name: of(evenings) if callable(of) else of for name, of in overlooked.items()}
        )
        stored, again = look()
        if stored != again:
            return True
    return False
