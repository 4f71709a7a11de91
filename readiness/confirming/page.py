"""Lists of turns that wait for somebody's word: whose, from whom, of which day."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Count, Exists, Max, OuterRef, Q, QuerySet
from django.utils.functional import Promise as Lazy

from progression.models import Attempt, Confirmation
from readiness.record.ladders import Ladders
from readiness.record.proof.confirming import FOR_DIRECTOR, OTHERS, waiting_for_author
from studio.access import visible_children
from studio.models import Child, Staff
from studio.people.records import all_records, root_of
from studio.people.told_apart import full_names

# So long ago what came in late is told.
TOLD_FOR = datetime.timedelta(days=84)
LIST = ("author_id", "sender_id", "source", "day")


@dataclass(frozen=True)
class Row:
    """A child's turns at one drill."""

    child: str
    drill: str
    turns: int
    clean: int


@dataclass
class TurnList:
    """The turns of one day and author that one person brought in one way."""

    author: Staff
    sender: Staff
    source: str
    day: datetime.date
    until: datetime.datetime
    turns: int = 0
    # Of these: how many are not graded without a director's word, how many are not yet.
    awaited: int = 0
    waiting: int = 0
    # Whether it waits for whoever looks at it.
    mine: bool = True
    rows: list[Row] = field(default_factory=list)

    @property
    def source_text(self) -> str | Lazy:
        return Attempt.Source(self.source).label

    @property
    def fields(self) -> dict[str, str]:
        """What its form sends."""
        return {
            "author": str(self.author.uuid),
            "sender": str(self.sender.uuid),
            "source": self.source,
            "day": self.day.isoformat(),
            "until": self.until.isoformat(),
        }


def own_lists(staff: Staff, today: datetime.date) -> list[TurnList]:
    """What waits for its author, newest day first, child by child."""
    waiting = waiting_for_author(staff).annotate(root=root_of("child"))
    grouped = _grouped(waiting, "root", "drill__key", clean=Q(clean=True))
    rows = list(grouped.order_by("-day", "sender_id", "source", "root", "drill__key"))
    people = _people(rows)
    children = Child.objects.filter(pk__in={row["root"] for row in rows}).order_by("pk")
    names, ladder = full_names(children), Ladders().named_on(today) if rows else None
    lists: dict[tuple[Any, ...], TurnList] = {}
    for row in rows:
        one = lists.setdefault(tuple(row[name] for name in LIST), _list(row, people))
        one.turns += row["turns"]
        one.until = max(one.until, row["until"])
        key = row["drill__key"]
        name = ladder.drills[key]["name"] if ladder and key in ladder.drills else key
        one.rows.append(Row(names[row["root"]], name, row["turns"], row["clean"]))
    return list(lists.values())


def late_lists(staff: Staff, now: datetime.datetime, today: datetime.date) -> list[TurnList]:
    """Who sent what late, of this director's children, newest first."""
    said = Confirmation.objects.filter(OTHERS, attempt=OuterRef("pk"))
    late = Attempt.objects.filter(
        flags__icontains='"late"',
        child__in=all_records(visible_children(staff, today)),
        received_at__gte=now - TOLD_FOR,
    ).unstruck()
    awaited = Q(proof__awaits__in=FOR_DIRECTOR)
    grouped = _grouped(late, awaited=awaited, waiting=awaited & ~Exists(said))
    rows = list(grouped.order_by("-day", "author_id", "sender_id", "source"))
    people, lists = _people(rows), []
    for row in rows:
        one = _list(row, people)
        one.turns, one.awaited, one.waiting = row["turns"], row["awaited"], row["waiting"]
        one.mine = bool(one.waiting) and staff not in (one.author, one.sender)
        lists.append(one)
    return lists


def _grouped(attempts: "QuerySet[Attempt]", *more: str, **counted: Any) -> "QuerySet[Any, Any]":
    counts = {name: Count("pk", filter=condition) for name, condition in counted.items()}
    grouped = attempts.order_by().values(*LIST, *more)
    return grouped.annotate(turns=Count("pk"), until=Max("received_at"), **counts)


def _people(rows: Iterable[dict[str, Any]]) -> dict[int, Staff]:
    return Staff.objects.in_bulk({row[name] for row in rows for name in ("author_id", "sender_id")})


def _list(row: dict[str, Any], people: dict[int, Staff]) -> TurnList:
    author, sender = people[row["author_id"]], people[row["sender_id"]]
    return TurnList(author, sender, row["source"], row["day"], row["until"])
