"""One line of a paper log: its values, or everything that is wrong with it.

Shared: used by the paper log's import.
"""

import datetime
import zoneinfo
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from django.utils.translation import gettext as _

from progression.paper.meanings import Meanings
from progression.paper.people import People
from progression.paper.words import (
    Outcome,
    UnknownWord,
    WordError,
    find_named,
    names_of,
    read_faults,
    read_outcomes,
    read_support,
    read_yes,
    refuse_split_name,
    refuse_unknown_support,
    refuse_unknown_value,
    split_names,
)
from studio.access import may_grade
from studio.imports.date_column import read_date, read_month
from studio.imports.refused_file import CellError, RefusedLine
from studio.imports.words import Said
from studio.models import Child, Staff
from studio.people.names import clean_name

_LONGEST_NOTE = 500


@dataclass(frozen=True)
class LogContext:
    """What the lines may refer to.

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
    # The sender says that she saw the turns under her own name.
    seen: bool = False
    # What was said that words of the file mean.
    said: Said = field(default_factory=dict)


@dataclass(frozen=True)
class LineValues:
    """What one good line holds. ``zone`` is where the child's class is."""

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
    # Whether the cell was blank; then the sender or the usual surface was taken.
    coach_blank: bool
    surface_blank: bool

    def content(self, outcome: Outcome) -> tuple[object, ...]:
        """What tells one turn of this line from another, in plain values, for its id.

        What the paper leaves blank is blank here too: the same file sent by somebody else
        has the same turns.
        """
        return (
            self.day.isoformat(),
            str(self.child.uuid),
            self.drill,
            "" if self.surface_blank else self.surface,
            self.support,
            outcome.clean,
            outcome.value,
            " ".join(sorted(self.faults)),
            self.caught,
            "" if self.coach_blank else str(self.author.uuid),
            self.note,
        )


