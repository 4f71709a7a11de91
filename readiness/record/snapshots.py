"""What somebody had before them when they decided: a decision is refused if it has changed since.

Shared: used by the decisions and by the pages that offer them.
"""

from dataclasses import dataclass

from readiness.engine.reading_json import stage_as_json
from readiness.models import Decision, Placing
from readiness.record.standings import Reading, digest_of
from studio.models import Child


@dataclass(frozen=True)
class Snapshot:
    """What somebody had before them: the digest of the reading, the id of the last decision of
    that kind, empty if there was none, and the number of the ladder it was read under."""

    digest: str
    last: str
    ladder: int


def stage_snapshot(reading: Reading, stage: str) -> Snapshot:
    """What a page shows of one stage; the other stages are no part of it."""
    last = last_review(reading.child, stage)
    digest = stage_snapshot_digest(reading, stage)
    return Snapshot(digest, str(last.uuid) if last else "", reading.ladder.number)


def child_snapshot(reading: Reading) -> Snapshot:
    """What a page shows of the whole child, for placing and for lifting a pause."""
    last = Placing.objects.filter(child__in=reading.child.records).order_by("-at", "-pk").first()
    return Snapshot(digest_of(reading.data), str(last.uuid) if last else "", reading.ladder.number)


def stage_snapshot_digest(reading: Reading, stage: str) -> str:
    """The digest of one stage's reading, on its day and under its ladder."""
    return digest_of(stage_json(reading, stage))


def stage_json(reading: Reading, stage: str) -> dict[str, object]:
    return {
        "child": str(reading.child.uuid),
        "day": reading.read.day.isoformat(),
        "ladder": reading.ladder.number,
        "stage": stage_as_json(reading.read.stage(stage), reading.read),
    }


def last_review(child: Child, stage: str) -> Decision | None:
    """The last recommendation of a stage, or answer to one, or its closing."""
    reviews = Decision.REVIEWS
    decided = Decision.objects.filter(child__in=child.records, stage=stage, kind__in=reviews)
    return decided.select_related("by", "surface").order_by("-at", "-pk").first()
