"""What a note for the door is about, read off the rows: by the id of its line, of one evening."""

import datetime
import zoneinfo
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from readiness.models import Fell, HeadKnock, IncidentAccount
from studio.models import Location, Meeting
from tests.support.letters.notes.table import NOT_SURE
from tests.support.letters.record import RawRecord

MINUTES = datetime.timedelta(minutes=15)
# A fault that says more of a turn comes before one that says less.
GRAVEST = (
    "caught", "half-hearted", "feet-move", "arms-give", "turns-in-air", "drops-in",
    "reaches-behind",
)  # fmt: skip


@dataclass
class Event:
    """``given``: what the coach said in the form. kind: fall, head or hands."""

    record: RawRecord
    kind: str
    start: Any
    given: dict[str, str]

    @cached_property
    def turn(self) -> Any:
        return next((row for row in self.record.turns.rows if row.id == self.start), None)

    @cached_property
    def lines(self) -> list[Any]:
        """The falls, knocks and sore heads of the day."""
        record = self.record
        falls, knocks = record.reports(Fell), record.reports(HeadKnock)
        return [row for row in (*falls, *knocks, *record.pains()) if row.day == record.today]

    @cached_property
    def account(self) -> IncidentAccount | None:
        """As it was written last."""
        rows = [row for row in self.record.rows(IncidentAccount) if row.day == self.record.today]
        return rows[-1] if rows else None

    @cached_property
    def meeting(self) -> Meeting | None:
        row = self.turn or next(iter(self.lines), None)
        return Meeting.objects.filter(pk=row.meeting_id).first() if row else None

    @cached_property
    def halls(self) -> list[Location]:
        """Of the class of that evening; of what was written at the desk, those of the child's
        classes."""
        if self.meeting:
            where = [self.meeting.location_id or self.meeting.group.location_id]
        else:
            where = [group.location_id for group in self.record.child.classes.all()]
        return list(Location.objects.filter(pk__in=where))

    def told_of_hall(self, column: str, said: str) -> bool:
        return said in {getattr(hall, column) for hall in self.halls}

    def clocks(self) -> set[str]:
        zone = zoneinfo.ZoneInfo(self.halls[0].zone)
        at = [self.turn.done_at] if self.turn else [row.at for row in self.lines]
        told = {f"{each.astimezone(zone):%H:%M}" for each in at}
        time = self.account.time if self.account else None
        return {f"{time:%H:%M}"} if time else told

    def drills(self) -> set[str]:
        """At which it was: as it was written, else that of a turn within the quarter of an hour in
        which the child was caught or the head touched."""
        if self.turn:
            return {self.turn.drill_key}
        if self.account:
            return {self.account.drill.key} if self.account.drill else set()
        return {
            row.drill_key
            for row in self.record.turns.rows
            if row.day == self.record.today
            and (row.caught or "head-touches" in row.faults)
            and any(abs(row.done_at - line.at) <= MINUTES for line in self.lines)
        }

    def seen(self) -> str:
        there = {*self.turn.faults, *(["caught"] if self.turn.caught else [])}
        return next((fault for fault in GRAVEST if fault in there), NOT_SURE)

    # --- whether it happened at all ------------------------------------------------------

    def fell(self) -> bool:
        """And nothing hurt on that day, the head least of all."""
        hurt = [row for row in self.record.pains() if row.day == self.record.today]
        falls = [row for row in self.record.reports(Fell) if row.day == self.record.today]
        written = self.account is not None and self.account.kind == "fall"
        return bool(falls or written) and not hurt and not self.knocked()

    def knocked(self) -> bool:
        knocks = self.record.reports(HeadKnock)
        return any(row.on == self.record.today and not row.elsewhere for row in knocks)

    def hands_are_back(self) -> bool:
        """A turn at the drill went with less than a coach's hands, and they are asked for since."""
        if self.turn is None:
            return False
        drill, today = self.turn.drill_key, self.record.today
        rows = self.record.turns.at(drill, today)
        asked = [self.record.asked_on(drill, today, row.surface_key) for row in rows]
        return min(row.support for row in rows) < 3 and max(asked) >= 2
