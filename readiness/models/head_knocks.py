"""A knock on the head, and the way back after it.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.db.models import Q

from readiness.models.reports import Report
from studio.db.erasable import ErasableChar
from studio.models import Staff


class HeadKnock(Report):
    """A blow to the head, on the floor or elsewhere, with which the way back begins
    (engine/head_steps.py). One of the floor is taken back by a strike of its id."""

    on = models.DateField(db_column="on_day")
    elsewhere = models.BooleanField(default=False)


class AfterKnock(models.Model):
    """What was told or given on the way back after a knock; ``day``: on which. Append-only."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    knock = models.ForeignKey(HeadKnock, on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True


class Symptom(AfterKnock):
    """The child had a symptom on that day; which one is not kept."""

    on = models.DateField(db_column="on_day")


class Clearance(AfterKnock):
    """Somebody cleared the child on that day: the name, never what was found."""

    on = models.DateField(db_column="on_day")
    cleared_by = ErasableChar(max_length=80)


class StepGiven(AfterKnock):
    """A director gave a step on the family's word that there were no symptoms: whose, of which
    day."""

    step = models.PositiveSmallIntegerField()
    said_by = ErasableChar(max_length=80)
    said_on = models.DateField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(step__gte=1, step__lte=6), name="one_of_six_steps"),
        ]
