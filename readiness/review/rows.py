"""Children in rows, for the review and for a class: the stage that matters most now, and what
holds it.
"""

import datetime
import json
import unicodedata
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import CharField, QuerySet, Value
from django.db.models.functions import Cast

from readiness.engine.reading import StageReading, StoredReading
from readiness.engine.reading_json import from_json
from readiness.models import Decision, Pain, Pause, PauseLift
from readiness.record.ladders import Ladders
from readiness.record.list_facts import SIGNATURE
from readiness.record.standings import StandingRow, fresh_standings
from readiness.words.decisions import review_line
from readiness.words.gates import holding_text
from readiness.words.names import Names
from readiness.words.pauses import pain_text, pain_today, pause_ends, paused_until_lifted
from readiness.words.re_check import brings_back_short, re_check_causes
from readiness.words.stages import stage_notes
from studio import access
from studio.models import Child, ClassGroup, Staff
from studio.people.class_lists import Classes, child_rows, from_rows

# "This week": the last seven days.
WEEK = datetime.timedelta(days=7)

ORDER = ["for-review", "re-check", "paused", "closed", "open"]


class RowText(NamedTuple):
    """What a row says: the stage that matters most now, and what holds it, in two lines at most.

    waits: it waits for somebody's decision. back: went to re-check this week. hurts: what
    hurts today.
    """

    stage: str
    code: str
    day: datetime.date
    state: str
    score: int | None
    holds: str
    more: str
    waits: str
    back: bool
    lapsed: bool
    hurts: str


class Row(NamedTuple):
    """One child and their classes, and the text of their row."""

    child: Child
    classes: Sequence[ClassGroup]
    text: RowText


class Event(NamedTuple):
    """Something that was decided or reported: ``word`` is the decision's kind, the reason of a
    pause, or the place that hurts; ``by``: the name of whoever did it."""

    word: str
    by_id: int
    by: str
    at: datetime.datetime
    day: datetime.date


@dataclass(frozen=True)
class Facts:
    """What a row needs beside the reading: the latest events of a child by kind and stage; the
    stage is empty where an event is of none."""

    latest: Mapping[tuple[str, str], Event]

    def review(self, stage: str) -> Event | None:
        return self.latest.get(("review", stage))

    def why_paused(self, names: Names, since: str) -> str:
        """What somebody wrote when they paused the child; else what hurt."""
        pause, pain = self._latest("pause"), self._latest("pain")
        if pause is not None and pause.day.isoformat() >= since:
            return pause.word
        return pain_text(names, pain.word) if pain is not None else ""

    def how_long_paused(self, names: Names, since: str) -> str:
        """Since when, and what ends it."""
        lift, events = self._latest("lift"), [self._latest("pause"), self._latest("pain")]
        if lift is None or lift.day != names.day:
            return paused_until_lifted(names, since)
        if any(event is not None and event.at > lift.at for event in events):
            return paused_until_lifted(names, since)
        return pause_ends(lift.by)

    def hurts_today(self, names: Names) -> str:
        pain = self._latest("pain")
        return pain_today(names, pain.word) if pain and pain.day == names.day else ""

    def _latest(self, kind: str) -> Event | None:
        return self.latest.get((kind, ""))


NOTHING = Facts({})


def children_of(staff: Staff, today: datetime.date) -> tuple[list[Child], Classes]:
    """The children this person sees who have not left, and their classes."""
    since = access.stood_in_since(today)
    visible = access.children_since(staff, since)
    return from_rows(child_rows(visible.exclude(left_on__lte=today)))


def children_in(group: ClassGroup, today: datetime.date) -> tuple[list[Child], Classes]:
    """The children of a class who have not left, and all their classes."""
    members = Child.objects.filter(pk__in=group.children.values("pk"))
    return from_rows(child_rows(members.exclude(left_on__lte=today)))


def rows_of(
    children: Sequence[Child],
    classes: Classes,
    staff: Staff,
    now: datetime.datetime,
    ladders: Ladders,
) -> list[Row]:
    """A row a child, those that wait for a decision first. Queries do not grow with them."""
    standings = fresh_standings(children, now, ladders, classes)
    context = _RowContext(staff, access.may_decide(staff), ladders, _facts(children))
    rows = [
        Row(child, classes[child.pk], _row_text(child, standings[child.pk], context))
        for child in children
    ]
    return sorted(rows, key=_place_in_list)


