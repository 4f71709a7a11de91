"""The older part of the demo's records, put in many rows at a time.

The lines are read by the same reader as those of the floor call, and fold into the same
tallies; only the reading after each of them is left out, since nobody looks back at it.
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
from readiness.demo.decisions import Deed
from readiness.demo.people import People
from readiness.demo.simulation import Life, Line
from readiness.models import Decision, Pause, PauseLift, Placing
from readiness.record import day_tallies
from readiness.record.ladders import Ladders
from readiness.record.standings import digest_of
from studio.access import may_grade
from studio.models import Attendance, Child, Meeting

DEVICE = "studio tablet"
SENT_AFTER = datetime.timedelta(minutes=4)


@dataclass(frozen=True)
class Records:
    """What lines and deeds refer to, by the demo's own keys."""

    people: People
    children: Mapping[uuid.UUID, Child]
    meetings: Mapping[uuid.UUID, Meeting]


def by_tablet(lines: Sequence[Line]) -> dict[tuple[Evening, str], list[Line]]:
    """The lines of each evening and sender, in the order in which they were logged."""
    found: dict[tuple[Evening, str], list[Line]] = {}
    for line in lines:
        found.setdefault((line.evening, line.by), []).append(line)
    for each in found.values():
        each.sort(key=lambda line: (line.raw["at"], line.raw["id"]))
    return found


def keep_history(lives: Mapping[uuid.UUID, Life], until: datetime.date, records: Records) -> None:
    """Store everything that lies before a day."""
    old = [line for life in lives.values() for line in life.lines if line.evening.day < until]
    heres: list[tuple[Here, Meeting, str]] = []
    turns: list[NewTurn] = []
    ladders = Ladders()
    for (evening, by), lines in sorted(by_tablet(old).items(), key=_when):
        meeting = records.meetings[evening.id]
        sheet = _sheet(evening, by, meeting, records, ladders)
        for line in lines:
            found = read_line(line.raw, sheet)
            if isinstance(found, NewTurn):
                turns.append(found)
            elif isinstance(found, Here):
                heres.append((found, meeting, by))
    store_turns(turns, Keys.load())
    _keep_heres(heres, records)
    _keep_tallies(lives, until, records)
    deeds = [deed for life in lives.values() for deed in life.deeds if deed.day < until]
    owners = {deed.id: child for child, life in lives.items() for deed in life.deeds}
    for deed in sorted(deeds, key=lambda deed: (deed.at, str(deed.id))):
        keep_deed(deed, records.children[owners[deed.id]], records)


def _when(item: tuple[tuple[Evening, str], list[Line]]) -> tuple[datetime.datetime, int, str]:
    (evening, by), _ = item
    return evening.starts, evening.group, by


def _sheet(
    evening: Evening, by: str, meeting: Meeting, records: Records, ladders: Ladders
) -> LineContext:
    sender = records.people.staff[by]
    return LineContext(
        meeting=meeting,
        children={str(key): child for key, child in records.children.items()},
        content=ladders.named_on(evening.day).content,
        sender=sender,
        author=sender,
        grades=may_grade(sender),
        device=DEVICE,
        now=evening.ends + SENT_AFTER,
        offset=datetime.timedelta(),
        day_starts=evening.midnight,
    )


def _keep_heres(heres: Sequence[tuple[Here, Meeting, str]], records: Records) -> None:
    Attendance.objects.bulk_create(
        [
            Attendance(
                id=here.id,
                meeting=meeting,
                child=here.child,
                present=here.present,
                at=here.at,
                by=records.people.staff[by],
                digest=here.digest,
            )
            for here, meeting, by in heres
        ],
        batch_size=400,
    )


def _keep_tallies(lives: Mapping[uuid.UUID, Life], until: datetime.date, records: Records) -> None:
    days = [
        ((records.children[child].pk, drill, day), life)
        for child, life in lives.items()
        for drill, day in life.turns
        if day < until
    ]
    turns = {key: life.turns[key[1], key[2]] for key, life in days}
    tallies = {key: life.tallies[key[1], key[2]] for key, life in days}
    day_tallies.write(turns, tallies, Keys.load())


def keep_deed(deed: Deed, child: Child, records: Records) -> None:
    """The row of one decision, as the verbs of readiness.record.decisions would have left it."""
    by = records.people.staff[deed.by]
    common = {"uuid": deed.id, "child": child, "by": by, "at": deed.at, "day": deed.day}
    if deed.kind == "pause":
        Pause.objects.create(**common, reason=deed.reason)
        return
    if deed.kind == "lift":
        PauseLift.objects.create(**common, reason=deed.reason)
        return
    ladder = LadderVersion.objects.get(number=deed.ladder)
    surface = Surface.objects.get(key=deed.surface) if deed.surface else None
    if deed.kind == "place":
        assert surface is not None
        Placing.objects.create(
            **common, stage=int(deed.stage), surface=surface, reason=deed.reason, ladder=ladder
        )
        return
    Decision.objects.create(
        **common,
        kind=deed.kind,
        stage=deed.stage,
        drill=Drill.objects.get(key=deed.drill) if deed.drill else None,
        surface=surface,
        support=deed.support,
        answers=Decision.objects.get(uuid=deed.answers) if deed.answers else None,
        as_director=deed.director,
        reason=deed.reason,
        ladder=ladder,
        reading=dict(deed.seen),
        digest=digest_of(deed.seen),
    )
