"""The turns that a stage is decided on: how often clean, since the last stop sign, day by day."""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from readiness.child.lookup import names_of
from readiness.engine.evidence import Scope, counts
from readiness.engine.gates import CleanGate
from readiness.engine.levels import Support
from readiness.engine.tallies import Tally
from readiness.evidence.ways_in import ways_in
from readiness.evidence.words import since_stop_sign
from readiness.record.standings import Reading
from readiness.words.numbers import none_in_words
from studio.models import Staff
from studio.templatetags.marks import percent

# How often clean is counted over as many days as the gates look back.
COUNTED_DAYS = 84


@dataclass(frozen=True)
class CleanCount:
    """How often clean, and apart from it the turns on days after the last stop sign.

    share: of clean turns, 0 to 1; None with no turns. stop_day: of the last stop sign.
    """

    drill: str
    support: int
    turns: int
    clean: int
    share: float | None
    stop_day: datetime.date | None
    since: str
    bound: str

    @property
    def percent(self) -> int:
        """The share as a whole percentage, rounded down."""
        return percent(self.share or 0.0)


@dataclass(frozen=True)
class DayRow:
    """The turns of one day, surface, support and author at a drill."""

    day: datetime.date
    drill: str
    surface: str
    support: int
    turns: int
    clean: int
    graded: int
    stop_signs: int
    by: str
    counts: bool
    ways: list[str]


def clean_gates(reading: Reading, code: str) -> list[CleanGate]:
    """The clean gates at the stage's own skills; of a stage with none, all its clean gates."""
    stage = reading.ladder.engine.stage[code]
    gates = [gate for gate in stage.gates if isinstance(gate, CleanGate)]
    return [gate for gate in gates if gate.graded] or gates


@dataclass(frozen=True)
class Counted:
    """A drill whose turns are shown, with this support or less."""

    drill: str
    support: Support
    signed_surface: bool


def counted(reading: Reading, code: str) -> list[Counted]:
    """What a decision is about now: the drills of the stage's gates; on re-check the stage's own
    skills."""
    stage = reading.read.stage(code)
    if stage.causes and stage.stage.skills:
        return [Counted(skill, Support.HANDS_ON, False) for skill in stage.stage.skills]
    gates = clean_gates(reading, code)
    return [Counted(gate.drill, gate.support, gate.signed_surface) for gate in gates]


def clean_counts(reading: Reading, code: str) -> list[CleanCount]:
    """For each of these drills: k of n clean, and the turns since the last stop sign."""
    return [_clean_count(reading, each) for each in counted(reading, code)]


def _clean_count(reading: Reading, each: Counted) -> CleanCount:
    evidence, ladder, day = reading.evidence, reading.ladder.engine, reading.read.day
    scope = Scope(each.support)
    days = evidence.clean_days(each.drill, ladder, day, scope)
    recent = [entry for entry in days if (day - entry[0]).days <= COUNTED_DAYS]
    turns, clean = sum(n for _, n, _ in recent), sum(k for _, _, k in recent)
    stop_day = evidence.last_stop_day(each.drill, day)
    of_all = evidence.clean_days(each.drill, ladder, day)
    since, since_of_all = (
        sum(n for then, n, _ in some if stop_day is None or then > stop_day)
        for some in (days, of_all)
    )
    return CleanCount(
        drill=names_of(reading).drill(each.drill),
        support=int(each.support),
        turns=turns,
        clean=clean,
        share=clean / turns if turns else None,
        stop_day=stop_day,
        since=since_stop_sign(int(each.support), since, since_of_all),
        bound=none_in_words(since) if since else "",
    )


def day_rows(reading: Reading, code: str) -> list[DayRow]:
    """Which days, on what surface, with what support, logged by whom; newest first."""
    evidence, day = reading.evidence, reading.read.day
    tallies: list[tuple[Tally, bool]] = []
    for each in counted(reading, code):
        scope = Scope(
            each.support, reading.read.stage(code).surface if each.signed_surface else None
        )
        for then in evidence.days(each.drill, day):
            if (day - then).days <= COUNTED_DAYS:
                tallies.extend(
                    (tally, counts(tally, reading.ladder.engine, scope))
                    for tally in evidence.on(each.drill, then)
                )
    authors = {tally.author for tally, _ in tallies}
    names = {staff.pk: staff.called for staff in Staff.objects.filter(pk__in=authors)}
    tallies.sort(key=lambda item: (item[0].day, item[0].first_at, item[0].first_id), reverse=True)
    ways = ways_in(reading, [tally for tally, _ in tallies])
    return [
        _day_row(reading, tally, inside, names.get(tally.author, ""), ways[tally[:5]])
        for tally, inside in tallies
    ]


def _day_row(reading: Reading, tally: Tally, inside: bool, author: str, ways: list[str]) -> DayRow:
    names = names_of(reading)
    return DayRow(
        day=tally.day,
        drill=names.drill(tally.drill),
        surface=names.surface(tally.surface),
        support=tally.support,
        turns=tally.turns,
        clean=tally.clean,
        graded=tally.graded,
        stop_signs=tally.stop_signs,
        by=author,
        counts=inside,
        ways=ways,
    )


def graders(rows: Iterable[DayRow]) -> list[tuple[str, int, int]]:
    """Who graded: name, graded turns, days."""
    turns: dict[str, int] = defaultdict(int)
    days: dict[str, set[datetime.date]] = defaultdict(set)
    for row in rows:
        if row.graded:
            turns[row.by] += row.graded
            days[row.by].add(row.day)
    return [(name, turns[name], len(days[name])) for name in sorted(turns)]
