"""Who is new and has no turn yet, the stages to choose from, and what placing them does."""

import datetime
import uuid
from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, QuerySet

from progression.models import Attempt
from readiness.models import Placing
from readiness.record import decisions
from readiness.record.ladders import NamedLadder
from readiness.record.snapshots import child_snapshot
from readiness.record.standings import read
from studio import access
from studio.models import Child, Staff
from studio.people.today import local_today


class NoNewcomer(Exception):
    """Somebody has placed this child meanwhile, or logged a turn."""


@dataclass(frozen=True)
class Seen:
    """What holds for all children of one list."""

    by: Staff
    at: datetime.datetime
    surface: str
    reason: str


def newcomers(staff: Staff, today: datetime.date) -> "QuerySet[Child]":
    """Children in one's classes without a turn and without a placing, by name."""
    turns = Attempt.objects.filter(child=OuterRef("pk"))
    placings = Placing.objects.filter(child=OuterRef("pk"))
    children = access.visible_children(staff, today).filter(left_on=None)
    found = children.exclude(birth_year=None).filter(~Exists(turns), ~Exists(placings))
    return found.order_by("search_key", "pk")


def stages_to_choose(ladder: NamedLadder) -> list[tuple[str, str]]:
    """The stages that a director places at; every child begins at the first anyway."""
    return [
        (str(stage.number), f"{stage.number} · {ladder.stage_names[stage.code]}")
        for stage in ladder.engine.stages
        if stage.part_of is None
        and not stage.sign_off
        and 1 < stage.number <= decisions.HIGHEST_PLACING
    ]


def place_all(children: "QuerySet[Child]", stages: Mapping[uuid.UUID, int], seen: Seen) -> int:
    """Place these newcomers, or none of them; how many. Raises NoNewcomer, and DecisionRefused as
    ``decisions.place`` does."""
    found = {child.uuid: child for child in children.filter(uuid__in=stages)}
    if stages.keys() - found.keys():
        raise NoNewcomer
    days = local_today(list(found.values()), seen.at)
    for public_id, child in found.items():
        snapshot = child_snapshot(read(child, days[child.pk]))
        stage = stages[public_id]
        decisions.place(child, stage, seen.by, snapshot, seen.at, seen.surface, seen.reason)
    return len(found)
