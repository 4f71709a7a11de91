"""Children in rows, for the review and for a class: the stage that matters most now, and what
holds it.

What a row says is kept in this process until the child's standing changes, or something was
decided or reported.
"""

import datetime
import unicodedata
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import CharField, QuerySet, Value
from django.db.models.functions import Cast
from django.utils.translation import get_language

from readiness.engine.reading import StageReading, StoredReading
from readiness.engine.reading_json import from_json
from readiness.models import Decision, Pain, Pause, PauseLift
from readiness.record.ladders import Ladders
from readiness.record.memory import Memory, Place
from readiness.record.standings import StandingKey, fresh_standings, readings
from readiness.words.decisions import review_line
from readiness.words.gates import holding_text
from readiness.words.names import Names
from readiness.words.pauses import pain_text, pain_today, pause_ends, paused_until_lifted
from readiness.words.re_check import brings_back_short, re_check_causes
from readiness.words.stages import stage_notes, stage_to_show
from studio import access
from studio.db.prepared import prepared
from studio.models import Child, ClassGroup, Staff
from studio.people.class_lists import Classes, child_rows, from_rows

# "This week": the last seven days.
WEEK = datetime.timedelta(days=7)

ORDER = ["for-review", "re-check", "paused", "closed", "open"]

# So many rows are kept, of some 2 kB each.
MOST_ROWS = 5000


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


class Key(NamedTuple):
    """All that a row is made of, beside whom it is shown to.

    digest: of the reading, which is that of one child, day and ladder version. facts: the items
    of Facts.
    """

    day: datetime.date
    digest: str
    name: str
    language: str | None
    decides: bool
    facts: frozenset[object]


KEPT: Memory[Key, RowText] = Memory(MOST_ROWS)


def children_of(staff: Staff, today: datetime.date) -> tuple[list[Child], Classes]:
    """The children this person sees who have not left, and their classes."""
    since = access.stood_in_since(today)
    return from_rows(_children(staff.pk, since, today, role=access.acts_as(staff)))


@prepared
def _children(
    staff: int, since: datetime.date, today: datetime.date, *, role: Staff.Role
) -> QuerySet[Any, Any]:
    visible = access.children_since(Staff(pk=staff, role=role), since)
    return child_rows(visible.exclude(left_on__lte=today))


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
    standings, facts = fresh_standings(children, now, ladders, classes), _facts(children)
    context = _RowContext(staff, access.may_decide(staff), ladders, get_language(), facts)
    texts = _kept(children, standings, context)
    missing = {child.pk: child for child in children if child.pk not in texts}
    for pk, standing, reading in readings(missing.values()):
        texts[pk] = _made(missing[pk], standing, reading, context)
    rows = [Row(child, classes[child.pk], texts[child.pk]) for child in children]
    return sorted(rows, key=_place_in_list)


@dataclass(frozen=True)
class _RowContext:
    """For whom rows are made, and of what beside the readings."""

    staff: Staff
    decides: bool
    ladders: Ladders
    language: str | None
    facts: Mapping[int, Facts]

    def facts_of(self, child: Child) -> Facts:
        return self.facts.get(child.pk, NOTHING)

    def place(self, child: Child) -> Place:
        return Place(child.pk, self.staff.pk)

    def key(self, child: Child, standing: StandingKey) -> Key:
        events = frozenset(self.facts_of(child).latest.items())
        about = standing.read_on, standing.digest, child.called
        return Key(*about, self.language, self.decides, events)


def _kept(
    children: Sequence[Child], standings: Mapping[int, StandingKey], context: _RowContext
) -> dict[int, RowText]:
    """By child, where nothing has changed since."""
    texts = {}
    for child in children:
        text = KEPT.find(context.place(child), context.key(child, standings[child.pk]))
        if text is not None:
            texts[child.pk] = text
    return texts


def _made(
    child: Child, standing: StandingKey, stored: Mapping[str, Any], context: _RowContext
) -> RowText:
    """Made, and kept by what was read: it may be newer than what was looked for."""
    names = Names(child.called, context.ladders.named_on(standing.read_on), standing.read_on)
    text = _row_text(
        from_json(stored, names.ladder.engine), names, context.facts_of(child), context
    )
    KEPT.keep(context.place(child), context.key(child, standing), text)
    return text


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


@prepared
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


def _row_text(reading: StoredReading, names: Names, facts: Facts, context: _RowContext) -> RowText:
    stage = _stage_for_a_person(reading, facts) or stage_to_show(reading)
    paused, code = reading.paused_since, stage.stage.code
    state = "paused" if paused else stage.state
    last = facts.review(code)
    if paused:
        holds = facts.how_long_paused(names, paused.isoformat())
        more = facts.why_paused(names, paused.isoformat())
    else:
        holds, more = _holds(stage, state, reading, names, last)
    causes = [cause for other in reading.stages for cause in other.causes]
    return RowText(
        stage=names.stage(code),
        code=code,
        day=names.day,
        state=state,
        score=None if paused else stage.score,
        holds=holds,
        more=more,
        waits=_waits(state, last, names.day, context),
        back=any(names.day - cause.day <= WEEK for cause in causes),
        lapsed=any(cause.code == "away" for cause in causes),
        hurts="" if paused else facts.hurts_today(names),
    )


def _stage_for_a_person(reading: StoredReading, facts: Facts) -> StageReading | None:
    """The highest stage for review, or recommended for a harder surface: it needs a person
    before anything else does."""
    waiting = []
    for stage in reading.stages:
        last = facts.review(stage.stage.code)
        recommended = last is not None and last.word == Decision.Kind.RECOMMEND
        if stage.state == "for-review" or (stage.state == "open" and recommended):
            waiting.append(stage)
    return waiting[-1] if waiting else None


def _holds(
    stage: StageReading,
    state: str,
    reading: StoredReading,
    names: Names,
    last: Event | None,
) -> tuple[str, str]:
    """What holds the child, in a line or two."""
    match state:
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


def _waits(state: str, last: Event | None, today: datetime.date, context: _RowContext) -> str:
    """Whose decision is waited for: "you", "recommendation", "other", or "" for none.

    A director signs what somebody else recommended.
    """
    if state not in ("for-review", "open"):
        return ""
    if last is not None and last.word == Decision.Kind.RECOMMEND:
        return "you" if context.decides and last.by_id != context.staff.pk else "other"
    signed = last is not None and last.word == Decision.Kind.SIGN and last.day == today
    return "recommendation" if state == "for-review" and not signed else ""
