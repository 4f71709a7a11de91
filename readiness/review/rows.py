"""Children in rows, for the review and for a class: the stage that matters most now, and what
holds it.
"""

import datetime
import json
import unicodedata
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import NamedTuple

from django.utils.translation import gettext as _

from readiness.engine.reading import StageReading, StoredReading
from readiness.engine.reading_json import from_json
from readiness.engine.replay.state import Consent
from readiness.models import Decision
from readiness.record.ladders import Ladders
from readiness.record.latest_events import LatestEvent, LatestEvents, latest_events
from readiness.record.list_facts import SIGNATURE
from readiness.record.standings import StandingRow, fresh_standings
from readiness.words.decisions import not_yet_line, review_line
from readiness.words.gates import gates_met, holding_text
from readiness.words.head import head_step_now
from readiness.words.names import Names
from readiness.words.pauses import hurts_today_short, pause_ends, paused_until_lifted, why_paused
from readiness.words.re_check import (
    Given,
    brings_back_short,
    has_begun_back,
    re_check_causes,
    yes_is_due,
)
from readiness.words.stages import stage_notes
from readiness.words.turns import turn_text
from studio import access
from studio.models import Child, ClassGroup, Staff
from studio.people.class_lists import classes_of, in_class
from studio.people.consent_words import answer_word
from studio.people.consents import YES
from studio.people.family import children_of_family
from studio.people.told_apart import name_classes, tell_apart

# "This week": the last seven days.
WEEK = datetime.timedelta(days=7)

# The states in which turns with hands near, or a signature, are what comes next.
NEXT_STEP = {"for-review", "re-check"}

ORDER = ["for-review", "re-check", "paused", "closed", "open"]


class Waiting(NamedTuple):
    """A stage that waits for a person, and for what, in a line; asked_at: when it was
    recommended, None if it was not; not_yet: what a director said last, empty if nothing."""

    code: str
    stage: str
    line: str
    asked_at: datetime.datetime | None
    not_yet: str


class RowText(NamedTuple):
    """What a row says: the stage that matters most now, and what holds it, in two lines at most.

    waits: it waits for somebody's decision. waiting: every stage that does. back: went to
    re-check this week. lapsed: long without a turn, and not on the way back yet. few: nothing but
    too few turns holds it. hurts: what hurts today. untapped: steps that were given before a tap
    was asked for. yes_due: a step of the way back waits for somebody's yes. consent: that the next
    step needs a guardian's yes first. after_head: on the way back after a head knock, and not
    paused otherwise.
    """

    stage: str
    code: str
    day: datetime.date
    state: str
    # How many of the stage's gates are met, and how far that is, 0 to 100; "" and None where
    # nothing is being worked toward.
    toward: str
    score: int | None
    holds: str
    more: str
    waits: str
    waiting: tuple[Waiting, ...]
    back: bool
    lapsed: bool
    few: bool
    hurts: str
    untapped: tuple[str, ...]
    yes_due: bool = False
    consent: str = ""
    after_head: bool = False


class Row(NamedTuple):
    """One child and their classes, and the text of their row."""

    child: Child
    classes: Sequence[ClassGroup]
    text: RowText


def children_of(staff: Staff, today: datetime.date) -> list[Child]:
    """The children this person sees who have not left, by name."""
    since = access.stood_in_since(today)
    visible = access.children_since(staff, since)
    return list(visible.exclude(left_on__lte=today).order_by("search_key", "pk"))


def children_in(group: ClassGroup, today: datetime.date) -> list[Child]:
    """The children of a class who have not left, by name."""
    children = Child.objects.filter(pk__in=in_class(group.pk))
    return list(children.exclude(left_on__lte=today).order_by("search_key", "pk"))


def rows_of(
    children: Sequence[Child], staff: Staff, now: datetime.datetime, ladders: Ladders
) -> list[Row]:
    """A row a child, those that wait for a decision first. Queries do not grow with them."""
    classes = classes_of(children)
    tell_apart(children)
    name_classes(group for groups in classes.values() for group in groups)
    standings = fresh_standings(children, now, ladders, classes)
    decides = access.may_decide(staff)
    context = _RowContext(
        staff,
        decides,
        children_of_family(staff),
        ladders,
        latest_events([child.pk for child in children]),
    )
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
    # Those of the children who are this person's family.
    family: Set[int]
    ladders: Ladders
    events: Mapping[int, LatestEvents]


