"""What people tell of a child, and what its family was told.

Shared: used through readiness.models.
"""

from django.db import models
from django.utils.translation import gettext_lazy as _

from studio.db.erasable import ErasableChar
from studio.models import Child, Meeting, Staff


class Report(models.Model):
    """What somebody told of a child, on the floor or on the child's page (then of no meeting):
    who wrote it down, and when. Never counted as a turn."""

    id = models.UUIDField(primary_key=True)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    meeting = models.ForeignKey(Meeting, null=True, on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    digest = models.CharField(max_length=64)

    class Meta:
        abstract = True


class Pain(Report):
    """Something hurts, and where."""

    place = models.CharField(max_length=20)


class PainGone(Report):
    """What hurt on an earlier day does so no longer."""

    place = models.CharField(max_length=20)


class Growing(Report):
    """The child grows fast, or (``ends``) no longer; whose word it was, if not one's own eyes'."""

    ends = models.BooleanField(default=False)
    said_by = ErasableChar(max_length=80, default="")


class NoHands(Report):
    """The child said "no hands tonight": no reason is asked, and nothing is counted against the
    child. Taken back by a strike of its id."""


class Fell(Report):
    """The child fell; what hurts after it is told apart. Taken back by a strike of its id."""


class Told(Report):
    """The family was told: about what (a place that hurts, a fall, a stop sign), and whom."""

    about = models.CharField(max_length=20)
    # A code of the floor page, or who it was.
    whom = ErasableChar(max_length=80)


class AskedFor(models.Model):
    """Whom the family asked for when it was told of something. Append-only."""

    told = models.OneToOneField(Told, on_delete=models.PROTECT, related_name="asked_for")
    whom = ErasableChar(max_length=80)


class NotTonight(Report):
    """The child said "not tonight", in confidence: for staff, never for the family or a letter;
    nothing is counted against the child."""


class Elsewhere(Report):
    """The child has private lessons, or tumbles elsewhere too, or (``ends``) no longer; whose word
    it was. What is landed on there is in no count."""

    class Kind(models.TextChoices):
        PRIVATE = "private", _("private lessons")
        ELSEWHERE = "elsewhere", _("tumbles elsewhere too")

    kind = models.CharField(max_length=10, choices=Kind.choices)
    ends = models.BooleanField(default=False)
    said_by = ErasableChar(max_length=80, default="")
