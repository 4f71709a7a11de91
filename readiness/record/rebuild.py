"""The tallies and standings made again from the log, to be stored or only compared.

Child by child, in a stream: no more is held in memory than the tallies of one child. Writing puts
right what differs; checking says it.
"""

import json
from collections import Counter, deque
from collections.abc import Iterable, Iterator
from itertools import groupby
from operator import attrgetter
from typing import Any, NamedTuple

from django.db import transaction

from progression.log.logbook import Keys
from readiness.engine.replay.checkpoint import as_data, from_data
from readiness.engine.tallies import FaultCounts, Tally, Turn, fault_counts, tally_turns
from readiness.models import DayTally, FaultTally, Standing
from readiness.record import day_tallies
from readiness.record.evidence_loader import ChildRecord, load, load_events, load_tallies
from readiness.record.ladders import Ladders
from readiness.record.list_facts import ListFacts, latest_reviews
from readiness.record.log_stream import LogStream
from readiness.record.standings import Reading, facts_of, lock, read, records_changed
from studio.models import Child
from studio.people.merging import follow
from studio.people.records import records_of

# Sums may differ in the last digits, by the order in which they were added up.
CLOSE = 1e-6
# Children share a transaction, whose end is what takes long with few turns, until so many tallies
# were folded; then those who wait for one of them go on.
ENOUGH = 2000


class Difference(NamedTuple):
    """Something that is stored otherwise than the log says: of which child, and what."""

    child: int
    what: str


class Tallies(NamedTuple):
    """What is to be known of a child's turns: the tallies, and how often each fault was seen."""

    turns: list[Tally]
    faults: FaultCounts


def rebuild(children: Iterable[Child], check: bool) -> Iterator[Difference]:
    """Fold the whole log again and tell every difference; unless ``check``, put it right.

    ``children`` in the order of their keys, in which everybody locks them.
    """
    every = list(children)
    yield from _records_differ(every, check)
    ladders, keys = Ladders(), Keys.load()
    log, waiting = LogStream(keys), deque(every)
    while waiting:
        wrong: list[Difference] = []
        size = 0
        with transaction.atomic():
            while waiting and size < ENOUGH:
                differences, tallies = _rebuild(waiting.popleft(), log, ladders, keys, check)
                wrong += differences
                size += tallies
        yield from wrong


def _records_differ(children: Iterable[Child], check: bool) -> Iterator[Difference]:
    """Which record stands for which, as the merges in force say; put right in ``children`` too."""
    with transaction.atomic():
        wrong = follow(check)
        found = Child.objects.in_bulk(wrong)
        if wrong and not check:
            records_changed({*wrong, *(child.root for child in found.values())})
    for child in children:
        if child.pk in found:
            child.merged_into_id = found[child.pk].merged_into_id
            yield Difference(child.pk, "the record that stands for it")


def _rebuild(
    child: Child, log: LogStream, ladders: Ladders, keys: Keys, check: bool
) -> tuple[list[Difference], int]:
    """What is wrong with a child's record, and how many tallies it has."""
    # Whoever stores a turn locks the child's row as well: none comes in between.
    lock(Child.objects.filter(pk=child.root)).get()
    folded, stored = _fold(child, log, ladders), _stored(child)
    wrong = [
        *_tallies_differ(stored.turns, folded.turns),
        *_faults_differ(stored.faults, folded.faults),
    ]
    if wrong and not check:
        _replace(child, stored, folded, keys)
    else:
        wrong += _standing_differs(child, folded, ladders)
    if wrong and not check:
        # The standing is wrong, or rests on tallies that were: whoever asks next reads again.
        standing = Standing.objects.filter(child=child.root)
        standing.update(stale=True, reader=None, start=None, start_on=None)
    return [Difference(child.pk, what) for what in wrong], len(folded.turns)


def _fold(child: Child, log: LogStream, ladders: Ladders) -> Tallies:
    tallies: list[Tally] = []
    faulty: list[Turn] = []
    for day, each in groupby(log.turns(child.pk), key=attrgetter("day")):
        turns = list(each)
        tallies += tally_turns(turns, ladders.on(day).stops)
        faulty += [turn for turn in turns if turn.faults]
    return Tallies(tallies, fault_counts(faulty))


