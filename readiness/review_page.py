"""What the review shows: every child in a row, what needs a decision, and the week."""

import datetime
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import CharField, Q, Value
from django.db.models.functions import Cast
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from progression.models import Attempt, LineAside
from readiness.intake import CLOSED, LESS_SUPPORT, PAIN, PAUSED
from readiness.ladders import Ladders, NamedLadder
from readiness.models import DayTally, Decision, FaultTally, Pain, Pause, PauseLift
from readiness.refold import Touched
from readiness.standings import current, with_halls
from readiness.words import LESS, Words, all_stages, count_word, stage_to_show
from studio import access
from studio.models import Child, ClassGroup, Staff

# "This week": the last seven days.
WEEK = datetime.timedelta(days=7)

# The flags of a turn that a director is told of.
TOLD = {LESS_SUPPORT, PAUSED, CLOSED, PAIN}

ORDER = ["for-review", "re-check", "paused", "closed", "open"]


@dataclass(frozen=True)
class Row:
    """One child: the stage that matters most now, and what holds it, in two lines at most.

    waits: it waits for somebody's decision. back: went to re-check this week. hurts: what was
    told to hurt today.
    """

    child: Child
    classes: list[ClassGroup]
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


@dataclass(frozen=True)
class Told:
    """Something that was decided or told: ``word`` is the decision's kind, the reason of a
    pause, or the place that hurts; ``by``: the name of who said so."""

    word: str
    by_id: int
    by: str
    at: datetime.datetime
    day: datetime.date


@dataclass(frozen=True)
class Facts:
    """What the rows need beside the readings, by child: the latest of each."""

    reviews: Mapping[tuple[int, str], Told]
    pauses: Mapping[int, Told]
    pains: Mapping[int, Told]
    lifts: Mapping[int, Told]

    def why_paused(self, child: Child, words: Words, since: str) -> str:
        """What somebody wrote when they paused the child; else what hurt."""
        pause, pain = self.pauses.get(child.pk), self.pains.get(child.pk)
        if pause is not None and pause.day.isoformat() >= since:
            return pause.word
        return words.hurt(pain.word) if pain is not None else ""

    def how_long_paused(self, child: Child, words: Words, since: str) -> str:
        """Since when, and what ends it."""
        lift, told = self.lifts.get(child.pk), [self.pauses.get(child.pk), self.pains.get(child.pk)]
        if lift is None or lift.day != words.day:
            return words.paused_until(since)
        if any(each is not None and each.at > lift.at for each in told):
            return words.paused_until(since)
        return words.pause_ends(lift.by)

    def hurts_today(self, child: Child, words: Words) -> str:
        pain = self.pains.get(child.pk)
        return words.hurt_today(pain.word) if pain and pain.day == words.day else ""


def children_of(staff: Staff, today: datetime.date) -> list[Child]:
    """The children this person sees, with their classes, who have not left."""
    children = access.visible_children(staff, today).exclude(left_on__lte=today)
    return list(children.prefetch_related(with_halls()).order_by("name", "pk"))


def children_in(group: ClassGroup, today: datetime.date) -> list[Child]:
    """The children of a class who have not left."""
    children = group.children.exclude(left_on__lte=today)
    return list(children.prefetch_related(with_halls()).order_by("name", "pk"))


def rows_of(
    children: Sequence[Child], staff: Staff, now: datetime.datetime, ladders: Ladders
) -> list[Row]:
    """A row a child, those that wait for a decision first. Queries do not grow with them."""
    standings, facts = current(children, now, ladders), _facts(children)
    rows = []
    for child in children:
        standing = standings[child.pk]
        named = ladders.named_on(standing.read_on)
        words = Words(child.called, named, standing.read_on)
        rows.append(_row(child, standing.reading, words, facts, staff))
    return sorted(rows, key=_place_in_list)


def _place_in_list(row: Row) -> tuple[int, int, str, int]:
    """Those that wait for a person first, then by state and name."""
    waits = ["you", "recommendation", "other", ""].index(row.waits)
    return waits, ORDER.index(row.state), alphabetical(row.child.called), row.child.pk


def alphabetical(name: str) -> str:
    """A key that sorts É after E and before F."""
    return unicodedata.normalize("NFD", name.casefold())


def _facts(children: Sequence[Child]) -> Facts:
    """In one query, whatever is told in so many tables."""
    kinds = [Decision.Kind.RECOMMEND, Decision.Kind.SIGN, Decision.Kind.SEND_BACK]
    none = Value("", CharField())
    first, *others = (
        rows.filter(child__in=children).values_list(
            Value(table, CharField()), "child_id", stage, word, "by_id",
            "by__first_name", "by__last_name", "by__username", "at", "day",
            Cast("pk", CharField()),
        )
        for table, rows, stage, word in (
            ("reviews", Decision.objects.filter(kind__in=kinds), "stage", "kind"),
            ("pauses", Pause.objects.all(), none, "reason"),
            ("pains", Pain.objects.all(), none, "place"),
            ("lifts", PauseLift.objects.all(), none, "reason"),
        )
    )  # fmt: skip
    found: dict[str, dict[Any, Told]] = defaultdict(dict)
    for table, child, stage, word, by_id, *name, at, day, _pk in sorted(
        first.union(*others, all=True), key=_when_told
    ):
        key = (child, stage) if table == "reviews" else child
        found[table][key] = Told(word, by_id, _full_name(*name), at, day)
    return Facts(found["reviews"], found["pauses"], found["pains"], found["lifts"])


