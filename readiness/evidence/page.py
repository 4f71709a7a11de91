"""What the evidence page shows of one child's record for one stage."""

import datetime
from collections import defaultdict
from dataclasses import dataclass

from readiness.child.history import FaultRow, decision_data, done_today, fault_rows, notes_of
from readiness.child.lookup import names_of
from readiness.child.stage_panel import stage_panel
from readiness.child.standing_now import standing_now
from readiness.evidence.decision_panel import decision_panel
from readiness.evidence.turns import clean_counts, day_rows, graders
from readiness.evidence.words import root_sentence
from readiness.models import Decision
from readiness.record.standings import Reading
from readiness.words.decisions import decision_text
from studio.access import may_decide, may_report
from studio.models import Staff
from studio.people.told_apart import who


def page_context(
    reading: Reading, code: str, staff: Staff, refused: object = None
) -> dict[str, object]:
    """What the template names. ``refused``: a form that takes the place of a new one."""
    rows = day_rows(reading, code)
    return {
        "child": reading.child,
        "who": who(reading.child, reading.read.day),
        "reading": reading,
        "stage": stage_panel(reading, code),
        "clean_counts": clean_counts(reading, code),
        "days": rows,
        "graders": graders(rows),
        "faults": faults_by_root(reading),
        "history": history(reading, code),
        "panel": decision_panel(reading, code, staff, refused),
        "decides": may_decide(staff),
        "reports": may_report(staff),
        "done_today": done_today(notes_of(reading)),
        **standing_now(reading),
    }


def faults_by_root(reading: Reading) -> list[str]:
    """The faults of the last eight weeks in a sentence for each root cause, the commonest first."""
    found: dict[str, list[FaultRow]] = defaultdict(list)
    for row in fault_rows(reading):
        found[row.root].append(row)
    roots = sorted(found, key=lambda root: (-sum(row.count for row in found[root]), root))
    return [root_sentence(names_of(reading), root, found[root]) for root in roots]


@dataclass(frozen=True)
class PastDecision:
    text: str
    by: str
    at: datetime.datetime
    reason: str
    ladder: int
    seen_on: datetime.date | None


def history(reading: Reading, code: str) -> list[PastDecision]:
    """Everything decided about the stage, newest first."""
    names = names_of(reading)
    decisions = (
        Decision.objects.filter(child__in=reading.record.keys, stage=code)
        .select_related("by", "surface", "drill", "ladder")
        .order_by("-at", "-pk")
    )
    return [
        PastDecision(
            text=decision_text(names, decision_data(decision)),
            by=decision.by.called,
            at=decision.at,
            reason=decision.reason,
            ladder=decision.ladder.number,
            seen_on=decision.seen_on,
        )
        for decision in decisions
    ]