class LineReader:
    """Reads the lines of one file. ``dates`` and ``births`` are the orders of the columns.

    The same cells come again with every line of a file: each is read once.
    """

    def __init__(self, context: LogContext, dates: str, births: str) -> None:
        self.context, self.dates, self.births = context, dates, births
        self.people = People(context.children, context.coaches, context.sender)
        ladder = context.ladder
        self.drills: dict[str, Mapping[str, Any]] = {
            drill["key"]: drill for drill in ladder["drill"]
        }
        self.stops = {fault["key"]: fault["stop"] for fault in ladder["fault"]}
        self.drill_names = names_of(ladder["drill"], "name")
        self.split_names = split_names(ladder["drill"])
        self.surface_names = names_of(ladder["surface"], "name")
        self.fault_names = names_of(ladder["fault"], "sees")
        self.refused: list[RefusedLine] = []
        self.meanings = Meanings(context.said, ladder, self.people)
        self._zone_of = cache(_zone_of)
        self._child = cache(self.people.child)
        self._date = cache(self._read_date)
        self._drill = cache(self._find_drill)
        self._surface = cache(self._find_surface)
        self._coach = cache(self._find_coach)
        self._faults = cache(self._read_faults)
        self._support = cache(self._read_support)
        self._outcomes = cache(self._read_outcomes)

    def read(self, line: int, cells: Mapping[str, str]) -> LineValues | None:
        """What the line holds; None if anything is wrong with it."""
        cells = self.meanings.put_in(line, cells)
        cell, refused_before = cells.get, len(self.refused)
        coach = cell("coach", "")
        child = self._try(line, "child", self._find_child, line, cells)
        zone = self._zone_of(child)
        day = self._try(line, "date", self._day, cells["date"], child, zone)
        drill = self._try(line, "drill", self._drill, cells["drill"])
        surface = self._try(line, "surface", self._surface, cell("surface", ""))
        author = self._try(line, "coach", self._coach, coach)
        caught = self._try(line, "caught", read_yes, cell("caught", ""))
        faults = self._try(line, "faults", self._faults, cell("faults", ""))
        note = self._try(line, "note", _note, cell("note", ""))
        support, outcomes = self._support_and_outcomes(line, cells, drill)
        if outcomes is not None and faults is not None:
            self._try(line, "value", self._refuse_contradiction, outcomes, faults, caught)
        if drill is not None and author is not None:
            self._try(line, "coach", _refuse_unless_grades, author, self.drills[drill])
        if len(self.refused) > refused_before:
            return None
        return LineValues(
            child=child,
            zone=zone,
            day=day,
            drill=drill,
            surface=surface,
            support=support,
            outcomes=outcomes,
            faults=faults,
            caught=caught,
            author=author,
            note=note,
            coach_blank=not coach,
            surface_blank=not cell("surface"),
        )

    def _support_and_outcomes(
        self, line: int, cells: Mapping[str, str], drill: str | None
    ) -> tuple[Any, Any]:
        support, value = cells.get("support", ""), cells["value"]
        if drill is not None:
            return (
                self._try(line, "support", self._support, support, drill),
                self._try(line, "value", self._outcomes, value, drill),
            )
        if cells["drill"]:
            # All questions at once: words that no drill would take are asked about too.
            self._try(line, "support", refuse_unknown_support, support)
            self._try(line, "value", refuse_unknown_value, value)
        return None, None

    def _try(self, line: int, column: str, read: Callable[..., Any], *cells: Any) -> Any:
        """What is read; None if it is refused, which is noted."""
        try:
            return read(*cells)
        except CellError as error:
            if isinstance(error, UnknownWord):
                self.meanings.words.meet(line, error.what, error.word)
            self.refused.append(RefusedLine(line, column, str(error), error.kind))
            return None

    def _find_child(self, line: int, cells: Mapping[str, str]) -> Child:
        newest = self.context.now.date()
        birth = cells.get("birth", "")
        month = read_month(birth, self.births, newest) if birth else None
        name, group = clean_name(cells["child"]), clean_name(cells.get("class", ""))
        meant = self.meanings.child(line, name, group, month)
        return self._child(meant or name, cells.get("id", ""), month, group)

    def _find_coach(self, name: str) -> Staff:
        return self.people.coach(clean_name(name))

    def _day(self, cell: str, child: Child | None, zone: datetime.tzinfo) -> datetime.date:
        day: datetime.date = self._date(cell, zone)
        if child and f"{day:%Y-%m}" < child.born:
            sentence = _("%(date)s lies before the birth of %(name)s.")
            raise WordError(sentence, date=cell, name=child.called)
        return day

    def _read_date(self, cell: str, zone: datetime.tzinfo) -> datetime.date:
        if not cell:
            raise WordError(_("The date is missing."))
        return read_date(cell, self.dates, self.context.now.astimezone(zone).date())

    def _find_drill(self, cell: str) -> str:
        refuse_split_name(cell, self.split_names, self.drills)
        return find_named(
            "drill",
            cell,
            self.drill_names,
            _("The drill is missing."),
            _("There is no drill called “%(cell)s”."),
        )

    def _find_surface(self, cell: str) -> str:
        return find_named(
            "surface",
            cell or self.context.usual_surface,
            self.surface_names,
            _("The surface is missing."),
            _("There is no surface called “%(cell)s”."),
        )

    def _read_faults(self, cell: str) -> tuple[str, ...]:
        return read_faults(cell, self.fault_names)

    def _read_support(self, cell: str, drill: str) -> int:
        return read_support(cell, self.drills[drill])

    def _read_outcomes(self, cell: str, drill: str) -> tuple[Outcome, ...]:
        return tuple(read_outcomes(cell, self.drills[drill]))

    def _refuse_contradiction(
        self, outcomes: Sequence[Outcome], faults: Sequence[str], caught: bool
    ) -> None:
        if len(outcomes) > 1 and (faults or caught):
            raise WordError(_("With a fault or a catch, give each turn a line of its own."))
        if outcomes[0].clean and caught:
            raise WordError(_("A turn in which the child was caught is not clean."))
        if outcomes[0].clean and any(self.stops[fault] == "yes" for fault in faults):
            raise WordError(_("A turn with a stop sign is not clean."))


def _zone_of(child: Child | None) -> datetime.tzinfo:
    """The time zone of the child's class, the first one if there are several."""
    records = [each for each in (child, child.merged_into) if each] if child else []
    groups = sorted((g for each in records for g in each.classes.all()), key=lambda g: g.pk)
    return zoneinfo.ZoneInfo(groups[0].location.zone) if groups else datetime.UTC


def _note(cell: str) -> str:
    note = " ".join(cell.split())
    if len(note) > _LONGEST_NOTE:
        raise WordError(_("This is longer than %(most)s letters."), most=_LONGEST_NOTE)
    return note


def _refuse_unless_grades(author: Staff, drill: Mapping[str, Any]) -> None:
    if drill["measure"] == "grade" and not may_grade(author):
        sentence = _("%(drill)s is graded, and %(name)s does not grade.")
        raise WordError(sentence, drill=drill["name"], name=author.called)