def _when_told(row: tuple[Any, ...]) -> tuple[datetime.datetime, int, str]:
    """By time, then in the order in which they were written down."""
    *_, at, _day, pk = row
    return at, len(pk), pk


def _full_name(first: str, last: str, username: str) -> str:
    return f"{first} {last}".strip() or username


def _row(child: Child, reading: Mapping[str, Any], words: Words, facts: Facts, staff: Staff) -> Row:
    stage = _waiting_stage(reading, facts, child) or stage_to_show(reading)
    paused = reading["paused_since"] is not None
    state = "paused" if paused else stage["state"]
    last = facts.reviews.get((child.pk, stage["code"]))
    if paused:
        holds = facts.how_long_paused(child, words, reading["paused_since"])
        more = facts.why_paused(child, words, reading["paused_since"])
    else:
        holds, more = _holds(stage, state, reading, words, last)
    fallen = [cause for each in all_stages(reading) for cause in each["fallen"]]
    return Row(
        child=child,
        classes=list(child.classes.all()),
        stage=words.stage(stage["code"]),
        code=stage["code"],
        day=words.day,
        state=state,
        score=None if paused else stage["score"],
        holds=holds,
        more=more,
        waits=_waits(state, last, words.day, staff),
        back=any(words.day - datetime.date.fromisoformat(c["day"]) <= WEEK for c in fallen),
        lapsed=any(cause["code"] == "away" for cause in fallen),
        hurts="" if paused else facts.hurts_today(child, words),
    )


def _waiting_stage(
    reading: Mapping[str, Any], facts: Facts, child: Child
) -> Mapping[str, Any] | None:
    """The highest stage for review, or recommended for a harder surface: it needs a person
    before anything else does."""
    found = []
    for stage in all_stages(reading):
        last = facts.reviews.get((child.pk, stage["code"]))
        asked = last is not None and last.word == Decision.Kind.RECOMMEND
        if stage["state"] == "for-review" or (stage["state"] == "open" and asked):
            found.append(stage)
    return found[-1] if found else None


def _holds(
    stage: Mapping[str, Any],
    state: str,
    reading: Mapping[str, Any],
    words: Words,
    last: Told | None,
) -> tuple[str, str]:
    """What holds the child, in a line or two."""
    match state:
        case "for-review":
            said = (last.word, last.by, last.day) if last else ("", "", None)
            return words.holding(stage), words.review_line(*said)
        case "open" if last is not None and last.word == Decision.Kind.RECOMMEND:
            return words.review_line(last.word, last.by, last.day), ""
        case "re-check":
            return words.causes(stage)[-1], words.brings_back_short(stage, reading)
        case "closed":
            notes = words.stage_notes(stage)
            return words.holding(stage), notes[0] if notes else ""
    return "", ""


def _waits(state: str, last: Told | None, today: datetime.date, staff: Staff) -> str:
    """Whose decision is waited for: "you", "recommendation", "other", or "" for none.

    A director signs what somebody else recommended.
    """
    if state not in ("for-review", "open"):
        return ""
    if last is not None and last.word == Decision.Kind.RECOMMEND:
        return "you" if access.may_decide(staff) and last.by_id != staff.pk else "other"
    signed = last is not None and last.word == Decision.Kind.SIGN and last.day == today
    return "recommendation" if state == "for-review" and not signed else ""


