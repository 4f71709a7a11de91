"""Where one child's misses come from, and what mends it. Shared: used by the child's page."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.engine.causes.change import AGAIN_AFTER_DAYS, change
from readiness.engine.causes.mending import mending_drills
from readiness.engine.causes.roots import WITHIN_DAYS, Causes, Root, causes
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
    too_few_sentence,
)
from readiness.words.names import Names


@dataclass(frozen=True)
class RootRow:
    """hundredths: its share, for the drawing. faults: empty for the first, whose sentence has
    them."""

    name: str
    hundredths: int
    range: str
    faults: str


@dataclass(frozen=True)
class CauseRow:
    """A drill with a first root. mend: (key, name) of drills."""

    drill: str
    counted: str
    sentence: str
    stop_signs: str
    change: str
    roots: list[RootRow]
    mend: list[tuple[str, str]]


@dataclass(frozen=True)
class ChildCauses:
    """named: drills with a first root, the most misses first. untold: of the others, empty
    without any."""

    named: list[CauseRow]
    untold: str


def child_causes(reading: Reading) -> ChildCauses:
    """Of each drill with a miss that says something; one query."""
    day = reading.read.day
    first = day - datetime.timedelta(days=WITHIN_DAYS - 1 + AGAIN_AFTER_DAYS)
    child = reading.child.pk
    turns = turns_between(dict.fromkeys(reading.record.keys, child), first, day)[child]
    read = [
        causes(turns, drill, day, reading.ladder.engine)
        for drill in sorted({turn.drill for turn in turns} & reading.ladder.drills.keys())
    ]
    read = sorted((each for each in read if each.marked), key=lambda each: -each.marked)
    names = Names(reading.child.called, reading.ladder, day)
    return ChildCauses(
        [_row(reading, each, each.first, names, turns) for each in read if each.first],
        too_few_sentence(names, [each for each in read if each.first is None]),
    )


def _row(
    reading: Reading, read: Causes, first: Root, names: Names, turns: Sequence[Turn]
) -> CauseRow:
    ladder = reading.ladder
    since = change(turns, read.drill, names.day, ladder.engine)
    return CauseRow(
        drill=names.drill(read.drill),
        counted=counted_text(read),
        sentence=cause_sentence(names, read.drill, first),
        stop_signs=stop_signs_text(ladder, read.stop_signs),
        change=change_text(names, since) if since else "",
        roots=_roots(reading, read),
        mend=_mend(reading, read.drill, first),
    )


def _roots(reading: Reading, read: Causes) -> list[RootRow]:
    return [
        RootRow(
            reading.ladder.strand_names[root.key],
            round(100 * root.share.share),
            range_text(root, read),
            "" if root == read.first else faults_text(reading.ladder, root.faults),
        )
        for root in read.roots
    ]


def _mend(reading: Reading, drill: str, first: Root) -> list[tuple[str, str]]:
    about = reading.read.state, reading.evidence, reading.ladder.engine, reading.turns
    keys = mending_drills(first, drill, *about)
    return [(key, reading.ladder.drills[key]["name"]) for key in keys]
