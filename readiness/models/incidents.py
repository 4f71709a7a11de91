"""What happened to a child, as it was written down at the desk.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _

from progression.models import SUPPORTS, Drill, Surface
from studio.db.erasable import ErasableChar
from studio.models import Child, Staff


class IncidentAccount(models.Model):
    """What happened to a child, as somebody wrote it down at the desk. Append-only: within a day
    it is written again as a whole, and the last one counts (record/told/incidents.py).

    ``start``: the id of the floor's first line of it (a fall, a head or a neck, a turn with a
    head that touched or a catch), or one of its own where nothing was tapped.
    """

    class Kind(models.TextChoices):
        FALL = "fall", _("a fall")
        HEAD = "head", _("a head or a neck")
        CAUGHT = "caught", _("a near miss: caught")
        OTHER = "other", _("something else")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    start = models.UUIDField(db_index=True)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    # When it happened: the local day, and the time as far as it is known.
    day = models.DateField()
    time = models.TimeField(null=True)
    drill = models.ForeignKey(Drill, null=True, on_delete=models.PROTECT, related_name="+")
    surface = models.ForeignKey(Surface, null=True, on_delete=models.PROTECT, related_name="+")
    support = models.PositiveSmallIntegerField(null=True, choices=SUPPORTS)
    mats = ErasableChar(max_length=200)
    what = ErasableChar(max_length=1000)
    # The place in the ladder; empty where nothing hurt.
    hurt = models.CharField(max_length=20)
    first_aid = ErasableChar(max_length=500)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class IncidentAddition(models.Model):
    """Something added to an account later. Append-only."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    # The first account of it.
    account = models.ForeignKey(IncidentAccount, on_delete=models.PROTECT, related_name="additions")
    text = ErasableChar(max_length=1000)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