def lead(rows: Iterable[Row]) -> str:
    """What needs a decision, in a sentence or a few."""
    rows = list(rows)
    yours = sum(row.waits == "you" for row in rows)
    asked = sum(row.waits == "recommendation" for row in rows)
    back = sum(row.back for row in rows)
    paused = sum(row.state == "paused" for row in rows)
    said = [
        (yours, ngettext("%(n)s child waits for you.", "%(n)s children wait for you.", yours)),
        (
            asked,
            ngettext(
                "%(n)s child waits for a recommendation.",
                "%(n)s children wait for a recommendation.",
                asked,
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
    sentences = [form % {"n": count_word(number)} for number, form in said if number]
    return " ".join(sentences) or _("Nothing waits for you.")


# --- the week ------------------------------------------------------------------------


@dataclass(frozen=True)
class Flagged:
    """Turns of one child, drill and day that the director is told of; ``by``: who logged."""

    child: Child
    day: datetime.date
    what: str
    by: str
    why: str
    turns: int


@dataclass(frozen=True)
class Week:
    """What went wrong, or too fast, in the last seven days; asides: lines set aside."""

    stops: list[Flagged]
    flags: list[Flagged]
    lapsed: list[Row]
    asides: int


def week_of(rows: Sequence[Row], staff: Staff, ladders: Ladders) -> Week:
    """The week of these children; where halls lie in several zones, from the earliest day."""
    children = {row.child.pk: row.child for row in rows}
    lapsed = [row for row in rows if row.lapsed]
    if not rows:
        return Week([], [], lapsed, lines_aside(staff))
    today = min(row.day for row in rows)
    named = ladders.named_on(today)
    return Week(
        stops=_stops(children, named, today),
        flags=_flags(children, named, today),
        lapsed=lapsed,
        asides=lines_aside(staff),
    )


def _stops(
    children: Mapping[int, Child], named: NamedLadder, today: datetime.date
) -> list[Flagged]:
    """Stop signs, with the faults seen that day at that drill, in one query."""
    lately = {"child__in": children, "day__gte": today - WEEK}
    none = Value("", CharField())
    seen = FaultTally.objects.filter(**lately).values_list(
        "child_id", "drill__key", "day", "fault", "count", none, none, none
    )
    stopped = DayTally.objects.filter(**lately, stop_signs__gt=0).values_list(
        "child_id", "drill__key", "day", none, "stop_signs",
        "author__first_name", "author__last_name", "author__username",
    )  # fmt: skip
    faults: dict[Touched, list[str]] = defaultdict(list)
    grouped: dict[Touched, list[tuple[int, str]]] = defaultdict(list)
    rows = seen.union(stopped, all=True)
    for child, drill, day, fault, times, *name in sorted(rows, key=lambda row: (-row[4], row[3])):
        if not fault:
            grouped[child, drill, day].append((times, _full_name(*name)))
        elif named.engine.stops.get(fault, "no") != "no":
            faults[child, drill, day].append(named.faults[fault]["sees"])
    latest = sorted(grouped.items(), key=lambda each: (-each[0][2].toordinal(), each[0]))
    return [
        Flagged(
            child=children[child],
            day=day,
            what=named.drills[drill]["name"] if drill in named.drills else drill,
            by=", ".join(sorted({name for _, name in some})),
            why="; ".join(faults[child, drill, day]) or _("caught by the spotter"),
            turns=sum(times for times, _ in some),
        )
        for (child, drill, day), some in latest
    ]


def _flags(
    children: Mapping[int, Child], named: NamedLadder, today: datetime.date
) -> list[Flagged]:
    """Turns with less support than allowed, while paused, not open, or in pain."""
    attempts = (
        Attempt.objects.filter(child__in=children, day__gte=today - WEEK)
        .exclude(flags=[])
        .unstruck()
        .select_related("drill", "author")
        .order_by("-day", "child", "-done_at", "pk")
    )
    grouped: dict[tuple[int, str, datetime.date, str], list[Attempt]] = defaultdict(list)
    for attempt in attempts:
        told = [flag for flag in attempt.flags if flag in TOLD]
        if not told:
            continue
        words = Words(children[attempt.child_id].called, named, today)
        what = words.turn(attempt.drill.key, attempt.support)
        reasons = [str(LESS[attempt.less_reason])] if attempt.less_reason in LESS else []
        why = ", ".join([*(words.flag(flag) for flag in told), *reasons])
        grouped[attempt.child_id, what, attempt.day, why].append(attempt)
    return [
        Flagged(
            child=children[child],
            day=day,
            what=what,
            by=_names(attempt.author for attempt in some),
            why=why,
            turns=len(some),
        )
        for (child, what, day, why), some in grouped.items()
    ]


def _names(people: Iterable[Staff]) -> str:
    return ", ".join(sorted({person.called for person in people}))


def lines_aside(staff: Staff) -> int:
    """How many lines of one's meetings could not be taken and are kept aside."""
    meetings = access.visible_meetings(staff).values("pk")
    return LineAside.objects.filter(Q(meeting__in=meetings) | Q(sender=staff)).count()


# --- filters -------------------------------------------------------------------------


@dataclass(frozen=True)
class Filters:
    """What is asked for; empty: everything."""

    location: str
    group: str
    state: str

    def in_place(self, row: Row) -> bool:
        """The child belongs to the hall and the class that are asked for."""
        places = {str(group.location_id) for group in row.classes}
        groups = {str(group.uuid) for group in row.classes}
        return (not self.location or self.location in places) and (
            not self.group or self.group in groups
        )

    def keep(self, row: Row) -> bool:
        return self.in_place(row) and (not self.state or self.state == row.state)


def places_of(rows: Iterable[Row]) -> dict[str, object]:
    """The classes and halls of these children, for the filters."""
    groups = {group.pk: group for row in rows for group in row.classes}
    halls = {group.location_id: group.location for group in groups.values()}
    return {
        "classes": sorted(groups.values(), key=lambda g: (g.weekday, g.starts_at, g.pk)),
        "locations": sorted(halls.values(), key=lambda hall: alphabetical(hall.name)),
    }