def _place_in_list(row: Row) -> tuple[int, int, str, int]:
    """Those that wait for a person first, then by state and name."""
    waits = ["you", "recommendation", "other", ""].index(row.text.waits)
    return waits, ORDER.index(row.text.state), alphabetical(row.child.listed), row.child.pk


def alphabetical(name: str) -> str:
    """A key that sorts É after E and before F."""
    return unicodedata.normalize("NFD", name.casefold())


def _row_text(child: Child, standing: StandingRow, context: _RowContext) -> RowText:
    shown, events = standing.facts, context.events[child.pk]
    ladder = context.ladders.named_on(standing.read_on)
    names = Names(child.called, ladder, standing.read_on)
    listed = json.loads(shown.listed)
    reading = from_json(listed, ladder.engine)
    given = {(drill, support) for drill, support in listed.get("given", ())}
    stage, last = reading.stage(shown.stage), events.review(shown.stage)
    paused = reading.paused_since
    if paused:
        lift = events.lift_under_way(names.day)
        holds = pause_ends(lift.by) if lift else paused_until_lifted(names, paused)
        more = why_paused(names, events, paused)
    elif reading.head_step is not None:
        holds, more = head_step_now(reading.head_step), ""
    else:
        holds, more = _holds(stage, reading, names, last, given)
    return RowText(
        stage=names.stage(shown.stage),
        code=shown.stage,
        day=names.day,
        state=shown.state,
        toward="" if shown.score is None else gates_met(stage),
        score=shown.score,
        holds=holds,
        more=more,
        waits=_waits(shown.waits_for, last, child, context),
        # Neither these nor the steps are in what an earlier release stored today.
        waiting=_waiting(listed.get("waiting", ()), names, events),
        back=shown.fell_on is not None and names.day - shown.fell_on <= WEEK,
        lapsed=shown.away and not has_begun_back(stage, reading),
        few=not paused and stage.lacks_only_turns,
        hurts="" if paused else hurts_today_short(names, events),
        untapped=tuple(turn_text(names, *step) for step in listed.get("untapped", ())),
        yes_due=not reading.is_held and yes_is_due(stage, reading, given),
        consent=_lacks_consent(listed.get("consent", "")) if shown.state in NEXT_STEP else "",
        after_head=not paused and reading.head_step is not None,
    )


def _holds(
    stage: StageReading,
    reading: StoredReading,
    names: Names,
    last: LatestEvent | None,
    given: Given,
) -> tuple[str, str]:
    """What holds the child, in a line or two."""
    match stage.state:
        case "for-review":
            review = (last.word, last.by, last.day) if last else ("", "", None)
            return holding_text(names, stage), review_line(names, *review)
        case "open" if last is not None and last.word == Decision.Kind.RECOMMEND:
            return review_line(names, last.word, last.by, last.day), ""
        case "re-check":
            back = brings_back_short(names, stage, reading, given)
            return re_check_causes(names, stage)[-1], back
        case "closed":
            notes = stage_notes(names, stage)
            return holding_text(names, stage), notes[0] if notes else ""
    return "", ""


def _lacks_consent(answer: Consent) -> str:
    """That no guardian has said yes to hands; empty where one has, or none was asked yet."""
    if not answer or answer == YES:
        return ""
    return _("Hands-on spotting: %(answer)s.") % {"answer": answer_word(answer)}


def _waiting(
    stages: Iterable[tuple[str, str]], names: Names, events: LatestEvents
) -> tuple[Waiting, ...]:
    found = []
    for code, waits_for in stages:
        last = events.review(code) if waits_for == SIGNATURE else None
        line = review_line(names, *((last.word, last.by, last.day) if last else ("", "", None)))
        said = events.not_yet(code)
        not_yet = not_yet_line(names, said.by, said.day, said.word) if said else ""
        found.append(Waiting(code, names.stage(code), line, last.at if last else None, not_yet))
    return tuple(found)


def _waits(waits_for: str, last: LatestEvent | None, child: Child, context: _RowContext) -> str:
    """Whose decision is waited for: "you", "recommendation", "other", or "" for none.

    A director signs what somebody else recommended; nobody recommends or signs for their family.
    """
    if waits_for == SIGNATURE:
        by = last.by_id if last is not None else None
        own = by == context.staff.pk or child.pk in context.family
        return "you" if context.decides and not own else "other"
    return "other" if waits_for and child.pk in context.family else waits_for
