"""Where one child's misses come from, and what mends it. Shared: used by the child's page."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.engine.causes.change import AGAIN_AFTER_DAYS, change
from readiness.engine.causes.mending import mending_drills
from readiness.engine.causes.roots import WITHIN_DAYS, Causes, causes
from readiness.engine.tallies import Turn
from readiness.record.evidence_loader import turns_between
from readiness.record.standings import Reading
from readiness.words.causes import (
    cause_sentence,
    change_text,
    counted_text,
    faults_text,
    range_text,
    stop_signs_text,
)
from readiness.words.names import Names


@dataclass(frozen=True)
class RootRow:
    """hundredths: its share, for the drawing."""

    name: str
    hundredths: int
    range: str
    faults: str


@dataclass(frozen=True)
class CauseRow:
    """One drill. roots, mend: empty where no root is named. mend: (key, name) of drills."""

    drill: str
    counted: str
    sentence: str
    stop_signs: str
    change: str
    roots: list[RootRow]
    mend: list[tuple[str, str]]


def cause_rows(reading: Reading) -> list[CauseRow]:
    """Of each drill with misses that say something; those with a named root first, then by how
    many they are. One query."""
    day = reading.read.day
    first = day - datetime.timedelta(days=WITHIN_DAYS - 1 + AGAIN_AFTER_DAYS)
    found = turns_between(reading.record.keys, first, day)
    turns = [turn for own in found.values() for turn in own]
    read = [
        causes(turns, drill, day, reading.ladder.engine)
        for drill in sorted({turn.drill for turn in turns} & reading.ladder.drills.keys())
    ]
    shown = sorted(
        (each for each in read if each.marked),
        key=lambda each: (each.first is None, -each.marked, each.drill),
    )
    return [_row(reading, each, turns) for each in shown]


def _row(reading: Reading, read: Causes, turns: Sequence[Turn]) -> CauseRow:
    ladder, day = reading.ladder, reading.read.day
    names = Names(reading.child.called, ladder, day)
    since = change(turns, read.drill, day, ladder.engine)
    return CauseRow(
        drill=names.drill(read.drill),
        counted=counted_text(read),
        sentence=cause_sentence(names, read),
        stop_signs=stop_signs_text(ladder, read.stop_signs),
        change=change_text(names, since) if since else "",
        roots=_roots(reading, read) if read.first else [],
        mend=_mend(reading, read),
    )


def _roots(reading: Reading, read: Causes) -> list[RootRow]:
    return [
        RootRow(
            reading.ladder.strand_names[root.key],
            round(100 * root.share.share),
            range_text(root.share),
            faults_text(reading.ladder, root.faults),
        )
        for root in read.roots
    ]


def _mend(reading: Reading, read: Causes) -> list[tuple[str, str]]:
    if read.first is None:
        return []
    about = reading.read.state, reading.evidence, reading.ladder.engine
    keys = mending_drills(read.first, read.drill, *about)
    return [(key, reading.ladder.drills[key]["name"]) for key in keys]
