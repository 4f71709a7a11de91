"""What happened to children: what the floor logged of it, and what was written down at the desk.

It begins with what is logged anyway: a fall, a head or a neck that hurts, a turn in which the head
touched or the child was caught. The rest is written at the desk, within a day; a day after that
it is locked, and what is known later is added. Shared: used by the pages about it.
"""

import datetime
import logging
import uuid
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import CharField, Exists, F, OuterRef, Q, QuerySet, TextField, Value
from django.db.models.functions import Cast

from progression.models import Attempt, Drill, Strike, Surface
from readiness.models import (
    Fell,
    IncidentAccount,
    IncidentAddition,
    Pain,
)
from readiness.record.decisions import DecisionRefused, refuse_unless
from readiness.record.ladders import Ladders
from readiness.record.told.alerts import alert_classes_of
from readiness.record.told.floor_lines import HEAD
from readiness.record.told.head_knocks import knocks_of, lock_child, tell_knock
from readiness.record.told.on_the_page import store_report
from studio.access import may_report
from studio.models import Child, Staff
from studio.people.records import all_records, root_of

log = logging.getLogger("ladder.decisions")

Kind = IncidentAccount.Kind
# What was logged of one child within so long of each other is one incident.
TOGETHER = datetime.timedelta(minutes=15)
LOCKED_AFTER = datetime.timedelta(days=1)
HEAD_TOUCHES = "head-touches"
# What says more of it comes first.
_WORST = (Kind.HEAD, Kind.FALL, Kind.CAUGHT, Kind.OTHER)


@dataclass(frozen=True)
class Start:
    """One line of the floor. ``place``: where it hurts; the last three are a turn's."""

    id: uuid.UUID
    child: int
    day: datetime.date
    at: datetime.datetime
    kind: str
    by: int
    meeting: int | None
    place: str = ""
    drill: str = ""
    surface: str = ""
    support: int | None = None


@dataclass(frozen=True)
class Incident:
    """``child``: the record that stands for the child; ``accounts``: as it was written, the oldest
    first; one of the two lists may be empty."""

    child: int
    starts: Sequence[Start]
    accounts: Sequence[IncidentAccount] = ()

    @property
    def id(self) -> uuid.UUID:
        return self.accounts[0].start if self.accounts else self.starts[0].id

    @property
    def account(self) -> IncidentAccount | None:
        return self.accounts[-1] if self.accounts else None

    @property
    def day(self) -> datetime.date:
        return self.starts[0].day if self.starts else self.accounts[-1].day

    @property
    def kind(self) -> str:
        """As it was written; else the gravest of what was logged."""
        if self.account:
            return self.account.kind
        return min((start.kind for start in self.starts), key=_WORST.index)

    @property
    def turn(self) -> Start | None:
        return next((start for start in self.starts if start.drill), None)

    @property
    def drill(self) -> str:
        if self.account:
            return self.account.drill.key if self.account.drill else ""
        return self.turn.drill if self.turn else ""

    @property
    def locked_at(self) -> datetime.datetime | None:
        return self.accounts[0].at + LOCKED_AFTER if self.accounts else None

    def is_locked(self, now: datetime.datetime) -> bool:
        return self.locked_at is not None and now >= self.locked_at


def incidents_of(
    children: "QuerySet[Child]", since: datetime.date, until: datetime.date
) -> list[Incident]:
    """Of both days and all between, the newest first."""
    records = all_records(children)
    starts = _starts(records, since, until)
    accounts = IncidentAccount.objects.filter(child__in=records, day__gte=since, day__lte=until)
    found = incidents(starts, _in_order(accounts))
    return sorted(found, key=lambda each: (each.day, str(each.id)), reverse=True)


def incidents(starts: Iterable[Start], accounts: Iterable[IncidentAccount]) -> list[Incident]:
    """Each account is put to the lines that it is of."""
    written: dict[uuid.UUID, list[IncidentAccount]] = defaultdict(list)
    for account in accounts:
        written[account.start].append(account)
    found = []
    for group in together(starts):
        own = [each for start in group for each in written.pop(start.id, [])]
        found.append(Incident(group[0].child, group, sorted(own, key=_when)))
    found += [Incident(own[0].child.root, (), own) for own in written.values()]
    return found


def together(starts: Iterable[Start]) -> Iterator[list[Start]]:
    """Lines of one child and day, in order of time, each soon after the one before."""
    group: list[Start] = []
    for start in sorted(starts, key=lambda each: (each.child, each.day, each.at, str(each.id))):
        last = group[-1] if group else None
        if last and (
            (last.child, last.day) != (start.child, start.day) or start.at - last.at > TOGETHER
        ):
            yield group
            group = []
        group.append(start)
    if group:
        yield group


def incident_of(child: Child, start: uuid.UUID) -> Incident | None:
    """The one with this line or account; None if this child has none such."""
    for table in (IncidentAccount, Fell, Pain, Attempt):
        name = "start" if table is IncidentAccount else "pk"
        rows = table._default_manager.filter(child__in=child.records, **{name: start})
        day = rows.values_list("day", flat=True).first()
        if day is not None:
            of_day = incidents_of(Child.objects.filter(pk=child.root), day, day)
            return next((each for each in of_day if start in _ids(each)), None)
    return None


