"""An evening of a class, gathered from the record for the planner."""

import datetime
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain

from django.db.models import Exists, OuterRef, Q, Sum

from progression.models import Strike
from readiness.engine.causes.roots import WITHIN_DAYS
from readiness.engine.clean_rate import MOST_DAYS_AHEAD
from readiness.engine.stations.problem import (
    Adult,
    At,
    Hall,
    Post,
    Problem,
    Work,
)
from readiness.engine.stations.problem import Child as Planned
from readiness.engine.tallies import Turn
from readiness.floor.pack_children import children_of
from readiness.models import DayTally, HallReport
from readiness.record.evidence_loader import turns_between
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.standings import Reading, read_many
from readiness.record.told.hall import reports_for
from readiness.spotters.trained import held_drills, spotters_of
from readiness.stations.done import left_out
from readiness.stations.evening.beside import Beside, InUse, busy_elsewhere, plans_beside, taken_by
from readiness.stations.evening.clock import WARM_UP
from readiness.stations.evening.equipment import FLOOR, WALL, there_is
from readiness.stations.evening.held import HeldShare, shares_of, with_turns
from readiness.stations.evening.set_up import drill_of, stations_for
from readiness.stations.evening.works import Need, needs_of
from studio.models import Attendance, Child, Meeting, Staff
from studio.people.class_dates import coming_days
from studio.people.records import records_of, root_of
from studio.people.told_apart import tell_apart

# Common practice, no source: minutes of one rotation; rotations at most.
MINUTES, MOST_ROTATIONS = 8, 8
# The surface of an evening is the one of these last days.
LATELY = datetime.timedelta(days=28)
SEEN_BEST = 10


@dataclass(frozen=True)
class Settled:
    """What was settled by hand. present: by child, or by adult, the rotations they are here for.
    start: the first rotation still to be planned; done: what was in those before. split: stations
    that are at two places. ground: nobody spots tonight."""

    rotations: int | None = None
    minutes: int | None = None
    start: int = 0
    done: frozenset[At | Post] = frozenset()
    locked: frozenset[At | Post] = frozenset()
    banned: frozenset[At | Post] = frozenset()
    children: Mapping[int, frozenset[int]] = field(default_factory=dict)
    adults: Mapping[int, frozenset[int]] = field(default_factory=dict)
    split: frozenset[str] = frozenset()
    ground: bool = False


@dataclass(frozen=True)
class Roster:
    """Who belongs to an evening: the children of the class, who may have been said to be not here,
    and its adults. rotations: as many as the class has room for."""

    meeting: Meeting
    children: Sequence[Child]
    staff: Sequence[Staff]

    @property
    def rotations(self) -> int:
        return rotations_of(self.meeting.group.minutes)

    @property
    def child_ids(self) -> dict[str, int]:
        return {str(child.uuid): child.pk for child in self.children}

    @property
    def adult_ids(self) -> dict[str, int]:
        return {str(each.uuid): each.pk for each in self.staff}


@dataclass(frozen=True)
class Evening:
    """places: which places of the hall are meant by the problem's, at the wall and on the floor.
    needs: by child and drill; shares: of the held turns. away: said to be not here. idle: here, but
    nothing may be asked of them tonight. may_spot: whether any adult here may spot anything.
    ground: an evening of drills that need no spotter, because none comes."""

    meeting: Meeting
    ladder: NamedLadder
    surface: str
    problem: Problem
    places: tuple[Sequence[int], Sequence[int]]
    needs: Mapping[int, Mapping[str, Need]]
    shares: Mapping[int, HeldShare]
    children: Mapping[int, Child]
    adults: Mapping[int, Staff]
    away: Sequence[Child]
    idle: Sequence[Child]
    spotter_gone: bool
    may_spot: bool
    ground: bool


