"""Before class: what whoever takes it should know of the children, in half a minute.

It goes with the pack, so that it can be read with no network, and says only what the
readings say: nothing is decided here.
"""

import datetime
import uuid
from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _

from progression.models import Attempt
from readiness.engine.growing import is_growing
from readiness.engine.reading import RE_CHECK as RE_CHECK_STATE
from readiness.engine.reading import StageReading
from readiness.engine.replay.near_review import near_review
from readiness.engine.replay.state import ChildState
from readiness.engine.support import asked_about
from readiness.record.standings import Reading
from readiness.words.gates import holding_text
from readiness.words.growing import growing_fast
from readiness.words.head import head_step_now
from readiness.words.names import Names
from readiness.words.numbers import join_words
from readiness.words.pauses import gone_or_still_there, paused_since
from readiness.words.re_check import brings_back_short, re_check_causes

# In this order: what can hurt somebody stands first.
PAUSED, HEAD, CAUTION, NO_CONSENT, RE_CHECK, HURT, BACK, GROWING, FIRST_TURN, NEAR = (
    "paused",
    "head",
    "caution",
    "no-consent",
    "re-check",
    "hurt",
    "back",
    "growing",
    "first-turn",
    "near",
)
ORDER = (PAUSED, HEAD, CAUTION, NO_CONSENT, RE_CHECK, HURT, BACK, GROWING, FIRST_TURN, NEAR)

# A heading, and a sentence.
Entry = tuple[str, str]


def under_headings(entries: Iterable[tuple[uuid.UUID, Iterable[Entry]]]) -> list[dict[str, Any]]:
    """For each heading, in the order of ORDER, the children it is about and a sentence each.

    entries: those of each child, by public id. Headings with no child are left out.
    """
    by_heading: dict[str, list[dict[str, str]]] = {heading: [] for heading in ORDER}
    for child, child_entries in entries:
        for heading, sentence in child_entries:
            by_heading[heading].append({"id": str(child), "says": sentence})
    return [
        {"about": heading, "children": children}
        for heading, children in by_heading.items()
        if children
    ]


def with_caution(caution: str, entries: Iterable[Entry]) -> list[Entry]:
    """What the desk wrote of a child stands with what the record says; it is in no standing."""
    return [*([(CAUTION, caution)] if caution else []), *entries]


def entries_of(reading: Reading, name: str) -> list[Entry]:
    """The entries of one child, by the name of the floor page."""
    names = Names(name, reading.ladder, reading.read.day)
    state = reading.read.state
    if state.paused_since is not None:
        return [(PAUSED, paused_since(names, state.paused_since))]
    return [
        *([] if state.head_step is None else [(HEAD, head_step_now(state.head_step))]),
        *_no_consent(reading),
        *_on_re_check(reading, names),
        *_hurt_last_time(reading, names),
        *_back(reading, names),
        *_growing(reading),
        *_first_turns(reading, names),
        *_near(reading, names),
    ]


def _no_consent(reading: Reading) -> list[Entry]:
    if reading.read.state.consent not in ("no", "not-asked"):
        return []
    return [(NO_CONSENT, _("No yes to hands. Shapes, holds, wall work."))]


def _on_re_check(reading: Reading, names: Names) -> list[Entry]:
    stages = [stage for stage in reading.read.stages if stage.state == RE_CHECK_STATE]
    if not stages:
        return []
    causes = [
        _what_happened(reading, names, stage) or re_check_causes(names, stage)[-1]
        for stage in stages
    ]
    given = reading.given_today
    now = [_sentence(brings_back_short(names, stage, reading.read, given)) for stage in stages]
    return [(RE_CHECK, " ".join(dict.fromkeys([*causes, *now])))]


def _what_happened(reading: Reading, names: Names, stage: StageReading) -> str:
    """What was seen, where a stop sign sent the stage to re-check; empty for another cause."""
    cause = stage.causes[-1]
    if cause.code != "stop-sign":
        return ""
    turns = Attempt.objects.filter(
        child__in=reading.record.keys, day=cause.day, drill__key__in=stage.stage.skills
    ).unstruck()
    seen: dict[str, dict[str, None]] = {}
    for drill, caught, faults in turns.order_by("done_at", "pk").values_list(
        "drill__key", "caught", "faults"
    ):
        stops = [key for key in faults if reading.ladder.engine.stops.get(key, "no") != "no"]
        words = [_("caught")] if caught else []
        # Without what stands in brackets: half a minute is short.
        words += [reading.ladder.faults[key]["sees"].partition(" (")[0] for key in stops]
        seen.setdefault(drill, {}).update(dict.fromkeys(words))
    form = _("%(drill)s: %(seen)s, %(day)s.")
    return " ".join(
        form % {"drill": names.drill(drill), "seen": "; ".join(words), "day": names.date(cause.day)}
        for drill, words in seen.items()
        if words
    )


def _hurt_last_time(reading: Reading, names: Names) -> list[Entry]:
    """What hurt before and stays out until somebody has asked; by a ladder that does not ask,
    what hurt when the child was last here, or since."""
    day, state = reading.read.day, reading.read.state
    if reading.ladder.engine.pain_ask:
        asked = asked_about(state, reading.ladder.engine).items()
        questions = [gone_or_still_there(names, place, on) for place, on in asked]
        return [(HURT, " ".join(questions))] if questions else []
    last = reading.evidence.last_day_of_all(day - datetime.timedelta(days=1))
    places = _places_since(state, last, day)
    if not places:
        return []
    named = join_words([reading.ladder.pain_names.get(place, place) for place in places])
    return [(HURT, _("%(places)s. Ask again before anything else.") % {"places": named})]


def _places_since(state: ChildState, last: datetime.date | None, day: datetime.date) -> list[str]:
    places = [place for then, place in state.pains if then < day and (last is None or then >= last)]
    return list(dict.fromkeys(places))


def _back(reading: Reading, names: Names) -> list[Entry]:
    """So long without a turn that the skills' own rule of absence counts."""
    day = reading.read.day
    last = reading.evidence.last_day_of_all(day - datetime.timedelta(days=1))
    if last is None or (day - last).days <= reading.ladder.engine.way_back.away_days:
        return []
    return [(BACK, _("Last turn on %(day)s.") % {"day": names.date(last)})]


def _growing(reading: Reading) -> list[Entry]:
    if not is_growing(reading.read.state, reading.ladder.engine):
        return []
    return [(GROWING, growing_fast())]


def _first_turns(reading: Reading, names: Names) -> list[Entry]:
    """Skills whose first turn of the day is held although they are open without."""
    drills_held = {
        entry.drill: entry.allowed.support
        for entry in reading.read.support
        if entry.allowed.causes in (("first-turn",), ("until-clean",))
    }
    if not drills_held:
        return []
    drills = join_words([names.drill(drill) for drill in drills_held])
    return [(FIRST_TURN, _("%(drills)s.") % {"drills": drills})]


def _near(reading: Reading, names: Names) -> list[Entry]:
    entries = []
    for stage, _unmet in near_review(reading.read, reading.evidence, reading.ladder.engine):
        values = {"stage": names.stage(stage.stage.code), "holds": holding_text(names, stage)}
        entries.append((NEAR, _("%(stage)s: %(holds)s.") % values))
    return entries


def _sentence(words: str) -> str:
    return words if words.endswith(".") else f"{words}."
