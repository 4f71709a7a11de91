"""A paper log that was brought in, undone as a whole while nothing rests on it.

Its turns are struck: they stay in the log, and count no more. The same lines may come in again.
"""

import datetime
import uuid
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from progression.log.lines import NewStrike, NewTurn, digest_of
from progression.models import Attempt, Confirmation, Strike
from progression.paper.line_ids import paper_line_id, uuid8
from readiness.models import Decision
from readiness.record.intake import take_strikes
from readiness.record.standings import locked_children
from studio.imports.undo import RestsOnIt, note, undo_once
from studio.models import BroughtIn, Child, ImportDraft, Staff
from studio.people.records import all_records, roots_of

UNDONE = "log-undone"
AT_ONCE = 500


def note_turns(turns: Sequence[NewTurn], by: Staff, now: datetime.datetime) -> None:
    """Keep which turns a log brought in: they are told by the moment and the sender too."""
    if turns:
        days = sorted(turn.day for turn in turns)
        done = {
            "turns": len(turns),
            "children": sorted({turn.child.pk for turn in turns}),
            "days": [days[0].isoformat(), days[-1].isoformat()],
        }
        note(ImportDraft.Kind.ATTEMPTS, done, by, now)


def with_new_ids(turns: Sequence[NewTurn]) -> tuple[NewTurn, ...]:
    """Those that came in before and were undone have an id of their own when they come again."""
    undone = _undone(turns)
    while undone:
        again = [replace(t, id=_next_id(t)) if t.id in undone else t for t in turns]
        turns, undone = again, _undone(again)
    return tuple(turns)


def _next_id(turn: NewTurn) -> uuid.UUID:
    return paper_line_id(turn.day, ["again", str(turn.id)])


def _undone(turns: Sequence[NewTurn]) -> set[uuid.UUID]:
    ids, found = [turn.id for turn in turns], set[uuid.UUID]()
    for start in range(0, len(ids), AT_ONCE):
        strikes = Strike.objects.filter(code=UNDONE, attempt_id__in=ids[start : start + AT_ONCE])
        found.update(strikes.values_list("attempt_id", flat=True))
    return found


def _turns_of(row: BroughtIn) -> QuerySet[Attempt]:
    return Attempt.objects.filter(
        child__in=row.done["children"],
        day__range=row.done["days"],
        source=Attempt.Source.PAPER,
        sender=row.by,
        received_at=row.at,
    )


def what_rests_on(row: BroughtIn) -> list[str]:
    """Sentences; none if it can be undone."""
    children = all_records(roots_of(row.done["children"]))
    decided = Decision.objects.filter(child__in=children, at__gte=row.at).select_related("child")
    reasons = [
        _("%(name)s: %(what)s on %(day)s.")
        % {"name": each.child.name, "what": each.get_kind_display(), "day": each.day}
        for each in decided.order_by("at", "pk")
    ]
    turns = _turns_of(row).values("pk")
    sure = Confirmation.objects.filter(attempt__in=turns).select_related("by")
    names = sorted({each.by.called for each in sure})
    return [*reasons, *(_("%(name)s has confirmed turns of it.") % {"name": n} for n in names)]


def undo(row: BroughtIn, by: Staff, now: datetime.datetime) -> None:
    """Twice is once. Raises RestsOnIt; then nothing is changed."""
    undo_once(row, by, now, what_rests_on, _strike)


def _strike(row: BroughtIn, by: Staff, now: datetime.datetime) -> None:
    roots = Child.objects.filter(pk__in=roots_of(row.done["children"]))
    children = locked_children(list(roots))
    # Somebody may have decided before the rows were locked.
    if reasons := what_rests_on(row):
        raise RestsOnIt(reasons)
    struck = Strike.objects.filter(attempt_id__in=_turns_of(row).values("pk"))
    turns = _turns_of(row).exclude(pk__in=struck.values("attempt_id"))
    by_child: dict[int, list[NewStrike]] = defaultdict(list)
    for number, (child, turn) in enumerate(turns.order_by("pk").values_list("child", "pk")):
        id_ = uuid8(int(now.timestamp() * 1000), number >> 62, turn.int)
        digest = digest_of({"turn": str(turn), "undone": now.isoformat()})
        by_child[child].append(NewStrike(id_, turn, UNDONE, now, by, digest))
    for strikes in by_child.values():
        take_strikes(strikes, children, now)