def rotations_of(minutes: int) -> int:
    """How many rotations a class of so many minutes has room for."""
    return max(1, min(MOST_ROTATIONS, (minutes - WARM_UP) // MINUTES))


def roster_of(meeting: Meeting) -> Roster:
    children = children_of(meeting)
    tell_apart(children)
    return Roster(meeting, children, adults_of(meeting))


def gather(roster: Roster, settled: Settled) -> Evening:
    """By a number of queries that does not grow with the class."""
    meeting, ladders = roster.meeting, Ladders()
    ladder = ladders.named_on(meeting.date)
    gone = away_from(meeting)
    here = [child for child in roster.children if child.pk not in gone]
    broken, spotter_gone = _of_hall(meeting)
    surface = surface_of(here, ladder, meeting.date, broken)
    first = meeting.date - datetime.timedelta(days=WITHIN_DAYS - 1)
    turns = turns_between(records_of([child.pk for child in here]), first, meeting.date)
    readings = read_many(here, meeting.date, ladders)
    others = plans_beside(meeting)
    adults = _adults(roster, ladder, settled, spotter_gone, others)
    hall, places = _hall(there_is(meeting.hall, ladder), broken, taken_by(others, ladder))
    may_spot = any(each.spots for each in adults)
    ground = settled.ground or not may_spot
    if ground:
        adults = tuple(replace(each, spots=frozenset()) for each in adults)
    spotted = set(chain.from_iterable(each.spots for each in adults))
    needs = _needs(readings, turns, meeting, surface)
    coming = coming_days([meeting.group], meeting.date, MOST_DAYS_AHEAD)
    shares = shares_of(readings, turns, needs, spotted, surface, coming)
    needs = with_turns(needs, shares)
    works = _works(needs, ladder, ground)
    return Evening(
        meeting=meeting,
        ladder=ladder,
        surface=surface,
        problem=_problem(roster, settled, ladder, works, adults, hall),
        places=places,
        needs=needs,
        shares=shares,
        children={child.pk: child for child in roster.children},
        adults={each.pk: each for each in roster.staff},
        away=[child for child in roster.children if child.pk in gone],
        idle=[child for child in here if child.pk not in works],
        spotter_gone=spotter_gone,
        may_spot=may_spot,
        ground=ground,
    )


def _problem(
    roster: Roster,
    settled: Settled,
    ladder: NamedLadder,
    works: Mapping[int, Mapping[str, Work]],
    adults: tuple[Adult, ...],
    hall: Hall,
) -> Problem:
    rotations = settled.rotations or roster.rotations
    spotted = set(chain.from_iterable(each.spots for each in adults))
    also = {each.station for each in settled.done | settled.locked}
    return Problem(
        children=_planned(works, settled),
        stations=stations_for(ladder, works, spotted, rotations, also, settled.split),
        adults=adults,
        hall=hall,
        rotations=rotations,
        minutes=settled.minutes or MINUTES,
        start=settled.start,
        done=settled.done,
        locked=_of_people(settled.locked, works.keys(), ladder),
        banned=_of_people(settled.banned, works.keys(), ladder),
    )


def _of_people(
    settled: Iterable[At | Post], children: Collection[int], ladder: NamedLadder
) -> frozenset[At | Post]:
    """Those that still speak of somebody who is planned, and of a drill that there is."""
    return frozenset(
        each
        for each in settled
        if drill_of(each.station)[0] in ladder.drills
        and (isinstance(each, Post) or each.child in children)
    )


def away_from(meeting: Meeting) -> set[int]:
    """Who is said to be not here; the latest statement counts."""
    struck = Strike.objects.filter(attempt_id=OuterRef("pk"))
    said = Attendance.objects.filter(~Exists(struck), meeting=meeting).order_by("at", "pk")
    present = dict(said.values_list(root_of("child"), "present"))
    return {child for child, is_present in present.items() if not is_present}


def adults_of(meeting: Meeting) -> list[Staff]:
    """The class's own coaches and who stands in. An assistant may be a child still."""
    people = Staff.objects.filter(Q(classes=meeting.group_id) | Q(meetings=meeting.pk))
    return list(people.exclude(role=Staff.Role.ASSISTANT).distinct().order_by("pk"))


def surface_of(
    children: Iterable[Child], ladder: NamedLadder, day: datetime.date, broken: Collection[str]
) -> str:
    """The one that these children had most turns on lately, of those that are whole; without any
    the easiest."""
    whole = [key for key in ladder.surface_names if key not in broken]
    records = list(records_of([child.pk for child in children]))
    rows = DayTally.objects.filter(child__in=records, day__range=(day - LATELY, day))
    sums = rows.values_list("surface__key").annotate(Sum("turns")).order_by("surface__key")
    turns = {key: total for key, total in sums if key in whole}
    return max(whole or list(ladder.surface_names), key=lambda key: turns.get(key, 0))


def _of_hall(meeting: Meeting) -> tuple[set[str], bool]:
    """The surfaces that are broken, and whether the spotter of this class is gone."""
    kinds, broken, gone = HallReport.Kind, set(), False
    for report in reports_for(meeting):
        if report.kind == kinds.MAT_BROKEN:
            broken.add(report.surface)
        elif report.kind == kinds.MAT_MENDED:
            broken.discard(report.surface)
        elif report.kind in (kinds.SPOTTER_GONE, kinds.SPOTTER_BACK):
            gone = report.kind == kinds.SPOTTER_GONE
    return broken, gone


def _needs(
    readings: Sequence[Reading], turns: Mapping[int, Sequence[Turn]], meeting: Meeting, surface: str
) -> dict[int, dict[str, Need]]:
    skipped = left_out(meeting)
    return {
        reading.child.pk: needs_of(
            reading,
            turns.get(reading.child.pk, []),
            surface,
            {drill for child, drill in skipped if child == reading.child.pk},
        )
        for reading in readings
    }


def _works(
    needs: Mapping[int, Mapping[str, Need]], ladder: NamedLadder, ground: bool
) -> dict[int, dict[str, Work]]:
    """By child and drill, of children who have any. ``ground``: only drills that need no spotter,
    of nobody and in no turn."""
    found = {
        child: {
            key: need.work
            for key, need in own.items()
            if not (ground and _asks_spotter(need.work, ladder.drills[key]["adult"]))
        }
        for child, own in needs.items()
    }
    return {child: own for child, own in found.items() if own}


def _asks_spotter(work: Work, adult: str) -> bool:
    return adult == "hands" or bool(work.spotters or work.first)


def _planned(works: Mapping[int, Mapping[str, Work]], settled: Settled) -> tuple[Planned, ...]:
    return tuple(
        Planned(child, tuple(own.values()), settled.children.get(child))
        for child, own in works.items()
    )


def _adults(
    roster: Roster,
    ladder: NamedLadder,
    settled: Settled,
    spotter_gone: bool,
    others: Sequence[Beside],
) -> tuple[Adult, ...]:
    found, held = spotters_of([each.pk for each in roster.staff]), held_drills(ladder)
    rotations = settled.rotations or roster.rotations
    minutes = settled.minutes or MINUTES
    busy = busy_elsewhere(others, roster.meeting, rotations, minutes)
    return tuple(
        Adult(
            each.pk,
            frozenset(
                drill
                for drill in held
                if not spotter_gone and found.why_not(each.pk, drill, roster.meeting.date) is None
            ),
            present=_free(settled.adults.get(each.pk), busy.get(each.pk), rotations),
        )
        for each in roster.staff
    )


def _free(
    here: frozenset[int] | None, busy: set[int] | None, rotations: int
) -> frozenset[int] | None:
    if not busy:
        return here
    return (frozenset(range(rotations)) if here is None else here) - busy


def _hall(
    counts: Mapping[str, int], broken: Collection[str], taken: InUse
) -> tuple[Hall, tuple[Sequence[int], Sequence[int]]]:
    """What is left for this class, and the numbers of its places. Of a mat that is broken there is
    one less."""
    left = {
        thing: max(0, count - (thing in broken) - taken.equipment.get(thing, 0))
        for thing, count in counts.items()
    }
    wall = [at for at in range(counts[WALL]) if at not in taken.wall]
    floor = [at for at in range(counts[FLOOR]) if at not in taken.floor]
    equipment = {thing: n for thing, n in left.items() if thing not in (WALL, FLOOR)}
    return Hall(equipment, _seen(wall), _seen(floor)), (wall, floor)


def _seen(places: Iterable[int]) -> tuple[int, ...]:
    """How well each place is seen: they are numbered from the one that is seen best."""
    return tuple(max(0, SEEN_BEST - at) for at in places)
