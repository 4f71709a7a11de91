"""A paper log, or an old spreadsheet of turns, read into turns.

Each line becomes one turn (a score such as 3/5 becomes five), with an id made from its content,
so that importing the same file again adds nothing.
Shared: used by the paper log's import.
"""

import datetime
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from django.utils.translation import gettext as _

from progression.log.lines import NewTurn, Proof, awaited, digest_of, is_late
from progression.models import Attempt, AttemptProof
from progression.paper.line import LineReader, LineValues, LogContext
from progression.paper.line_ids import paper_line_id
from progression.paper.words import Outcome
from studio.access import may_grade
from studio.imports.date_column import DateColumn, read_date_column
from studio.imports.file_text import TableFileError
from studio.imports.refused_file import RefusedLine, refused_headers
from studio.imports.table_file import Table, match_columns
from studio.imports.words import COLUMN, Word

COLUMNS = {
    "date": ("day",),
    "child": ("name", "child name", "child's name", "student", "pupil", "dancer"),
    "id": ("child id", "student id", "pupil id", "list id"),
    "birth": ("date of birth", "birth date", "birthday", "born", "dob"),
    "class": ("group", "class name", "group name"),
    "drill": ("skill", "exercise"),
    "surface": ("floor",),
    "value": ("result", "outcome", "score", "clean"),
    "support": ("spot", "spotting"),
    "faults": ("fault",),
    "coach": ("coach name", "teacher", "seen by", "graded by"),
    "note": ("notes", "remark", "comment"),
    "caught": ("catch",),
}
REQUIRED = ("date", "child", "drill", "value")
_NO_ORDER = DateColumn("")
# A line's and a turn's step in time. No file has so many lines that they fill the half day.
_LINE = datetime.timedelta(milliseconds=100)
_TURN = datetime.timedelta(milliseconds=1)


@dataclass(frozen=True)
class ParsedLog:
    """``fault`` is a sentence if the table as a whole is no log; then nothing was read.

    Each turn's ``done_at`` lies just after noon of its day where the child's class is, later
    with each line of the file: that gives the order of the turns and claims no more.
    ``scores`` are the lines whose value stands for several turns, with that value.
    """

    turns: tuple[NewTurn, ...] = ()
    refused: tuple[RefusedLine, ...] = ()
    scores: tuple[tuple[int, str], ...] = ()
    words: tuple[Word, ...] = ()
    used: Mapping[str, str] = field(default_factory=dict)
    unused: tuple[str, ...] = ()
    dates: DateColumn = _NO_ORDER
    fault: str = ""


def parse_paper_log(table: Table, context: LogContext, dates: str | None = None) -> ParsedLog:
    """Read every line. If the order of the dates must be asked for, no line is read and
    ``dates.ask`` is true."""
    try:
        # A corrected file of refused lines still has each line's number in the first file.
        columns = COLUMNS | {"place": (refused_headers()[0],)}
        at = match_columns(table.columns, columns, context.said.get(COLUMN))
    except TableFileError as error:
        return ParsedLog(fault=str(error))
    unused = tuple(c for i, c in enumerate(table.columns) if c and i not in at.values())
    used = {name: table.columns[index] for name, index in at.items()}
    if missing := [name for name in REQUIRED if name not in at]:
        return ParsedLog(unused=unused, used=used, fault=_missing_columns(missing))
    order = _order_of(table, at["date"], dates)
    births = _order_of(table, at["birth"], dates) if "birth" in at else order
    if order.ask or births.ask:
        return ParsedLog(unused=unused, used=used, dates=order if order.ask else births)
    reader = LineReader(context, order.order, births.order)
    turns, scores = _read_turns(table, at, reader)
    return ParsedLog(
        tuple(turns),
        tuple(replace(r, column=used.get(r.column, r.column)) for r in reader.refused),
        tuple(scores),
        reader.meanings.words.all(reader.meanings.choices),
        used,
        unused,
        order,
    )


def _order_of(table: Table, column: int, chosen: str | None) -> DateColumn:
    return read_date_column((row.cells[column] for row in table.rows), chosen)


