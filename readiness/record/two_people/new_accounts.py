"""Whoever can make an account could be both of two people. So an account made, given another role,
given a new password or let in again today neither recommends, nor signs, nor counts as grader for a
signature, nor confirms what somebody else graded. Where a director did that to it on the page, she
and the account count as one person for seven days more.
"""

import datetime
from collections.abc import Iterable

from django.db.models import QuerySet

from progression.models import Confirmation
from readiness.models import DayTally
from readiness.record.standings import Reading
from studio.models import AccountChange, Staff
from studio.people.today import zone_of

What = AccountChange.What
# After any of these somebody else than its owner may have the account in hand.
IN_HAND = (What.MADE, What.ROLE, What.PASSWORD, What.BACK)
# So long whoever did it on the page, and the account, are one person.
ONE_PERSON_FOR = datetime.timedelta(days=7)


def changed_since(moment: datetime.datetime) -> QuerySet[AccountChange]:
    return AccountChange.objects.filter(what__in=IN_HAND, at__gte=moment)


def one_person(staff: Iterable[Staff], now: datetime.datetime) -> bool:
    """Whether two of these may be the same person: one has the other in hand, or somebody both,
    themselves or by way of others."""
    lately = changed_since(now - ONE_PERSON_FOR).exclude(by=None)
    steps = set(lately.values_list("staff_id", "by_id"))
    seen: set[int] = set()
    for each in staff:
        behind = {each.pk}
        while more := {by for account, by in steps if account in behind} - behind:
            behind |= more
        if behind & seen:
            return True
        seen |= behind
    return False


def gate_drills(reading: Reading, stage: str) -> set[str]:
    """The drills on whose turns a stage is signed."""
    return {drill for gate in reading.ladder.engine.stage[stage].gates for drill in gate.drills}


def too_new(reading: Reading, drills: Iterable[str], recommender: Staff, signer: Staff) -> str:
    """The code of what stands in the way of a signature on turns at these drills today, or
    nothing."""
    zone = zone_of(reading.child)
    midnight = datetime.datetime.combine(reading.read.day, datetime.time(), zone)
    new = changed_since(midnight).values("staff")
    if Staff.objects.filter(pk__in=new).filter(pk__in=[recommender.pk, signer.pk]).exists():
        return "new-account"
    if recommender != signer and one_person([recommender, signer], midnight):
        return "one-person"
    turns = DayTally.objects.filter(
        child__in=reading.record.keys, drill__key__in=drills, graded__gt=0
    )
    words = Confirmation.objects.filter(
        attempt__child__in=reading.record.keys, attempt__drill__key__in=drills
    )
    if turns.filter(author__in=new).exists() or words.filter(by__in=new).exists():
        return "new-grader"
    for change in changed_since(midnight - ONE_PERSON_FOR).exclude(by=None):
        day, at = change.at.astimezone(zone).date(), change.at
        since = turns.filter(author=change.staff_id, day__gte=day)
        if since.exists() or words.filter(by=change.staff_id, at__gte=at).exists():
            return "grader-in-hand"
    return ""
