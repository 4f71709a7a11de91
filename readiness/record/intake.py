"""The one door for turns: log, refold, mark the standing, in one transaction.

The floor call, the paper log and the demo all come through here.
``take_lines`` answers the lines of a floor call one by one, in the order sent.
``take_paper`` stores imported turns (progression.log.lines.NewTurn, source "paper", each with
an id made of its content, so that a second import of the same file stores nothing).
"""

import datetime
import logging
import uuid
import zoneinfo
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction
from django.db.models import QuerySet, Value

from progression.log.line_refusals import LineRefused, line_id, moment_on_page, read_line
from progression.log.lines import (
    SCHEMA,
    Here,
    Hurt,
    Line,
    LineContext,
    NewStrike,
    NewTurn,
    PageMoment,
    Report,
    digest_of,
    is_late,
    printable,
)
from progression.log.logbook import ids_in_log, store_strikes, store_turns, struck_before
from progression.log.rejected import store_rejected
from progression.models import Attempt, Strike
from readiness.models import (
    ClassOver,
    Fell,
    Growing,
    HallReport,
    NoHands,
    Pain,
    PainGone,
    RotationBegun,
    Told,
)
from readiness.record import day_tallies
from readiness.record.day_context import load_day_context
from readiness.record.day_tallies import Touched
from readiness.record.evidence_loader import engine_turn
from readiness.record.flags import flagged
from readiness.record.ladders import Ladders
from readiness.record.merged.locked import SeveralRecords, lock_records, lock_with_records
from readiness.record.merged.turns import of_whole_children, with_records
from readiness.record.proof.of_lines import LineProofs
from readiness.record.proof.strikes import why_not_struck
from readiness.record.standings import lock, make_stale
from readiness.record.told.alerts import alert_of, stop_signs
from readiness.record.told.floor_lines import store_floor_lines
from readiness.record.told.side_readings import store_side_readings
from readiness.record.told.taken_back import Written, as_report, stored_reports, why_report_stays
from studio.access import may_grade
from studio.db.prepared import prepared
from studio.models import Attendance, Child, Meeting, Staff

log = logging.getLogger("ladder.intake")

# Where lines are kept, each by its own id.
LINES = (
    Attempt, Strike, Attendance, Pain, PainGone, Growing, Told, Fell, NoHands, ClassOver,
    HallReport, RotationBegun,
)  # fmt: skip

ACCEPTED, DUPLICATE, CONFLICT, REFUSED = "kept", "had", "differs", "refused"


@dataclass(frozen=True)
class LineAnswer:
    """What became of a line; ``code`` says why it was not kept, or is empty."""

    id: str
    answer: str
    code: str = ""


@dataclass(frozen=True)
class PaperResult:
    """How many turns were stored, and how many were there already."""

    kept: int
    had: int


def take_lines(
    meeting: Meeting,
    sender: Staff,
    device: str,
    sent_at: datetime.datetime,
    lines: Sequence[object],
    v: int,
    now: datetime.datetime,
    author: str = "",
    signed: Mapping[str, Any] | None = None,
    source: str = Attempt.Source.FLOOR,
    moment: PageMoment | None = None,
) -> list[LineAnswer]:
    """Take the lines of one floor call; every line is kept, or set aside in full.

    ``sent_at`` is the device's clock at sending. ``author``: whose lines these are where they do
    not say it themselves, by public id; the sender's if nobody is named. ``signed``: by line id
    the key and the signature that came with it. ``moment``: when it was sent, on the page that
    sent it. Answers stand in the order sent. Nothing is stored
    if anything raises.
    """
    device = printable(device, 60)
    about = meeting, sender, device, sent_at, lines, v, now, author or str(sender.uuid)
    sent = replace(moment, at=now) if moment else None
    try:
        return _take_lines(lock_records, *about, signed or {}, source, sent)
    except SeveralRecords:
        return _take_lines(lock_with_records, *about, signed or {}, source, sent)


