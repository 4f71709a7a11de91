"""Whoever can make an account could be both of two people on the same day. So an account made, or
given another role, today neither recommends, nor signs, nor counts as grader for a signature, nor
confirms what somebody else graded.
"""

import datetime

from django.db.models import QuerySet

from progression.models import Confirmation
from readiness.models import DayTally
from readiness.record.standings import Reading
from studio.models import AccountChange, Staff
from studio.people.today import zone_of


def changed_since(moment: datetime.datetime) -> QuerySet[AccountChange]:
    kinds = AccountChange.What.MADE, AccountChange.What.ROLE
    return AccountChange.objects.filter(what__in=kinds, at__gte=moment)


def too_new(reading: Reading, stage: str, recommender: Staff, signer: Staff) -> str:
    """The code of what stands in the way of a signature today, or nothing."""
    midnight = datetime.datetime.combine(reading.read.day, datetime.time(), zone_of(reading.child))
    new = changed_since(midnight).values("staff")
    if Staff.objects.filter(pk__in=new).filter(pk__in=[recommender.pk, signer.pk]).exists():
        return "new-account"
    drills = {drill for gate in reading.ladder.engine.stage[stage].gates for drill in gate.drills}
    turns = DayTally.objects.filter(
        child__in=reading.record.keys, drill__key__in=drills, graded__gt=0
    )
    words = Confirmation.objects.filter(
        by__in=new, attempt__child__in=reading.record.keys, attempt__drill__key__in=drills
    )
    graded = turns.filter(author__in=new).exists() or words.exists()
    return "new-grader" if graded else ""
