"""What the page of one incident shows."""

import datetime
import uuid
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from readiness.child.history import asked_for_of
from readiness.incidents.forms import AccountForm, AdditionForm
from readiness.incidents.words import account_facts, start_text
from readiness.models import IncidentAccount, IncidentAddition, Told
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.told.incidents import Incident, Start, hurt_of
from readiness.words.names import Names
from readiness.words.pauses import told_text
from studio.models import Child, Meeting, Staff
from studio.people.told_apart import who

# So long after it the family is told of it, or of what it led to.
TOLD_WITHIN = datetime.timedelta(days=2)


@dataclass(frozen=True)
class Said:
    """A sentence, with when and by whom."""

    at: datetime.datetime
    by: str
    text: str


def page_context(
    child: Child,
    start: uuid.UUID,
    incident: Incident | None,
    now: datetime.datetime,
    refused: object = None,
) -> dict[str, object]:
    """``incident``: None where nothing is known of it yet; ``refused``: a form that takes the
    place of a new one of its kind. Times are those of the zone that is in force."""
    day = incident.day if incident else timezone.localdate(now)
    ladder = Ladders().named_on(day)
    names = Names(child.called, ladder, day)
    account = incident.account if incident else None
    meeting = _meeting(incident)
    return {
        "child": child,
        "start": incident.id if incident else start,
        "who": who(child, day),
        "day": day,
        "time": account.time if account else None,
        "place": f"{meeting.group.name}, {meeting.hall.name}" if meeting else "",
        "account": account,
        "facts": account_facts(names, account) if account else [],
        "floor": _floor(names, incident),
        "told": _told(names, child, day),
        "before": _before(names, incident),
        "additions": _additions(incident),
        "locked_at": incident.locked_at if incident else None,
        "locked": incident.is_locked(now) if incident else False,
        "account_form": refused
        if isinstance(refused, AccountForm)
        else account_form(ladder, initial=_initial(incident, day)),
        "addition_form": refused if isinstance(refused, AdditionForm) else AdditionForm(),
    }


def account_form(ladder: NamedLadder, *args: Any, **kwargs: Any) -> AccountForm:
    drills = [(key, drill["name"]) for key, drill in ladder.drills.items()]
    surfaces, places = list(ladder.surface_names.items()), list(ladder.pain_names.items())
    return AccountForm(drills, surfaces, places, *args, **kwargs)


def _initial(incident: Incident | None, day: datetime.date) -> dict[str, Any]:
    """As it was written last, or as the floor logged it."""
    if incident is None:
        return {"day": day}
    if account := incident.account:
        columns = ("time", "kind", "support", "mats", "what", "hurt", "first_aid")
        about = {name: getattr(account, name) for name in columns}
        surface = account.surface.key if account.surface else ""
        about |= {"seen": account.pk, "drill": incident.drill, "surface": surface}
        return about | {"day": incident.day}
    turn = incident.turn
    return {
        "day": incident.day,
        "time": timezone.localtime(incident.starts[0].at).time(),
        "kind": incident.kind,
        "hurt": hurt_of(incident),
        "drill": turn.drill if turn else "",
        "surface": turn.surface if turn else "",
        "support": turn.support if turn else None,
    }


def _meeting(incident: Incident | None) -> Meeting | None:
    keys = [start.meeting for start in incident.starts] if incident else []
    meetings = Meeting.objects.filter(pk__in=[key for key in keys if key is not None])
    return meetings.select_related("group__location", "location").order_by("pk").first()


def _floor(names: Names, incident: Incident | None) -> list[Said]:
    starts: list[Start] = list(incident.starts) if incident else []
    people = Staff.objects.in_bulk({start.by for start in starts})
    return [Said(each.at, people[each.by].called, start_text(names, each)) for each in starts]


def _told(names: Names, child: Child, day: datetime.date) -> list[Said]:
    """What the family was told on the day and soon after."""
    rows = Told.objects.filter(
        child__in=child.records, day__gte=day, day__lte=day + TOLD_WITHIN
    ).select_related("by", "asked_for")
    return [
        Said(each.at, each.by.called, told_text(names, each.about, each.whom, asked_for_of(each)))
        for each in rows.order_by("at", "pk")
    ]


def _before(names: Names, incident: Incident | None) -> list[tuple[IncidentAccount, Any]]:
    """As it was written before, the last first."""
    accounts = list(incident.accounts[:-1]) if incident else []
    return [(each, account_facts(names, each)) for each in reversed(accounts)]


def _additions(incident: Incident | None) -> list[Said]:
    accounts = incident.accounts if incident else []
    rows = IncidentAddition.objects.filter(account__in=[each.pk for each in accounts])
    ordered = rows.select_related("by").order_by("at", "pk")
    return [Said(each.at, each.by.called, each.text) for each in ordered]
