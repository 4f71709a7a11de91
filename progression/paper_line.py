"""One line of a paper log: what it says, or everything that is wrong with it."""

import datetime
import zoneinfo
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from progression.paper_people import People
from progression.paper_words import (
    Outcome,
    WordError,
    find_named,
    read_faults,
    read_outcomes,
    read_support,
    read_yes,
)
from studio.access import may_grade
from studio.date_column import DateError, read_date, read_month
from studio.models import Child, Staff
from studio.names import clean_name
from studio.refused_file import RefusedLine

_LONGEST_NOTE = 500


@dataclass(frozen=True)
class LogContext:
    """What the lines may speak of.

    ``children`` and ``coaches`` are those the sender may see, the children with their
    classes and locations fetched; ``ladder`` is the content of a ladder version. Lines
    that name no coach or no surface get ``sender`` and ``usual_surface``.
    """

    ladder: Mapping[str, Any]
    children: Sequence[Child]
    coaches: Sequence[Staff]
    sender: Staff
    now: datetime.datetime
    usual_surface: str = ""


@dataclass(frozen=True)
class LineFacts:
    """What one good line says. ``zone`` is where the child's class is."""

    child: Child
    zone: datetime.tzinfo
    day: datetime.date
    drill: str
    surface: str
    support: int
    outcomes: tuple[Outcome, ...]
    faults: tuple[str, ...]
    caught: bool
    author: Staff
    note: str
    # Blank cells, in the place of which the sender and the usual surface stand.
    left_blank: frozenset[str]

    def said(self, outcome: Outcome) -> tuple[object, ...]:
        """Everything that makes a turn of this line another one, in plain values.

        What the paper leaves blank is blank here too: the same file sent by somebody else
        tells of the same turns.
        """
        return (
            self.day.isoformat(),
            str(self.child.uuid),
            self.drill,
            "" if "surface" in self.left_blank else self.surface,
            self.support,
            outcome.clean,
            outcome.value,
            " ".join(sorted(self.faults)),
            self.caught,
            "" if "coach" in self.left_blank else str(self.author.uuid),
            self.note,
        )


class LineReader:
    """Reads the lines of one file. ``dates`` and ``births`` are the orders of the columns."""

    def __init__(self, context: LogContext, dates: str, births: str) -> None:
        self.context, self.dates, self.births = context, dates, births
        self.people = People(context.children, context.coaches, context.sender)
        self.drills: dict[str, Mapping[str, Any]] = {
            drill["key"]: drill for drill in context.ladder["drill"]
        }
        self.stops = {fault["key"]: fault["stop"] for fault in context.ladder["fault"]}
        self.refused: list[RefusedLine] = []

    def read(self, line: int, cells: Mapping[str, str]) -> LineFacts | None:
        """What the line says; None if anything is wrong with it."""

        def reading(column: str, read: Callable[[], Any]) -> Any:
            try:
                return read()
            except (WordError, DateError) as error:
                self.refused.append(RefusedLine(line, column, str(error)))
                return None

        before = len(self.refused)
        child = reading("child", lambda: self._child(cells))
        zone = _zone_of(child)
        day = reading("date", lambda: self._day(cells, child, zone))
        drill = reading("drill", lambda: self._drill(cells))
        surface = reading("surface", lambda: self._surface(cells))
        author = reading("coach", lambda: self.people.coach(clean_name(cells.get("coach", ""))))
        caught = reading("caught", lambda: read_yes(cells.get("caught", "")))
        faults = reading(
            "faults", lambda: read_faults(cells.get("faults", ""), self.context.ladder["fault"])
        )
        note = reading("note", lambda: _note(cells))
        support: Any = None
        outcomes: Any = None
        if drill is not None:
            support = reading("support", lambda: read_support(cells.get("support", ""), drill))
            outcomes = reading("value", lambda: read_outcomes(cells["value"], drill))
        if outcomes is not None and faults is not None:
            reading("value", lambda: self._agree(outcomes, faults, caught))
        if drill is not None and author is not None:
            reading("coach", lambda: _may_say(author, drill))
        if len(self.refused) > before:
            return None
        return LineFacts(
            child=child,
            zone=zone,
            day=day,
            drill=drill["key"],
            surface=surface,
            support=support,
            outcomes=tuple(outcomes),
            faults=faults,
            caught=caught,
            author=author,
            note=note,
            left_blank=frozenset(name for name in ("coach", "surface") if not cells.get(name)),
        )

    def _child(self, cells: Mapping[str, str]) -> Child:
        newest = self.context.now.date()
        birth = cells.get("birth", "")
        month = read_month(birth, self.births, newest) if birth else None
        return self.people.child(clean_name(cells["child"]), cells.get("id", ""), month)

    def _day(
        self, cells: Mapping[str, str], child: Child | None, zone: datetime.tzinfo
    ) -> datetime.date:
        if not cells["date"]:
            raise WordError(_("The date is missing."))
        today = self.context.now.astimezone(zone).date()
        day = read_date(cells["date"], self.dates, today)
        if child and (day.year, day.month) < (child.birth_year, child.birth_month):
            raise WordError(
                _("%(date)s lies before the birth of %(name)s.")
                % {"date": cells["date"], "name": child.called}
            )
        return day

    def _drill(self, cells: Mapping[str, str]) -> Mapping[str, Any]:
        key: str = find_named(
            cells["drill"],
            self.context.ladder["drill"],
            _("The drill is missing."),
            _("There is no drill called “%(cell)s”."),
        )
        return self.drills[key]

    def _surface(self, cells: Mapping[str, str]) -> str:
        named = cells.get("surface", "") or self.context.usual_surface
        return find_named(
            named,
            self.context.ladder["surface"],
            _("The surface is missing."),
            _("There is no surface called “%(cell)s”."),
        )

    def _agree(self, outcomes: Sequence[Outcome], faults: Sequence[str], caught: bool) -> None:
        """Refuse what contradicts itself."""
        if len(outcomes) > 1 and (faults or caught):
            raise WordError(_("With a fault or a catch, give each turn a line of its own."))
        if outcomes[0].clean and caught:
            raise WordError(_("A turn in which the child was caught is not clean."))
        if outcomes[0].clean and any(self.stops[fault] == "yes" for fault in faults):
            raise WordError(_("A turn with a stop sign is not clean."))


def _zone_of(child: Child | None) -> datetime.tzinfo:
    """The time zone of the child's class, the first one if there are several."""
    groups = sorted(child.classes.all(), key=lambda group: group.pk) if child else []
    return zoneinfo.ZoneInfo(groups[0].location.zone) if groups else datetime.UTC


def _note(cells: Mapping[str, str]) -> str:
    note = " ".join(cells.get("note", "").split())
    if len(note) > _LONGEST_NOTE:
        raise WordError(_("This is longer than %(most)d letters.") % {"most": _LONGEST_NOTE})
    return note


def _may_say(author: Staff, drill: Mapping[str, Any]) -> None:
    if drill["measure"] == "grade" and not may_grade(author):
        raise WordError(
            _("%(drill)s is graded, and %(name)s does not grade.")
            % {"drill": drill["name"], "name": author.called}
        )
