"""What the evidence page shows of one child's record for one stage."""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from progression.models import Attempt
from readiness.child.history import (
    LATELY_DAYS,
    FaultRow,
    decision_data,
    done_today,
    faults_by_drill,
    not_tonight_days,
    notes_of,
)
from readiness.child.lookup import names_of
from readiness.child.stage_panel import stage_panel
from readiness.child.standing_now import standing_now
from readiness.evidence.decision_panel import decision_panel
from readiness.evidence.turns import clean_counts, day_rows, graders
from readiness.evidence.words import caught_sentences, root_sentence
from readiness.eyes.agreement import weak_among
from readiness.eyes.words import weak_gate_text
from readiness.models import Decision
from readiness.record.standings import Reading
from readiness.words.decisions import decision_text
from readiness.words.names import Names
from readiness.words.re_check import yes_is_due
from studio.access import may_decide, may_report
from studio.models import Staff
from studio.people.told_apart import who

# The fault of the ladder that says what ``Attempt.caught`` says.
CAUGHT = "caught"


def page_context(
    reading: Reading, code: str, staff: Staff, refused: object = None
) -> dict[str, object]:
    """What the template names. ``refused``: a form that takes the place of a new one."""
    rows, faults = day_rows(reading, code), faults_lately(reading, code)
    return {
        "child": reading.child,
        "who": who(reading.child, reading.read.day),
        "reading": reading,
        "stage": stage_panel(reading, code),
        "clean_counts": clean_counts(reading, code),
        "days": rows,
        "graders": graders(rows),
        "faults": [each for each in faults if each.of_stage],
        "faults_elsewhere": [each for each in faults if not each.of_stage],
        "history": history(reading, code),
        "panel": decision_panel(reading, code, staff, refused),
        "decides": may_decide(staff),
        "yes_due": yes_is_due(reading.read.stage(code), reading.read, reading.given_today),
        "reports": may_report(staff),
        "weak_grades": weak_grades(reading, code),
        "not_tonight": not_tonight(reading) if may_report(staff) else "",
        "done_today": done_today(notes_of(reading)),
        **standing_now(reading),
    }


def not_tonight(reading: Reading) -> str:
    """The days on which the child said so lately; empty if on none."""
    return ", ".join(names_of(reading).date(day) for day in not_tonight_days(reading))


def weak_grades(reading: Reading, code: str) -> str:
    """That a gate rests on grades that people often do not share; empty if none does."""
    ladder, names = reading.ladder.engine, names_of(reading)
    drills = [drill for gate in ladder.stage[code].gates for drill in gate.drills]
    weak = weak_among(drill for drill in drills if ladder.drills[drill].measure == "grade")
    return weak_gate_text([names.drill(drill) for drill in weak]) if weak else ""


@dataclass(frozen=True)
class FaultsAtDrill:
    """of_stage: the stage asks for this drill. roots: that the spotter caught, then a sentence for
    each root cause, the commonest first."""

    drill: str
    of_stage: bool
    roots: list[str]


def faults_lately(reading: Reading, code: str) -> list[FaultsAtDrill]:
    """The faults of the last eight weeks by drill: the stage's own skills first, then what its
    gates ask for, then the others."""
    stage = reading.ladder.engine.stage[code]
    own = [*stage.skills, *(drill for gate in stage.gates for drill in gate.drills)]
    found, caught, names = faults_by_drill(reading), caught_lately(reading), names_of(reading)
    order = [drill for drill in dict.fromkeys(own) if drill in found or drill in caught]
    order += [drill for drill in dict.fromkeys([*found, *caught]) if drill not in order]
    return [
        FaultsAtDrill(
            names.drill(drill),
            drill in own,
            [*caught_sentences(names, caught[drill]), *by_root(names, found.get(drill, ()))],
        )
        for drill in order
    ]


def caught_lately(reading: Reading) -> dict[str, list[datetime.date]]:
    """On which days of the last eight weeks the spotter caught a turn, by drill; not where that
    was marked as a fault, which is told with the faults."""
    since = reading.read.day - datetime.timedelta(days=LATELY_DAYS)
    turns = Attempt.objects.filter(child__in=reading.record.keys, caught=True, day__gte=since)
    found: dict[str, list[datetime.date]] = defaultdict(list)
    for drill, day, faults in turns.unstruck().values_list("drill__key", "day", "faults"):
        if CAUGHT not in faults:
            found[drill].append(day)
    return found


def by_root(names: Names, faults: Iterable[FaultRow]) -> list[str]:
    found: dict[str, list[FaultRow]] = defaultdict(list)
    for row in faults:
        found[row.root].append(row)
    roots = sorted(found, key=lambda root: (-sum(row.count for row in found[root]), root))
    return [root_sentence(names, root, found[root]) for root in roots]


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