def _stored(child: Child) -> Tallies:
    counts: FaultCounts = Counter()
    rows = FaultTally.objects.filter(child=child)
    for drill, day, fault, count in rows.values_list("drill__key", "day", "fault", "count"):
        counts[drill, day, fault] = count
    return Tallies(load_tallies(child.pk), counts)


def _replace(child: Child, stored: Tallies, folded: Tallies, keys: Keys) -> None:
    if stored.turns:
        DayTally.objects.filter(child=child).delete()
    if stored.faults:
        FaultTally.objects.filter(child=child).delete()
    day_tallies.insert(child.pk, folded.turns, folded.faults, keys)


def _tallies_differ(stored: Iterable[Tally], folded: Iterable[Tally]) -> Iterator[str]:
    # The first five values say which tally it is.
    there, expected = ({tally[:5]: tally for tally in each} for each in (stored, folded))
    for place in sorted(there.keys() | expected.keys()):
        if there.get(place) != expected.get(place):
            drill, surface, support, author, day = place
            yield f"tally of {drill} on {surface} at {support} by {author} on {day}"


def _faults_differ(stored: FaultCounts, folded: FaultCounts) -> Iterator[str]:
    for drill, day, fault in sorted(stored.keys() | folded.keys()):
        if stored[drill, day, fault] != folded[drill, day, fault]:
            yield f"fault {fault} at {drill} on {day}"


def _standing_differs(child: Child, folded: Tallies, ladders: Ladders) -> Iterator[str]:
    """The stored reading, unless it is stale, and the stored checkpoint."""
    standing = Standing.objects.filter(child=child).first()
    if standing is None or child.root != child.pk:
        return
    read_on = None if standing.stale else standing.read_on
    start_on = None if standing.start is None else standing.start_on
    record = _record(child, folded, ladders)
    # Mostly the same day: each is read once.
    whole = {day: read(child, day, ladders, record) for day in {read_on, start_on} if day}
    if read_on and whole[read_on].ladder.number == standing.reading["ladder"]:
        if not is_near(standing.reading, whole[read_on].data):
            yield f"reading of {read_on}"
        elif not _are_list_facts(standing, whole[read_on]):
            yield f"list facts of {read_on}"
    if start_on and not _is_start(standing.start, whole[start_on]):
        yield f"start of {start_on}"


def _record(child: Child, folded: Tallies, ladders: Ladders) -> ChildRecord:
    """Of a child with several records the stored tallies: each record is looked at by itself."""
    if len(records_of([child.pk])) > 1:
        return load([child.pk], ladders)[child.pk]
    events = load_events([child.pk], ladders)[child.pk]
    return ChildRecord(folded.turns, events, folded.faults, [child.pk])


def _are_list_facts(standing: Standing, whole: Reading) -> bool:
    """True also of a standing that was read before there were any: it is read again when shown."""
    child = standing.child_id
    expected = facts_of(whole, latest_reviews(dict.fromkeys(whole.record.keys, child))[child])
    stored = ListFacts(*(getattr(standing, name) for name in ListFacts._fields))
    found = json.loads(expected.listed)
    # An earlier release did not write down the steps that were given without a tap, or that day,
    # nor what guardians say of hands.
    earlier = {"untapped": [], "given": [], "consent": found["consent"]}
    same = is_near({**earlier, **json.loads(stored.listed or "{}")}, found)
    return stored.stage == "" or (same and stored[:-1] == expected[:-1])


def _is_start(data: Any, whole: Reading) -> bool:
    """Only sums up to the same day can be compared; up to which day a record is summed up may
    depend on when it was done."""
    if data["ladder"] != whole.ladder.number:
        return True
    if whole.start is None:
        return False
    # As this release writes it, whichever one wrote it.
    stored, start = as_data(from_data(data)), as_data(whole.start)
    if any(stored["summary"][name] != start["summary"][name] for name in ("first", "longer")):
        del start["summary"]
    return all(is_near(stored[part], start[part]) for part in start)


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