def _take_lines(
    locked: Callable[[Meeting, set[uuid.UUID], set[uuid.UUID]], list[Child]],
    meeting: Meeting,
    sender: Staff,
    device: str,
    sent_at: datetime.datetime,
    lines: Sequence[object],
    v: int,
    now: datetime.datetime,
    author: str,
    signed: Mapping[str, Any],
    source: str,
    sent: PageMoment | None,
) -> list[LineAnswer]:
    with transaction.atomic():
        children = locked(meeting, _ids_in(lines, "child"), _ids_in(lines, "turn"))
        ladders = Ladders()
        context = _line_context(meeting, sender, device, now - sent_at, children, ladders, now)
        context = replace(context, schema=v, source=source, sent=sent)
        batch = _Batch(lines, context, author, signed)
        for raw in lines:
            batch.take(raw, newer=v > SCHEMA)
        store_rejected(batch.rejected, meeting, sender, device, now)
        _store(batch.taken, meeting, children, ladders, now, batch.struck, batch.taken_back)
    about = meeting.uuid, sender.uuid, len(batch.taken), len(batch.rejected), len(lines)
    log.info("lines meeting=%s sender=%s kept=%d aside=%d of=%d", *about)
    return batch.answers


def take_paper(turns: Sequence[NewTurn], sender: Staff, now: datetime.datetime) -> PaperResult:
    """Store imported turns that are not in the log yet: somebody else may have brought them in
    since they were read."""
    with transaction.atomic():
        children = list(lock(Child.objects.filter(pk__in={turn.child.root for turn in turns})))
        known = ids_in_log(turns)
        new = [turn for turn in turns if turn.id not in known]
        _store(new, None, with_records(children), Ladders(), now, struck_before(new))
    log.info("paper sender=%s kept=%d had=%d", sender.uuid, len(new), len(known))
    return PaperResult(len(new), len(turns) - len(new))


def take_strikes(
    strikes: Sequence[NewStrike], children: Sequence[Child], now: datetime.datetime
) -> None:
    """Take back turns of a paper log. ``children``: whose they are, with their rows locked."""
    struck = {strike.attempt_id for strike in strikes}
    _store(strikes, None, with_records(children), Ladders(), now, struck)


def _line_context(
    meeting: Meeting,
    sender: Staff,
    device: str,
    offset: datetime.timedelta,
    children: Sequence[Child],
    ladders: Ladders,
    now: datetime.datetime,
) -> LineContext:
    location = meeting.hall
    zone = zoneinfo.ZoneInfo(location.zone)
    return LineContext(
        meeting=meeting,
        children={str(child.uuid): child for child in children},
        content=ladders.named_on(meeting.date).content,
        sender=sender,
        author=sender,
        grades=may_grade(sender),
        device=device,
        now=now,
        offset=offset,
        day_starts=datetime.datetime.combine(meeting.date, datetime.time(), zone),
        day_ends=location.end_of(meeting.date),
        late=is_late(meeting.date, location.day_of(now)),
    )