def _read_turns(
    table: Table, at: Mapping[str, int], reader: LineReader
) -> tuple[list[NewTurn], list[tuple[int, str]]]:
    turns: list[NewTurn] = []
    scores: list[tuple[int, str]] = []
    equal: Counter[tuple[object, ...]] = Counter()
    for row in table.rows:
        if len(row.cells) > len(table.columns):
            reason = _("The line has more cells than the header has columns.")
            reader.refused.append(RefusedLine(row.line, "", reason))
            continue
        cells = {name: row.cells[index] for name, index in at.items()}
        values = reader.read(row.line, cells)
        if values is None:
            continue
        if len(values.outcomes) > 1:
            scores.append((row.line, cells["value"]))
        place = cells.get("place", "")
        mended = place.isdecimal() and len(place) < 7
        line = int(place) if mended else row.line
        turns += _turns_of(values, line, mended, reader.context, equal)
    return turns, scores


def _turns_of(
    values: LineValues,
    line: int,
    mended: bool,
    context: LogContext,
    equal: Counter[tuple[object, ...]],
) -> list[NewTurn]:
    """The turns of one line; ``equal`` counts the equal turns so far in this file."""
    noon = datetime.datetime.combine(values.day, datetime.time(12), values.zone)
    turns = []
    for step, outcome in enumerate(values.outcomes):
        done_at = noon.astimezone(datetime.UTC) + line * _LINE + step * _TURN
        content = values.content(outcome)
        nth = equal[content]
        if mended:
            nth = _first_free(values.day, content, nth, done_at)
        equal[content] = nth + 1
        turns.append(_turn(values, outcome, context, [*content, nth], done_at))
    return turns


def _first_free(
    day: datetime.date, content: Sequence[object], nth: int, done_at: datetime.datetime
) -> int:
    """The count for a line that was refused before and comes alone now.

    Lines equal to it may have gone in with the rest of its file: it counts after them,
    unless it is in the log itself, which its place in the day tells.
    """
    while True:
        stored = Attempt.objects.filter(pk=paper_line_id(day, [*content, nth])).first()
        if stored is None or stored.done_at == done_at:
            return nth
        nth += 1


def _turn(
    values: LineValues,
    outcome: Outcome,
    context: LogContext,
    content: Sequence[object],
    done_at: datetime.datetime,
) -> NewTurn:
    kind = AttemptProof.Kind
    own = context.seen and values.author.pk == context.sender.pk
    proof = Proof(kind.SESSION if own else kind.NONE)
    late = is_late(values.day, context.now.astimezone(values.zone).date())
    graded, awaits = awaited(may_grade(values.author), outcome.clean, proof, late)
    return NewTurn(
        id=paper_line_id(values.day, content),
        child=values.child,
        drill=values.drill,
        surface=values.surface,
        day=values.day,
        done_at=done_at,
        support=values.support,
        author=values.author,
        sender=context.sender,
        graded=graded,
        source=Attempt.Source.PAPER,
        received_at=context.now,
        digest=digest_of(content),
        clean=outcome.clean,
        value=outcome.value,
        caught=values.caught,
        faults=values.faults,
        note=values.note,
        flags=("late",) if late else (),
        proof=proof,
        awaits=awaits,
    )


def floor_days(turns: Iterable[NewTurn]) -> set[tuple[int, str, datetime.date]]:
    """Child, drill and day of those turns that already have lines from the floor."""
    wanted = {(turn.child.pk, turn.drill, turn.day) for turn in turns}
    others = Attempt.objects.exclude(source=Attempt.Source.PAPER)
    stored = others.filter(child__in={child for child, _drill, _day in wanted})
    return wanted & set(stored.values_list("child", "drill__key", "day").distinct())


def _missing_columns(missing: list[str]) -> str:
    return _(
        "There is no column for: %(missing)s. The first line must name the columns: date, "
        "child, drill, value, and as needed surface, support, faults, coach, note, caught."
    ) % {"missing": ", ".join(missing)}
