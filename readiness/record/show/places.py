"""What is in force for each child in a number: alone, somebody beside, or the easy version.

Shared: used by the show list and by what is decided there. The rule is
readiness/engine/evening/show_list.py.
"""

import datetime
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from zoneinfo import ZoneInfo

from django.db.models import Max

from progression.models import Attempt
from readiness.engine.evening.show_list import (
    Breaks,
    Phrase,
    PhraseRecord,
    Version,
    last_pause,
    phrase_record,
    why_void,
)
from readiness.engine.levels import Support
from readiness.engine.reading import OPEN
from readiness.engine.tallies import Turn
from readiness.models import DayTally, RunThrough, ShowEntry, ShowNumber
from readiness.record.evidence_loader import TURN_COLUMNS, turn_of
from readiness.record.standings import Reading
from studio.models import Child, Staff
from studio.people.records import records_of

Kind = ShowEntry.Kind
# Of these the latest counts.
PLACINGS = (Kind.EASY, Kind.BESIDE, Kind.YES)


@dataclass(frozen=True)
class Place:
    """A child in a number, as read on a day. entries: the oldest first."""

    number: ShowNumber
    reading: Reading
    phrase: Phrase
    turns: Sequence[Turn]
    entries: Sequence[ShowEntry]
    last_stop: datetime.date | None

    @property
    def child(self) -> Child:
        return self.reading.child

    @property
    def day(self) -> datetime.date:
        return self.reading.read.day

    @cached_property
    def breaks(self) -> Breaks:
        held = self.day if self.reading.read.is_held else None
        paused = last_pause(self.reading.record.events, self.reading.ladder.engine)
        return Breaks(self.last_stop, held or paused)

    @cached_property
    def record(self) -> PhraseRecord:
        return phrase_record(self.turns, self.phrase, self.day, self.breaks)

    @property
    def placed(self) -> ShowEntry | None:
        """What was decided last, whether it still holds or not."""
        return next((e for e in reversed(self.entries) if e.kind in PLACINGS), None)

    @property
    def asked(self) -> ShowEntry | None:
        """A recommendation that nothing has answered."""
        decided = [e for e in self.entries if e.kind in (*PLACINGS, Kind.RECOMMEND)]
        return decided[-1] if decided and decided[-1].kind == Kind.RECOMMEND else None

    @property
    def last(self) -> ShowEntry | None:
        return self.entries[-1] if self.entries else None

    @property
    def seen(self) -> str:
        """What a form carries of the page that it stands on."""
        last = self.last.uuid if self.last else "-"
        counted = f"{self.record.clean} {len(self.record.days)} {self.breaks.last}"
        return f"{last} {counted} {self.signed_stage}"

    @property
    def may_be_there(self) -> bool:
        """The drill is not closed to the child now, on this floor."""
        return self.reading.read.allowed(self.phrase.drill, self.phrase.surface).support is not None

    @cached_property
    def signed_stage(self) -> bool:
        """The skill is signed for unspotted work, and where the ladder has a release for the
        dance of it, that too; neither is on re-check."""
        stages = [self.reading.read.stage(code) for code in self.stages_to_sign]
        return all(
            stage.state == OPEN and stage.opening is not None and stage.opening.how == "signature"
            for stage in stages
        )

    @property
    def stages_to_sign(self) -> list[str]:
        drill = self.reading.ladder.engine.drills[self.phrase.drill]
        alone = [step.stage for step in drill.allow if step.support == Support.UNSPOTTED]
        return list(dict.fromkeys([drill.stage, *alone]))

    @property
    def is_ready(self) -> bool:
        """A yes may be recommended, and signed."""
        before = self.day < self.number.show.on
        return before and self.signed_stage and self.may_be_there and self.record.met

    @cached_property
    def why_not(self) -> str:
        """Why what was decided does not hold; "" while it does."""
        placed = self.placed
        if placed is None or placed.kind == Kind.EASY:
            return ""
        if placed.kind == Kind.BESIDE:
            return "" if self.may_be_there else "closed"
        void = why_void(placed.day, self.number.show.on, self.day, self.breaks)
        if void:
            return void
        if placed.child_id != self.child.pk:
            # Signed for another record, which somebody has since found to be of this child.
            return "merged"
        if not (self.signed_stage and self.may_be_there):
            return "closed"
        # As it stands now: a turn may have been taken back since.
        then = phrase_record(self.turns, self.phrase, placed.day, self.breaks)
        return "" if then.met else "evidence"

    @property
    def version(self) -> Version:
        placed = self.placed
        if placed is None or self.why_not:
            return "easy"
        return {Kind.YES: "yes", Kind.BESIDE: "beside"}.get(Kind(placed.kind), "easy")  # type: ignore[return-value]

    def said_on_the_day(self, kind: Kind) -> ShowEntry | None:
        """Since the yes that holds, on the day of the show."""
        on = self.number.show.on
        found = [e for e in self.entries if e.kind == kind and e.day == on == self.day]
        return found[-1] if found else None


def places_of(number: ShowNumber, readings: Sequence[Reading]) -> list[Place]:
    """A place for each reading, by a fixed number of queries."""
    keys = records_of([reading.child.pk for reading in readings])
    phrase = _phrase(number)
    entries = ShowEntry.objects.filter(number=number, child__in=keys).select_related("by")
    of_child: dict[int, list[ShowEntry]] = defaultdict(list)
    for entry in entries.order_by("at", "pk"):
        of_child[keys[entry.child_id]].append(entry)
    turns: dict[int, list[Turn]] = defaultdict(list)
    rows = Attempt.objects.filter(child__in=keys, drill=number.drill, day__in=phrase.ends)
    for row in rows.unstruck().with_graded_now().values_list(*TURN_COLUMNS):
        turns[keys[row[0]]].append(turn_of(row))
    stops: dict[int, datetime.date] = {}
    stopped = DayTally.objects.filter(child__in=keys, stop_signs__gt=0).values_list("child")
    for key, day in stopped.annotate(Max("day")).order_by():
        stops[keys[key]] = max(day, stops.get(keys[key], day))
    return [
        Place(number, each, phrase, turns[child], of_child[child], stops.get(child))
        for each in readings
        for child in [each.child.pk]
    ]


def _phrase(number: ShowNumber) -> Phrase:
    """With the end of the first run-through of each day."""
    ends: dict[datetime.date, datetime.datetime] = {}
    for day, ended in RunThrough.objects.filter(number=number).values_list("day", "ended_at"):
        ends[day] = min(ended, ends.get(day, ended))
    return Phrase(number.drill.key, number.show.surface.key, ends)


def in_the_wings(number: ShowNumber) -> Staff | None:
    latest = number.wings.select_related("adult").order_by("-at", "-pk").first()
    return latest.adult if latest else None


def zone_of_show(number: ShowNumber) -> ZoneInfo:
    return ZoneInfo(number.show.location.zone)
