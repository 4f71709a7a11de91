"""What was decided and reported of children last, and what holds a whole child now: a pause, its
lift, something that hurts today.

Shared: used by the review's rows, the child's page and the evidence page.
"""

import datetime
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import Case, CharField, QuerySet, Value, When
from django.db.models.functions import Cast

from readiness.models import Decision, Pain, Pause, PauseLift
from studio.db.prepared import prepared
from studio.people.records import records_of


class LatestEvent(NamedTuple):
    """``word`` is the decision's kind, the reason of a pause or a lift, or the place that hurts;
    ``by``: the name of whoever did it."""

    word: str
    by_id: int
    by: str
    at: datetime.datetime
    day: datetime.date


@dataclass(frozen=True)
class LatestEvents:
    """The latest event of a child by kind and stage; the stage is empty where it is of none."""

    by_kind: Mapping[tuple[str, str], LatestEvent]
    # Every pain: the place and the day, oldest first.
    pains: Sequence[tuple[str, datetime.date]] = ()

    def review(self, stage: str) -> LatestEvent | None:
        return self.by_kind.get(("review", stage))

    def not_yet(self, stage: str) -> LatestEvent | None:
        """Why the stage was not signed, where nothing was signed or closed since; ``word`` is the
        reason. It stands also when the stage is recommended again: that is what to look for."""
        said, settled = (self.by_kind.get((kind, stage)) for kind in ("not-yet", "settled"))
        return said if said and (settled is None or settled.at < said.at) else None

    def pause_since(self, since: datetime.date) -> LatestEvent | None:
        """The pause that somebody ordered, of a child who is paused since then; None: for pain."""
        pause = self._latest("pause")
        return pause if pause is not None and pause.day >= since else None

    @property
    def pain(self) -> LatestEvent | None:
        return self._latest("pain")

    def lift_under_way(self, day: datetime.date) -> LatestEvent | None:
        """The lift of this day that ends the pause tomorrow, if nothing has paused since."""
        lift = self._latest("lift")
        if lift is None or lift.day != day:
            return None
        later = [event for event in (self._latest("pause"), self.pain) if event is not None]
        return None if any(event.at > lift.at for event in later) else lift

    def _latest(self, kind: str) -> LatestEvent | None:
        return self.by_kind.get((kind, ""))


def latest_events(children: Sequence[int]) -> defaultdict[int, LatestEvents]:
    """By child; nothing for those of whom nothing was decided or reported."""
    records = records_of(children)
    events: dict[int, dict[tuple[str, str], LatestEvent]] = defaultdict(dict)
    pains: dict[int, list[tuple[str, datetime.date]]] = defaultdict(list)
    for kind, key, stage, word, by_id, *name, at, day, _pk in sorted(
        _events(list(records)), key=_time_order
    ):
        events[records[key]][kind, stage] = LatestEvent(word, by_id, full_name(*name), at, day)
        if kind == "pain":
            pains[records[key]].append((word, day))
    found = defaultdict[int, LatestEvents](lambda: LatestEvents({}))
    found.update({child: LatestEvents(events[child], pains[child]) for child in events})
    return found


# Of the answers to a recommendation: "not yet", and those that end it.
NOT_YET = (Decision.Kind.SEND_BACK, Decision.Kind.STAYS)
SETTLED = (Decision.Kind.SIGN, Decision.Kind.CLOSE)


@prepared
def _events(children: Sequence[int]) -> "QuerySet[Any, Any]":
    """In one query, from four tables."""
    none = Value("", CharField())
    reviews = Decision.objects.filter(kind__in=Decision.REVIEWS)
    answers = Decision.objects.filter(kind__in=[*NOT_YET, *SETTLED])
    answer = Case(When(kind__in=NOT_YET, then=Value("not-yet")), default=Value("settled"))
    first, *others = (
        events.filter(child__in=children).values_list(
            kind, "child_id", stage, word, "by_id",
            "by__first_name", "by__last_name", "by__username", "at", "day",
            Cast("pk", CharField()),
        )
        for kind, events, stage, word in (
            (Value("review", CharField()), reviews, "stage", "kind"),
            (answer, answers, "stage", "reason"),
            (Value("pause", CharField()), Pause.objects.all(), none, "reason"),
            (Value("pain", CharField()), Pain.objects.all(), none, "place"),
            (Value("lift", CharField()), PauseLift.objects.all(), none, "reason"),
        )
    )  # fmt: skip
    return first.union(*others, all=True)


def _time_order(row: tuple[Any, ...]) -> tuple[datetime.datetime, int, str]:
    """By time, then in the order in which they were written down."""
    *_, at, _day, pk = row
    return at, len(pk), pk


def full_name(first: str, last: str, username: str) -> str:
    return f"{first} {last}".strip() or username
