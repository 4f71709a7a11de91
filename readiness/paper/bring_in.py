"""Bringing a paper log in: what its lines may name, reading the file, and storing what is new."""

import datetime
import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from progression.log.lines import NewTurn
from progression.log.logbook import ids_in_log
from progression.models import LadderVersion
from progression.paper.line import LogContext
from progression.paper.log import COLUMNS, ParsedLog, floor_days, parse_paper_log
from readiness.paper.undo import note_turns, undo, what_rests_on, with_new_ids
from readiness.record.intake import take_paper
from readiness.record.ladders import Ladders, NamedLadder
from studio import access
from studio.classes.changing import make_due_moves
from studio.imports.bring_in import FileOptions, ImportKind
from studio.imports.refused_file import RefusedLine
from studio.imports.table_file import Table, read_table
from studio.imports.words import Word, said_before
from studio.models import Child, ImportDraft, Staff
from studio.people.records import all_records
from studio.people.today import site_today
from studio.people.told_apart import full_names


@dataclass(frozen=True)
class LogScope:
    """Who brings the log in, and the children and coaches that its lines may name."""

    sender: Staff
    children: QuerySet[Child]
    coaches: QuerySet[Staff]

    @classmethod
    def of(cls, staff: Staff, today: datetime.date) -> "LogScope":
        children = Child.objects.filter(pk__in=all_records(access.visible_children(staff, today)))
        return cls(staff, children, access.visible_colleagues(staff))

    @classmethod
    def everything(cls, sender: Staff) -> "LogScope":
        """For a command at the server, in somebody's name."""
        return cls(sender, Child.objects.all(), Staff.objects.all())


@dataclass(frozen=True)
class FloorDay:
    """A child, drill and day in the file that has lines from the floor already."""

    child: str
    drill: str
    day: datetime.date


@dataclass(frozen=True)
class ChildTurns:
    """How many turns of a child are in the file, how many of them are new, and from when."""

    child: Child
    turns: int
    new: int
    first: datetime.date
    last: datetime.date


@dataclass(frozen=True)
class PaperReading:
    """A log, read. ``new`` are the turns that are not in the log yet."""

    table: Table
    parsed: ParsedLog
    new: tuple[NewTurn, ...] = ()
    floor_days: tuple[FloorDay, ...] = ()

    @property
    def readable(self) -> bool:
        return not (self.parsed.fault or self.parsed.dates.ask)

    @property
    def has_lines(self) -> bool:
        return bool(self.parsed.turns)

    @property
    def has_news(self) -> bool:
        return bool(self.new)

    @property
    def left_out(self) -> Sequence[RefusedLine]:
        return self.parsed.refused

    @property
    def words(self) -> Sequence[Word]:
        return self.parsed.words

    @property
    def counts(self) -> dict[str, int]:
        return {"new": len(self.new), "had": self.had}

    @property
    def had(self) -> int:
        return len(self.parsed.turns) - len(self.new)

    @property
    def refused_lines(self) -> int:
        return len({item.line for item in self.parsed.refused})

    @property
    def digest(self) -> str:
        """Tells whether two readings would add the same."""
        content = [[turn.digest for turn in self.new], self.parsed.refused]
        return hashlib.sha256(repr(content).encode()).hexdigest()

    @property
    def unconfirmed(self) -> int:
        """How many would be logged and wait for somebody's word before they are graded."""
        return sum(bool(turn.awaits) for turn in self.new)

    def by_child(self) -> list[ChildTurns]:
        new = {turn.id for turn in self.new}
        turns: dict[int, list[NewTurn]] = {}
        for turn in self.parsed.turns:
            turns.setdefault(turn.child.pk, []).append(turn)
        rows = [
            ChildTurns(
                child=group[0].child,
                turns=len(group),
                new=sum(turn.id in new for turn in group),
                first=min(turn.day for turn in group),
                last=max(turn.day for turn in group),
            )
            for group in turns.values()
        ]
        return sorted(rows, key=lambda row: (row.child.name, row.child.pk))


def read_paper(
    data: bytes, options: FileOptions, scope: LogScope, now: datetime.datetime
) -> PaperReading:
    """What is in a file and what it would add. Stores nothing. Raises TableFileError."""
    make_due_moves(now)
    table = read_table(data, encoding=options.encoding, delimiter=options.delimiter)
    ladder = current_ladder(now)
    if ladder is None:
        return PaperReading(table, ParsedLog(fault=_("Load a ladder first: it names the drills.")))
    context = LogContext(
        ladder=ladder.content,
        children=list(
            scope.children.prefetch_related(
                "classes__location", "merged_into__classes__location"
            ).order_by("pk")
        ),
        coaches=list(scope.coaches.order_by("pk")),
        sender=scope.sender,
        now=now,
        usual_surface=options.usual,
        seen=options.seen,
        said=said_before(ImportDraft.Kind.ATTEMPTS, options.words),
    )
    log = parse_paper_log(table, context, options.dates)
    log = replace(log, turns=with_new_ids(log.turns))
    known = ids_in_log(log.turns)
    new = tuple(turn for turn in log.turns if turn.id not in known)
    return PaperReading(table, log, new, _floor_days(new, ladder))


def current_ladder(now: datetime.datetime) -> NamedLadder | None:
    """The ladder in force today, if one is loaded."""
    try:
        return Ladders().named_on(site_today(now))
    except LadderVersion.DoesNotExist:
        return None


def _floor_days(turns: tuple[NewTurn, ...], ladder: NamedLadder) -> tuple[FloorDay, ...]:
    names = full_names({turn.child.pk: turn.child for turn in turns}.values())
    days = [
        FloorDay(names[child], ladder.drills[drill]["name"], day)
        for child, drill, day in floor_days(turns)
    ]
    return tuple(sorted(days, key=lambda floor: (floor.day, floor.child, floor.drill)))


def _surfaces(scope: LogScope, now: datetime.datetime) -> Iterable[tuple[str, str]]:
    ladder = current_ladder(now)
    return ladder.surface_names.items() if ladder else []


def _store(reading: PaperReading, scope: LogScope, now: datetime.datetime) -> None:
    take_paper(reading.new, scope.sender, now)
    note_turns(reading.new, scope.sender, now)


PAPER_LOG = ImportKind(
    kind=ImportDraft.Kind.ATTEMPTS,
    name="paper",
    title=gettext_lazy("Bring in a paper log"),
    templates="readiness/paper",
    scope=lambda staff, now: LogScope.of(staff, site_today(now)),
    read=read_paper,
    store=_store,
    usual_label=gettext_lazy("Surface of lines that name none"),
    usual_choices=_surfaces,
    columns=COLUMNS,
    rests_on=what_rests_on,
    undo=undo,
    undone_text=gettext_lazy("The paper log is undone: its turns stay in the log and are struck."),
    seen_label=gettext_lazy("I saw the turns under my name myself: they count as graded"),
)