class _Batch:
    """The lines of one call on their way in: what is taken, what is set aside, the answers."""

    def __init__(
        self,
        lines: Sequence[object],
        context: LineContext,
        author: str,
        signed: Mapping[str, Any],
    ) -> None:
        self.context = context
        self._proofs = LineProofs(signed, context)
        self._before: PageMoment | None = None
        self.author = author
        self.taken: list[Line] = []
        self.rejected: list[tuple[object, str, str]] = []
        self.answers: list[LineAnswer] = []
        ids, strikes = _ids_in(lines, "id"), _ids_in(lines, "turn")
        rows = _lines_of(ids, ids | strikes)
        self._known: dict[uuid.UUID, str] = {id_: digest for id_, digest in rows if digest}
        # Of all turns that lines are or speak of; a strike may have come before its turn.
        self.struck: set[uuid.UUID] = {id_ for id_, digest in rows if not digest}
        self._authors = _staff_by_id(
            _ids_in([*lines, {"by": author}], "by") - {context.sender.uuid}
        )
        self._attempts = Attempt.objects.only("child_id", "author_id").in_bulk(strikes)
        # What hurts, who is not here and "no hands tonight" may be taken back as well.
        self._reports = stored_reports(strikes - self._attempts.keys(), _ids_in(lines, "instead"))
        self.taken_back: dict[int, datetime.date] = {}

    def take(self, raw: object, newer: bool) -> None:
        try:
            answer, code = self._take(raw, newer), ""
        except LineRefused as refusal:
            answer, code = REFUSED, refusal.code
        if answer == CONFLICT:
            code = "other-content"
        if answer in (REFUSED, CONFLICT):
            self.rejected.append((raw, answer, code))
        shown = raw.get("id") if isinstance(raw, Mapping) else None
        self.answers.append(LineAnswer(shown if isinstance(shown, str) else "", answer, code))

    def _take(self, raw: object, newer: bool) -> str:
        if newer:
            raise LineRefused("newer-version")
        if not isinstance(raw, Mapping):
            raise LineRefused("unreadable")
        known = self._known.get(line_id(raw))
        if known is not None:
            return DUPLICATE if known == digest_of(raw) else CONFLICT
        context = self._context_of(raw)
        line = read_line(raw, context)
        if isinstance(line, NewStrike):
            report = self._reports.get(line.attempt_id)
            if code := self._why_not_struck(line, report, context):
                raise LineRefused(code)
            if line.attempt_id in self.struck:
                return DUPLICATE
            self.struck.add(line.attempt_id)
            if report is not None:
                self.taken_back[report.child] = context.meeting.date
        elif isinstance(line, Hurt | Here):
            self._reports[line.id] = as_report(line, context)
        done_at = line.done_at if isinstance(line, NewTurn) else line.at
        self._before = moment_on_page(raw, done_at) or self._before
        self.taken.append(line)
        self._known[line.id] = line.digest
        return ACCEPTED

    def _why_not_struck(
        self, strike: NewStrike, report: Written | None, context: LineContext
    ) -> str:
        code = why_not_struck(self._attempts.get(strike.attempt_id), report, context)
        if code or report is None:
            return code
        return why_report_stays(report, strike, self._reports, context)

    def _context_of(self, raw: Mapping[str, Any]) -> LineContext:
        """The context with the line's own author, whom it names, and with what proves that."""
        context, by = self.context, raw.get("by", self.author)
        author = context.sender
        if by != str(author.uuid):
            known = self._authors.get(by) if isinstance(by, str) else None
            if known is None:
                raise LineRefused("unknown-author")
            author = known
        proof = self._proofs.of(raw, author)
        grades = may_grade(author)
        return replace(context, author=author, grades=grades, proof=proof, before=self._before)


def _ids_in(lines: Sequence[object], name: str) -> set[uuid.UUID]:
    """The readable UUIDs that lines hold under a name."""
    found = set()
    for raw in lines:
        value = raw.get(name) if isinstance(raw, Mapping) else None
        try:
            found.add(uuid.UUID(value))
        except (TypeError, ValueError, AttributeError):
            continue
    return found


def _staff_by_id(ids: set[uuid.UUID]) -> dict[str, Staff]:
    return {str(staff.uuid): staff for staff in Staff.objects.filter(uuid__in=ids)} if ids else {}


@prepared
def _lines_of(ids: Sequence[uuid.UUID], turns: Sequence[uuid.UUID]) -> QuerySet[Any, Any]:
    """Ids and content digests of the lines that are here already, of any kind; and the ids of
    the struck turns, with no digest."""
    first, *others = (
        table.objects.filter(pk__in=ids).values_list("pk", "digest") for table in LINES
    )
    strikes = Strike.objects.filter(attempt_id__in=turns)
    return first.union(*others, strikes.values_list("attempt_id", Value("")), all=True)