@dataclass(frozen=True)
class _RowContext:
    """For whom rows are made, and of what beside the standings."""

    staff: Staff
    decides: bool
    ladders: Ladders
    facts: Mapping[int, Facts]


def _place_in_list(row: Row) -> tuple[int, int, str, int]:
    """Those that wait for a person first, then by state and name."""
    waits = ["you", "recommendation", "other", ""].index(row.text.waits)
    return waits, ORDER.index(row.text.state), alphabetical(row.child.called), row.child.pk


def alphabetical(name: str) -> str:
    """A key that sorts É after E and before F."""
    return unicodedata.normalize("NFD", name.casefold())


def _facts(children: Sequence[Child]) -> dict[int, Facts]:
    """By child, of those of whom anything was decided or reported."""
    events: dict[int, dict[tuple[str, str], Event]] = defaultdict(dict)
    rows = sorted(_events([child.pk for child in children]), key=_time_order)
    for kind, child, stage, word, by_id, *name, at, day, _pk in rows:
        events[child][kind, stage] = Event(word, by_id, full_name(*name), at, day)
    return {child: Facts(latest) for child, latest in events.items()}


def _events(children: Sequence[int]) -> QuerySet[Any, Any]:
    """In one query, from four tables."""
    kinds = [Decision.Kind.RECOMMEND, Decision.Kind.SIGN, Decision.Kind.SEND_BACK]
    none = Value("", CharField())
    first, *others = (
        events.filter(child__in=children).values_list(
            Value(kind, CharField()), "child_id", stage, word, "by_id",
            "by__first_name", "by__last_name", "by__username", "at", "day",
            Cast("pk", CharField()),
        )
        for kind, events, stage, word in (
            ("review", Decision.objects.filter(kind__in=kinds), "stage", "kind"),
            ("pause", Pause.objects.all(), none, "reason"),
            ("pain", Pain.objects.all(), none, "place"),
            ("lift", PauseLift.objects.all(), none, "reason"),
        )
    )  # fmt: skip
    return first.union(*others, all=True)


def _time_order(row: tuple[Any, ...]) -> tuple[datetime.datetime, int, str]:
    """By time, then in the order in which they were written down."""
    *_, at, _day, pk = row
    return at, len(pk), pk


def full_name(first: str, last: str, username: str) -> str:
    return f"{first} {last}".strip() or username


def _row_text(child: Child, standing: StandingRow, context: _RowContext) -> RowText:
    shown, facts = standing.facts, context.facts.get(child.pk, NOTHING)
    ladder = context.ladders.named_on(standing.read_on)
    names = Names(child.called, ladder, standing.read_on)
    reading = from_json(json.loads(shown.listed), ladder.engine)
    paused, last = reading.paused_since, facts.review(shown.stage)
    if paused:
        holds = facts.how_long_paused(names, paused.isoformat())
        more = facts.why_paused(names, paused.isoformat())
    else:
        holds, more = _holds(reading.stage(shown.stage), reading, names, last)
    return RowText(
        stage=names.stage(shown.stage),
        code=shown.stage,
        day=names.day,
        state=shown.state,
        score=shown.score,
        holds=holds,
        more=more,
        waits=_waits(shown.waits_for, last, context),
        back=shown.fell_on is not None and names.day - shown.fell_on <= WEEK,
        lapsed=shown.away,
        hurts="" if paused else facts.hurts_today(names),
    )


def _holds(
    stage: StageReading, reading: StoredReading, names: Names, last: Event | None
) -> tuple[str, str]:
    """What holds the child, in a line or two."""
    match stage.state:
        case "for-review":
            review = (last.word, last.by, last.day) if last else ("", "", None)
            return holding_text(names, stage), review_line(names, *review)
        case "open" if last is not None and last.word == Decision.Kind.RECOMMEND:
            return review_line(names, last.word, last.by, last.day), ""
        case "re-check":
            return re_check_causes(names, stage)[-1], brings_back_short(names, stage, reading)
        case "closed":
            notes = stage_notes(names, stage)
            return holding_text(names, stage), notes[0] if notes else ""
    return "", ""


def _waits(waits_for: str, last: Event | None, context: _RowContext) -> str:
    """Whose decision is waited for: "you", "recommendation", "other", or "" for none.

    A director signs what somebody else recommended.
    """
    if waits_for == SIGNATURE:
        by = last.by_id if last is not None else None
        return "you" if context.decides and by != context.staff.pk else "other"
    return waits_for
