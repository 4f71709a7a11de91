"""What the review shows beside its rows: what needs a decision, and the week."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import CharField, Exists, OuterRef, Q, QuerySet, Value
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from progression.models import Attempt, RejectedLine
from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.models import DayTally, FaultTally
from readiness.record.day_tallies import Touched
from readiness.record.flags import FINISHED, LESS_SUPPORT, NO_CONSENT, NOT_NOW
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.latest_events import full_name
from readiness.record.told.hall import SpottersGone
from readiness.review.rows import WEEK, Row, alphabetical
from readiness.review.taken_back import TakenBack, taken_back
from readiness.words.names import Names
from readiness.words.numbers import count_word
from readiness.words.turns import WHY_LESS_SUPPORT, flag_text, turn_text
from studio import access
from studio.lists import csv_text
from studio.models import Child, Staff
from studio.people.names import fold
from studio.people.records import records_of, root_of
from studio.people.today import site_today
from studio.templatetags.marks import STATE_WORDS

# Not a flag that a turn has: it follows from what was said at its class.
SPOTTER_GONE = "spotter-gone"
# The flags of a turn that a director sees.
REPORTED_FLAGS = {FINISHED, LESS_SUPPORT, *NOT_NOW}


def lead(rows: Iterable[Row]) -> str:
    """What needs a decision, in a sentence or a few."""
    rows = list(rows)
    own = sum(row.text.waits == "you" for row in rows)
    recommendations = sum(row.text.waits == "recommendation" for row in rows)
    back = sum(row.text.back for row in rows)
    paused = sum(row.text.state == "paused" for row in rows)
    counts = [
        (own, ngettext("%(n)s child waits for you.", "%(n)s children wait for you.", own)),
        (
            recommendations,
            ngettext(
                "%(n)s child waits for a recommendation.",
                "%(n)s children wait for a recommendation.",
                recommendations,
            ),
        ),
        (
            back,
            ngettext(
                "%(n)s went back to more support this week.",
                "%(n)s went back to more support this week.",
                back,
            ),
        ),
        (paused, ngettext("%(n)s is paused.", "%(n)s are paused.", paused)),
    ]
    sentences = [form % {"n": count_word(number)} for number, form in counts if number]
    return " ".join(sentences) or _("Nothing waits for you.")


def rows_file(rows: Iterable[Row]) -> str:
    """The rows for a spreadsheet."""
    columns = [_("child"), _("born"), _("class"), _("stage"), _("state"), _("what holds it")]
    return csv_text(
        columns,
        (
            (
                row.child.name,
                row.child.born,
                ", ".join(group.shown for group in row.classes),
                row.text.stage,
                STATE_WORDS[row.text.state],
                row.text.holds,
            )
            for row in rows
        ),
    )


# --- the week ------------------------------------------------------------------------


@dataclass(frozen=True)
class Flagged:
    """Turns of one child, drill and day that the director should see; ``by``: who logged;
    ``without_yes``: with hands to which no guardian had said yes."""

    child: Child
    day: datetime.date
    what: str
    by: str
    why: str
    turns: int
    without_yes: bool = False


@dataclass(frozen=True)
class Week:
    """What went wrong, or too fast, in the last seven days; without_yes: hands to which no guardian
    had said yes; rejected: how many lines."""

    stops: list[Flagged]
    flags: list[Flagged]
    without_yes: list[Flagged]
    rejected: int
    taken_back: list[TakenBack]


def week_of(rows: Sequence[Row], staff: Staff, ladders: Ladders, now: datetime.datetime) -> Week:
    """The week of these children; where halls lie in several zones, from the earliest day."""
    children = {row.child.pk: row.child for row in rows}
    if not rows:
        return Week([], [], [], rejected_lines(staff, site_today(now)), [])
    today = min(row.text.day for row in rows)
    named = ladders.named_on(today)
    records = list(records_of(children))
    flagged = _flags(children, records, named, today)
    return Week(
        stops=_stops(children, records, named, today),
        flags=[each for each in flagged if not each.without_yes],
        without_yes=[each for each in flagged if each.without_yes],
        rejected=rejected_lines(staff, site_today(now)),
        taken_back=taken_back(children, records, named, today - WEEK),
    )


def _stops(
    children: Mapping[int, Child], records: Sequence[int], named: NamedLadder, today: datetime.date
) -> list[Flagged]:
    """Stop signs, with the faults seen that day at that drill."""
    rows = _faults_and_stops(records, today - WEEK)
    faults: dict[Touched, list[str]] = defaultdict(list)
    grouped: dict[Touched, list[tuple[int, str]]] = defaultdict(list)
    for child, drill, day, fault, times, *name in sorted(rows, key=lambda row: (-row[4], row[3])):
        if not fault:
            grouped[child, drill, day].append((times, full_name(*name)))
        elif named.engine.stops.get(fault, "no") != "no":
            faults[child, drill, day].append(named.faults[fault]["sees"])
    latest = sorted(grouped.items(), key=lambda item: (-item[0][2].toordinal(), item[0]))
    return [
        Flagged(
            child=children[child],
            day=day,
            what=named.drills[drill]["name"] if drill in named.drills else drill,
            by=_joined_names(name for _, name in stops),
            why="; ".join(faults[child, drill, day]) or _("caught by the spotter"),
            turns=sum(times for times, _ in stops),
        )
        for (child, drill, day), stops in latest
    ]


def _faults_and_stops(records: Sequence[int], since: datetime.date) -> QuerySet[Any, Any]:
    """Faults, and drills with stop signs and who logged them, in one query."""
    lately = {"child__in": records, "day__gte": since}
    none = Value("", CharField())
    faults = FaultTally.objects.filter(**lately).values_list(
        root_of("child"), "drill__key", "day", "fault", "count", none, none, none
    )
    stopped = DayTally.objects.filter(**lately, stop_signs__gt=0).values_list(
        root_of("child"), "drill__key", "day", none, "stop_signs",
        "author__first_name", "author__last_name", "author__username",
    )  # fmt: skip
    return faults.union(stopped, all=True)


def _flags(
    children: Mapping[int, Child], records: Sequence[int], named: NamedLadder, today: datetime.date
) -> list[Flagged]:
    """Turns with less support than allowed, at a drill that was not to be done then, held after
    the spotter had gone, or without a guardian's yes."""
    grouped: dict[tuple[datetime.date, int, str, str, bool], list[str]] = defaultdict(list)
    gone = SpottersGone(today - WEEK)
    rows = _flagged(records, today - WEEK, gone.meetings)
    for at, child, day, drill, support, flags, reason, meeting, *name in sorted(rows, reverse=True):
        reported = [flag for flag in flags if flag in REPORTED_FLAGS]
        if gone.at(meeting, at) and _is_held(drill, support, flags, named.engine):
            reported.append(SPOTTER_GONE)
        if not reported:
            continue
        names = Names(children[child].called, named, today)
        reasons = [str(WHY_LESS_SUPPORT[reason])] if reason in WHY_LESS_SUPPORT else []
        why = ", ".join([*(flag_text(flag) for flag in reported), *reasons])
        what, without_yes = turn_text(names, drill, support), NO_CONSENT in reported
        grouped[day, child, what, why, without_yes].append(full_name(*name))
    latest = sorted(grouped.items(), key=lambda item: (-item[0][0].toordinal(), item[0][1]))
    return [
        Flagged(
            child=children[child],
            day=day,
            what=what,
            by=_joined_names(authors),
            why=why,
            turns=len(authors),
            without_yes=without_yes,
        )
        for (day, child, what, why, without_yes), authors in latest
    ]