def _store(
    lines: Sequence[Line],
    meeting: Meeting | None,
    children: Sequence[Child],
    ladders: Ladders,
    now: datetime.datetime,
    struck: set[uuid.UUID],
    taken_back: Mapping[int, datetime.date] | None = None,
) -> None:
    """``children``: those whose turns they are, with all their records. ``struck``: those of the
    turns that are taken back, before now or by these lines. ``taken_back``: the children whose
    reports are, with their day."""
    turns = [line for line in lines if isinstance(line, NewTurn)]
    strikes = [line for line in lines if isinstance(line, NewStrike)]
    reports = [line for line in lines if isinstance(line, Report)]
    if meeting is not None:
        store_floor_lines(lines, meeting, now)
    touched, stopped = _store_turns(turns, strikes, meeting, children, ladders, now, struck)
    if meeting is not None:
        alert_of(lines, meeting, stopped)
    told = dict(taken_back or {})
    told |= {report.child.pk: meeting.date for report in reports} if meeting else {}
    make_stale(_first_days([*touched, *told.items()]), told)


def _first_days(touched: Iterable[tuple[int, datetime.date]]) -> dict[int, datetime.date]:
    first: dict[int, datetime.date] = {}
    for child, day in touched:
        first[child] = min(day, first.get(child, day))
    return first


def _store_turns(
    turns: Sequence[NewTurn],
    strikes: Sequence[NewStrike],
    meeting: Meeting | None,
    children: Sequence[Child],
    ladders: Ladders,
    now: datetime.datetime,
    struck: set[uuid.UUID],
) -> tuple[set[tuple[int, datetime.date]], set[str]]:
    """Insert, fold the touched days again; returns the children's days that changed, but for
    those of which the standings know already that they do; and the days' stop signs, with what
    is struck now."""
    touched = {(turn.child.pk, turn.drill, turn.day) for turn in turns}
    touched |= _touched_by(strikes)
    if not touched and not strikes:
        return set(), set()
    turns_of = day_tallies.stored_turns(touched | _same_days(turns, children, ladders))
    for turn in turns:
        turns_of[turn.child.pk, turn.drill, turn.day].append(engine_turn(turn))
    stopped = stop_signs(turns_of, touched, ladders)
    turns_of = day_tallies.without(turns_of, struck)
    days = {key: turns_of[key] for key in touched}
    tallies = day_tallies.tallies_of(days, ladders)
    logged = {turn.child.root for turn in turns}
    heads = [child for child in children if child.pk in logged]
    contexts = load_day_context(heads, meeting.date, ladders) if meeting else {}
    whole = of_whole_children(turns_of, touched, tallies, children, ladders)
    roots = {child.pk: child.root for child in children}
    store_turns(flagged(turns, *whole, contexts, ladders, roots), ladders.keys)
    store_side_readings(turns, now)
    store_strikes(strikes, now)
    day_tallies.write(days, tallies, ladders.keys, only_more=not strikes)
    changed = {(roots.get(key, key), day) for key, _, day in touched}
    news = {
        (child, day)
        for child, day in changed
        if not (child in contexts and contexts[child].expects(day))
    }
    return news, stopped


def _same_days(
    turns: Sequence[NewTurn], children: Sequence[Child], ladders: Ladders
) -> set[Touched]:
    """The same days at all drills, on all records of the child: what happened there counts here
    as well."""
    days = {(turn.child.root, turn.day) for turn in turns}
    of_records = {(child.pk, day) for child in children for root, day in days if child.root == root}
    return {(key, drill, day) for key, day in of_records for drill in ladders.on(day).drills}


def _touched_by(strikes: Sequence[NewStrike]) -> set[Touched]:
    if not strikes:
        return set()
    attempts = Attempt.objects.filter(pk__in=[strike.attempt_id for strike in strikes])
    return set(attempts.values_list("child_id", "drill__key", "day"))
