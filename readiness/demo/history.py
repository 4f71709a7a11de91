"""The older part of the demo's records, stored many rows at a time.

Lines are read and tallied as those of the floor call are. Standings are left out, since nobody
looks at those of past days.
"""

import datetime
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from progression.log.line_refusals import read_line
from progression.log.lines import Here, LineContext, NewTurn
from progression.log.logbook import Keys, store_turns
from progression.models import Drill, LadderVersion, Surface
from readiness.demo.calendar import Evening
from readiness.demo.decisions import DemoDecision
from readiness.demo.people import People
from readiness.demo.simulation import Line, PupilRecord
from readiness.models import Decision, Pause, PauseLift, Placing
from readiness.record import day_tallies
from readiness.record.ladders import Ladders
from readiness.record.standings import digest_of
from studio.access import may_grade
from studio.models import Attendance, Child, Meeting

DEVICE = "studio tablet"
SENT_AFTER = datetime.timedelta(minutes=4)


@dataclass(frozen=True)
class Rows:
    """The rows that lines and decisions refer to, by the demo's ids."""

    people: People
    children: Mapping[uuid.UUID, Child]
    meetings: Mapping[uuid.UUID, Meeting]


def lines_by_tablet(lines: Sequence[Line]) -> dict[tuple[Evening, str], list[Line]]:
    """The lines of each evening and sender, in the order in which they were logged."""
    groups: dict[tuple[Evening, str], list[Line]] = {}
    for line in sorted(lines, key=lambda line: (line.raw["at"], line.raw["id"])):
        groups.setdefault((line.evening, line.by), []).append(line)
    return groups


def store_history(
    records: Mapping[uuid.UUID, PupilRecord], until: datetime.date, rows: Rows
) -> None:
    """Store everything that lies before a day."""
    old = [line for each in records.values() for line in each.lines if line.evening.day < until]
    attendances: list[Attendance] = []
    turns: list[NewTurn] = []
    ladders = Ladders()
    tablets = lines_by_tablet(old)
    for evening, by in sorted(
        tablets, key=lambda tablet: (tablet[0].starts, tablet[0].group, tablet[1])
    ):
        context = _line_context(evening, by, rows, ladders)
        for line in tablets[evening, by]:
            result = read_line(line.raw, context)
            if isinstance(result, NewTurn):
                turns.append(result)
            elif isinstance(result, Here):
                attendances.append(_attendance(result, context))
    store_turns(turns, Keys.load())
    Attendance.objects.bulk_create(attendances, batch_size=400)
    _store_tallies(records, until, rows)
    decisions = [
        (decision, rows.children[child])
        for child, each in records.items()
        for decision in each.decisions
        if decision.day < until
    ]
    for decision, child in sorted(decisions, key=lambda item: (item[0].at, str(item[0].id))):
        _store_decision(decision, child, rows)


def _line_context(evening: Evening, by: str, rows: Rows, ladders: Ladders) -> LineContext:
    sender = rows.people.staff[by]
    return LineContext(
        meeting=rows.meetings[evening.id],
        children={str(key): child for key, child in rows.children.items()},
        content=ladders.named_on(evening.day).content,
        sender=sender,
        author=sender,
        grades=may_grade(sender),
        device=DEVICE,
        now=evening.ends + SENT_AFTER,
        offset=datetime.timedelta(),
        day_starts=evening.midnight,
    )


def _attendance(here: Here, context: LineContext) -> Attendance:
    return Attendance(
        id=here.id,
        meeting=context.meeting,
        child=here.child,
        present=here.present,
        at=here.at,
        by=context.sender,
        digest=here.digest,
    )


def _store_tallies(
    records: Mapping[uuid.UUID, PupilRecord], until: datetime.date, rows: Rows
) -> None:
    turns, tallies = {}, {}
    for child, record in records.items():
        for (drill, day), logged in record.turns.items():
            if day < until:
                key = rows.children[child].pk, drill, day
                turns[key], tallies[key] = logged, record.tallies[drill, day]
    day_tallies.write(turns, tallies, Keys.load())


def _store_decision(decision: DemoDecision, child: Child, rows: Rows) -> None:
    """The row that readiness.record.decisions would have left."""
    common = {
        "uuid": decision.id,
        "child": child,
        "by": rows.people.staff[decision.by],
        "at": decision.at,
        "day": decision.day,
    }
    if decision.kind in ("pause", "lift"):
        model = Pause if decision.kind == "pause" else PauseLift
        model.objects.create(**common, reason=decision.reason)
        return
    common["ladder"] = LadderVersion.objects.get(number=decision.ladder)
    common["surface"] = Surface.objects.filter(key=decision.surface).first()
    if decision.kind == "place":
        Placing.objects.create(**common, stage=int(decision.stage), reason=decision.reason)
        return
    Decision.objects.create(
        **common,
        kind=decision.kind,
        stage=decision.stage,
        drill=Drill.objects.filter(key=decision.drill).first(),
        support=decision.support,
        answers=Decision.objects.get(uuid=decision.answers) if decision.answers else None,
        as_director=decision.director,
        reason=decision.reason,
        seen_on=decision.day if decision.kind == "sign" else None,
        reading=dict(decision.reading),
        digest=digest_of(decision.reading),
    )
