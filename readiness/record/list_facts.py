"""What lists show of a child: columns of the standing, written with it."""

import datetime
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from django.db.models import QuerySet

from readiness.engine.reading import (
    FOR_REVIEW,
    OPEN,
    PAUSED,
    ChildReading,
    StageReading,
    stage_to_show,
)
from readiness.engine.reading_json import list_as_json
from readiness.engine.replay.next_step import Tap
from readiness.models import Decision
from studio.db.prepared import prepared

RECOMMENDATION, SIGNATURE = "recommendation", "signature"

# What was decided last of each stage: the kind and the day.
Reviews = Mapping[str, tuple[str, datetime.date]]


class ListFacts(NamedTuple):
    """The columns by name; models.Standing says what each is."""

    stage: str
    state: str
    score: int | None
    holding: str
    waits_for: str
    fell_on: datetime.date | None
    away: bool
    listed: str


def list_facts(
    reading: ChildReading,
    reviews: Reviews,
    untapped: Sequence[Tap],
    given: Iterable[tuple[str, int]] = (),
) -> ListFacts:
    """Of one child: the stage that waits for a person, else the one that matters most now.
    ``untapped``: steps that were given before a tap was asked for; ``given``: on this day."""
    stage = _stage_for_a_person(reading, reviews) or stage_to_show(reading)
    is_paused, holding = reading.is_held, stage.holding
    causes = [cause for other in reading.stages for cause in other.causes]
    return ListFacts(
        stage=stage.stage.code,
        state=PAUSED if is_paused else stage.state,
        score=None if is_paused else stage.score,
        holding=holding.gate.code if holding else "",
        waits_for="" if is_paused else _waits_for(stage, reading.day, reviews),
        fell_on=max((cause.day for cause in causes), default=None),
        away=bool(stage.causes) and stage.causes[-1].code == "away",
        listed=json.dumps(
            {
                **list_as_json(reading, stage),
                "untapped": [(tap.drill, tap.support) for tap in untapped],
                "given": sorted(given),
                "consent": reading.state.consent,
                "waiting": _waiting(reading, reviews),
            },
            separators=(",", ":"),
        ),
    )


def _waiting(reading: ChildReading, reviews: Reviews) -> list[tuple[str, str]]:
    """Every stage that waits for a person, by code, and for what; none of a paused child."""
    if reading.paused_since is not None:
        return []
    waits = (
        (stage.stage.code, _waits_for(stage, reading.day, reviews)) for stage in reading.stages
    )
    return [(code, waits_for) for code, waits_for in waits if waits_for]


def _stage_for_a_person(reading: ChildReading, reviews: Reviews) -> StageReading | None:
    """The highest stage for review, or recommended for a harder surface: it needs a person
    before anything else does."""
    waiting = [
        stage
        for stage in reading.stages
        if stage.state == FOR_REVIEW
        or (stage.state == OPEN and _is_recommended(stage.stage.code, reviews))
    ]
    return waiting[-1] if waiting else None


def _is_recommended(stage: str, reviews: Reviews) -> bool:
    return stage in reviews and reviews[stage][0] == Decision.Kind.RECOMMEND


def _waits_for(stage: StageReading, day: datetime.date, reviews: Reviews) -> str:
    code = stage.stage.code
    if stage.state in (FOR_REVIEW, OPEN) and _is_recommended(code, reviews):
        return SIGNATURE
    signed_today = code in reviews and is_signed_on(*reviews[code], day)
    return RECOMMENDATION if stage.state == FOR_REVIEW and not signed_today else ""


def is_signed_on(kind: str, decided_on: datetime.date, day: datetime.date) -> bool:
    """Signed on that very day: what allows less counts from the next one."""
    return kind == Decision.Kind.SIGN and decided_on == day


def latest_reviews(records: Mapping[int, int]) -> dict[int, Reviews]:
    """What was decided last of each stage of each child: recommended, signed, sent back;
    ``records``: each record's child."""
    found: dict[int, dict[str, tuple[str, datetime.date]]] = {c: {} for c in records.values()}
    for key, stage, kind, day in _reviews(list(records)):
        found[records[key]][stage] = kind, day
    return dict(found)


@prepared
def _reviews(children: Sequence[int]) -> "QuerySet[Any, Any]":
    decided = Decision.objects.filter(child__in=children, kind__in=Decision.REVIEWS).order_by(
        "at", "pk"
    )
    return decided.values_list("child_id", "stage", "kind", "day")