def hurt_of(incident: Incident) -> str:
    """Where it hurts by what the floor logged: of the incident itself, or soon after it."""
    places = [start.place for start in incident.starts if start.place]
    if places or not incident.starts:
        return places[0] if places else ""
    first, last = incident.starts[0].at, incident.starts[-1].at + TOGETHER
    records = all_records(Child.objects.filter(pk=incident.child))
    said = Pain.objects.filter(_NOT_STRUCK, child__in=records, at__gte=first, at__lte=last)
    return said.order_by("at", "pk").values_list("place", flat=True).first() or ""


def is_anybodys(start: uuid.UUID) -> bool:
    """A line or an account of some child has this id."""
    lines = (table._default_manager.filter(pk=start) for table in (Fell, Pain, Attempt))
    accounts = IncidentAccount.objects.filter(start=start)
    return accounts.exists() or any(rows.exists() for rows in lines)


@transaction.atomic
def write_account(
    child: Child,
    by: Staff,
    now: datetime.datetime,
    start: uuid.UUID,
    seen: uuid.UUID | None,
    **about: Any,
) -> None:
    """What happened, as of now. ``seen``: the account that the writer had before them; ``about``:
    the columns of the account, with the keys of the drill and the surface. What hurts counts as
    if it had been said on the floor: a head or a neck pauses."""
    refuse_unless(may_report(by), "may-not")
    locked, today = lock_child(child, now)
    incident = incident_of(locked, start)
    if incident is None:
        refuse_unless(not is_anybodys(start), "incident-none")
    else:
        refuse_unless(not incident.is_locked(now), "incident-locked")
        start = incident.id
        if incident.starts:
            about["day"] = incident.day
    last = incident.account.pk if incident and incident.account else None
    refuse_unless(seen == last, "incident-changed")
    refuse_unless(about["day"] <= today, "incident-day")
    about["drill"] = Drill.objects.filter(key=about["drill"]).first()
    about["surface"] = Surface.objects.filter(key=about["surface"]).first()
    IncidentAccount.objects.create(start=start, child=locked, by=by, at=now, **about)
    if about["hurt"]:
        _tell_of_pain(locked, by, now, about["hurt"], about["day"], today)
    log.info("incident child=%s start=%s by=%s", locked.uuid, start, by.uuid)


@transaction.atomic
def add_to_account(
    child: Child, by: Staff, now: datetime.datetime, start: uuid.UUID, text: str
) -> None:
    """A row of its own; before it is locked as well."""
    refuse_unless(may_report(by), "may-not")
    locked, _today = lock_child(child, now)
    incident = incident_of(locked, start)
    if incident is None or not incident.accounts:
        raise DecisionRefused("incident-none")
    IncidentAddition.objects.create(account=incident.accounts[0], text=text, by=by, at=now)
    log.info("incident added child=%s start=%s by=%s", locked.uuid, incident.id, by.uuid)


def _tell_of_pain(
    child: Child,
    by: Staff,
    now: datetime.datetime,
    place: str,
    day: datetime.date,
    today: datetime.date,
) -> None:
    """What hurts, unless somebody has said so since; and the knock with it."""
    said = Pain.objects.filter(_NOT_STRUCK, child__in=child.records, place=place, day__gte=day)
    if not said.exists():
        store_report(Pain(place=place), child, by, now, today)
        alert_classes_of(child, today)
    if place == HEAD and not knocks_of(child).filter(on=day).exists():
        tell_knock(child, by, now, day, elsewhere=False)


_NOT_STRUCK = ~Exists(Strike.objects.filter(attempt_id=OuterRef("pk")))


def _starts(
    records: "QuerySet[Child, Any]", since: datetime.date, until: datetime.date
) -> Iterator[Start]:
    about = Q(child__in=records, day__gte=since, day__lte=until)
    pains = Ladders().named_on(until).content["pain"]
    pausing = [pain["place"] for pain in pains if pain["pause"]]
    falls = Fell.objects.filter(_NOT_STRUCK, about)
    hurt = Pain.objects.filter(_NOT_STRUCK, about, place__in=pausing)
    yield from _reported(falls, Kind.FALL, Value("", CharField()))
    yield from _reported(hurt, Kind.HEAD, F("place"))
    turns = Attempt.objects.unstruck().filter(about).annotate(seen=Cast("faults", TextField()))
    yield from _turns(turns.filter(Q(caught=True) | Q(seen__contains=f'"{HEAD_TOUCHES}"')))


def _reported(reports: "QuerySet[Any]", kind: Kind, place: F | Value) -> Iterator[Start]:
    columns = ("pk", root_of("child"), "day", "at", "by_id", "meeting_id", place)
    for id_, child, day, at, by, meeting, where in reports.values_list(*columns):
        yield Start(id_, child, day, at, kind, by, meeting, where)


def _turns(turns: "QuerySet[Attempt]") -> Iterator[Start]:
    columns = ("pk", root_of("child"), "day", "done_at", "author_id", "meeting_id", "faults")
    turn = ("drill__key", "surface__key", "support")
    for id_, child, day, at, by, meeting, faults, *what in turns.values_list(*columns, *turn):
        kind = Kind.HEAD if HEAD_TOUCHES in faults else Kind.CAUGHT
        yield Start(id_, child, day, at, kind, by, meeting, "", *what)


def _in_order(accounts: "QuerySet[IncidentAccount]") -> "QuerySet[IncidentAccount]":
    return accounts.select_related("child", "drill", "surface", "by").order_by("at", "pk")


def _when(account: IncidentAccount) -> tuple[datetime.datetime, str]:
    return account.at, str(account.pk)


def _ids(incident: Incident) -> set[uuid.UUID]:
    starts = {start.id for start in incident.starts}
    return starts | {account.start for account in incident.accounts}