def _is_held(key: str, support: int, flags: Sequence[str], ladder: Ladder) -> bool:
    """Whether somebody held or stood by, or should have; the floor closes the same (reading.js)."""
    drill = ladder.drills.get(key)
    if drill is None or not drill.support_logged:
        return drill is not None and drill.spotted
    return support > Support.UNSPOTTED or LESS_SUPPORT in flags


def _flagged(
    records: Sequence[int], since: datetime.date, meetings: Sequence[int]
) -> QuerySet[Any, Any]:
    """Those with flags, and all of some meetings."""
    turns = Attempt.objects.filter(child__in=records, day__gte=since)
    return turns.filter(~Q(flags=[]) | Q(meeting__in=meetings)).unstruck().values_list(
        "done_at", root_of("child"), "day", "drill__key", "support", "flags", "less_reason",
        "meeting", "author__first_name", "author__last_name", "author__username",
    )  # fmt: skip


def _joined_names(people: Iterable[str]) -> str:
    return ", ".join(sorted(set(people)))


def rejected_lines(staff: Staff, today: datetime.date) -> int:
    """How many lines of one's meetings were rejected, and nobody has resolved them yet."""
    # Each line's meeting is looked up: of meetings there are more every year.
    theirs = Exists(access.visible_meetings(staff, today).filter(pk=OuterRef("meeting")))
    return RejectedLine.objects.filter(theirs | Q(sender=staff), resolution=None).count()


# --- filters -------------------------------------------------------------------------


@dataclass(frozen=True)
class Filters:
    """What the page is filtered by; empty: everything."""

    location: str
    group: str
    state: str
    name: str

    def in_place(self, row: Row) -> bool:
        """The child belongs to the hall and the class that are filtered by."""
        places = {str(group.location_id) for group in row.classes}
        groups = {str(group.uuid) for group in row.classes}
        return (not self.location or self.location in places) and (
            not self.group or self.group in groups
        )

    def matches(self, row: Row) -> bool:
        return (
            self.in_place(row)
            and (not self.state or self.state == row.text.state)
            and all(word in row.child.search_key for word in fold(self.name).split())
        )


def places_of(rows: Iterable[Row]) -> dict[str, object]:
    """The classes and halls of these children, for the filters."""
    groups = {group.pk: group for row in rows for group in row.classes}
    halls = {group.location_id: group.location for group in groups.values()}
    return {
        "classes": sorted(groups.values(), key=lambda g: (g.weekday, g.starts_at, g.pk)),
        "locations": sorted(halls.values(), key=lambda hall: alphabetical(hall.name)),
    }
