"""The tallies and standings folded again from the log, to be kept or only compared.

The log is read once, in the order of children and days, and no more of it is held in memory
than some days of one child. Writing puts right what differs; checking says it.
"""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, islice
from operator import itemgetter
from typing import Any

from django.db import transaction

from progression.logbook import Keys
from progression.models import Attempt
from readiness import refold
from readiness.engine.evidence import Evidence
from readiness.engine.kept import as_data, make_start
from readiness.engine.stages import fold as fold_days
from readiness.engine.tallies import Tally, Turn, fault_counts
from readiness.ladders import Ladders
from readiness.models import DayTally, FaultTally, Standing
from readiness.record import TURN_COLUMNS, load, load_tallies, turn_of
from readiness.standings import events_before, read, stand
from studio.models import Child

AT_ONCE = 2000
# Sums may differ in the last digits, by the order in which they were added up.
CLOSE = 1e-6

# So many days of a child are compared at once.
DAYS = 100

Row = tuple[Any, ...]
Span = tuple[datetime.date, datetime.date]
CHILD, DAY = TURN_COLUMNS.index("child_id"), TURN_COLUMNS.index("day")


@dataclass(frozen=True)
class Difference:
    """Something that is stored otherwise than the log says: of which child, and what."""

    child: int
    what: str


def log_rows() -> Iterator[Row]:
    """Every turn that was not taken back, child by child, each child's days in order."""
    rows = Attempt.objects.unstruck().order_by("child_id", "day")
    return rows.values_list(*TURN_COLUMNS).iterator(chunk_size=AT_ONCE)


def rebuild(children: Iterable[Child], now_on: datetime.date, check: bool) -> Iterator[Difference]:
    """Fold the whole log again and tell every difference; unless ``check``, put it right.

    ``now_on``: the day on which children are read whose record was wrong.
    """
    ladders, keys = Ladders(), Keys.load()
    waiting = {child.pk: child for child in children}
    for pk, rows in groupby(log_rows(), key=itemgetter(CHILD)):
        child = waiting.pop(pk, None)
        if child is not None:
            yield from _rebuild(child, rows, now_on, _Folding(ladders, keys, check))
    for child in waiting.values():
        yield from _rebuild(child, iter(()), now_on, _Folding(ladders, keys, check))


@dataclass(frozen=True)
class _Folding:
    ladders: Ladders
    keys: Keys
    check: bool


def _rebuild(
    child: Child, rows: Iterator[Row], now_on: datetime.date, folding: _Folding
) -> Iterator[Difference]:
    if folding.check:
        yield from _days_differ(child, rows, folding)
        yield from _standing_differs(child, folding.ladders)
        return
    with transaction.atomic():
        Child.objects.select_for_update().get(pk=child.pk)
        wrong = [*_days_differ(child, rows, folding)]
        wrong += _standing_differs(child, folding.ladders)
        if wrong:
            Standing.objects.filter(child=child).update(start=None, start_on=None)
            stand([child], now_on, folding.ladders)
    yield from wrong


def _days_differ(child: Child, rows: Iterator[Row], folding: _Folding) -> Iterator[Difference]:
    """Some days at a time, and what is stored between them and after the last."""
    first = datetime.date.min
    days = groupby(rows, key=itemgetter(DAY))
    while some := [(day, [turn_of(row) for row in each]) for day, each in islice(days, DAYS)]:
        last = some[-1][0]
        turns = [turn for _, each in some for turn in each]
        yield from _some_days_differ(child, turns, (first, last), folding)
        first = last + datetime.timedelta(days=1)
    yield from _some_days_differ(child, [], (first, datetime.date.max), folding)


def _some_days_differ(
    child: Child, turns: Sequence[Turn], span: Span, folding: _Folding
) -> Iterator[Difference]:
    by_day: refold.DayTurns = defaultdict(list)
    for turn in turns:
        by_day[child.pk, turn.drill, turn.day].append(turn)
    tallies = refold.tallies_of(by_day, folding.ladders)
    wrong = [*_tallies_differ(child, tallies, span), *_faults_differ(child, turns, span)]
    if wrong and not folding.check:
        for table in (DayTally, FaultTally):
            table.objects.filter(child=child, day__range=span).delete()
        refold.insert(by_day, tallies, folding.keys)
    yield from wrong


def _tallies_differ(
    child: Child, tallies: Mapping[refold.Touched, list[Tally]], span: Span
) -> Iterator[Difference]:
    folded = {_place(tally): tally for day in tallies.values() for tally in day}
    stored = {_place(tally): tally for tally in load_tallies(child.pk, span)}
    for place in sorted(folded.keys() | stored.keys()):
        if folded.get(place) != stored.get(place):
            day, drill, surface, support, author = place
            where = f"{drill} on {surface} at {support} by {author} on {day}"
            yield Difference(child.pk, f"tally of {where}")


def _place(tally: Tally) -> tuple[datetime.date, str, str, int, int]:
    return tally.day, tally.drill, tally.surface, tally.support, tally.author


def _faults_differ(child: Child, turns: Sequence[Turn], span: Span) -> Iterator[Difference]:
    rows = FaultTally.objects.filter(child=child, day__range=span)
    stored = {
        (drill, day, fault): count
        for drill, day, fault, count in rows.values_list("drill__key", "day", "fault", "count")
    }
    folded = fault_counts(turns)
    for drill, day, fault in sorted(folded.keys() | stored.keys()):
        if Counter(stored)[drill, day, fault] != folded[drill, day, fault]:
            yield Difference(child.pk, f"fault {fault} at {drill} on {day}")


def _standing_differs(child: Child, ladders: Ladders) -> Iterator[Difference]:
    """What is kept to be read, and what is kept to be read from."""
    standing = Standing.objects.filter(child=child).first()
    if standing is None:
        return
    if not standing.stale:
        whole = read(child, standing.read_on, ladders)
        if whole.ladder.number == standing.reading["ladder"] and not is_near(
            standing.reading, whole.data
        ):
            yield Difference(child.pk, f"reading of {standing.read_on}")
    start, day = standing.start, standing.start_on
    if start is not None and day is not None and not _is_start(child, start, day, ladders):
        yield Difference(child.pk, f"start of {day}")


def _is_start(child: Child, kept: Any, day: datetime.date, ladders: Ladders) -> bool:
    """Only as to the state and the sums of the day itself: how far back the summing up goes
    depends on when it was done."""
    named = ladders.named_on(day)
    if kept["ladder"] != named.number:
        return True
    record = load([child.pk])[child.pk]
    evidence = Evidence(record.tallies)
    state = fold_days(evidence, record.events, day, ladders.on)
    before = events_before(record, day)
    start = make_start(named.number, before, state, evidence, named.engine)
    if start is None:
        return False
    whole = as_data(start)
    return all(is_near(kept[part], whole[part]) for part in ("events", "state", "today"))


def is_near(found: object, expected: object) -> bool:
    """The same plain data, but for the last digits of sums."""
    if isinstance(expected, float) and isinstance(found, float | int):
        return abs(found - expected) <= CLOSE
    if isinstance(expected, dict) and isinstance(found, dict):
        same = found.keys() == expected.keys()
        return same and all(is_near(found[key], expected[key]) for key in found)
    if isinstance(expected, list) and isinstance(found, list):
        return len(found) == len(expected) and all(map(is_near, found, expected))
    return found == expected
