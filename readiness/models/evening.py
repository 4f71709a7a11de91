"""One evening of a class: that it is over, its hall, what was noted.

Shared: used through readiness.models.
"""

from django.db import models
from django.utils.translation import gettext_lazy as _

from studio.models import Child, Meeting, Staff


class ClassOver(models.Model):
    """A coach said that a class is over for the evening. It may be said again, and turns that come
    later are taken all the same."""

    id = models.UUIDField(primary_key=True)
    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    digest = models.CharField(max_length=64)


class HallReport(models.Model):
    """What somebody said of the hall at a class. Each is undone by its opposite, never taken back:
    the latest one counts (record/told/hall.py)."""

    class Kind(models.TextChoices):
        SPOTTER_GONE = "spotter-gone", _("spotter gone")
        SPOTTER_BACK = "spotter-back", _("spotter is back")
        MATS_LOOKED_AT = "mats-looked-at", _("mats looked at")
        MAT_BROKEN = "mat-broken", _("mat broken")
        MAT_MENDED = "mat-mended", _("mat mended")

    id = models.UUIDField(primary_key=True)
    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=16, choices=Kind.choices)
    # The surface's key in the ladder, of a mat that is broken or mended.
    surface = models.CharField(max_length=40, default="")
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    digest = models.CharField(max_length=64)


class ReadyNote(models.Model):
    """A note that the studio keeps ready for the floor, in the order of the list."""

    text = models.CharField(max_length=60)


class Note(models.Model):
    """Something seen of a child at a class, or in one turn of it. Families may read it. No part of
    the log: it is erased after 13 months (notes/keeping.py)."""

    id = models.UUIDField(primary_key=True)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="+")
    # The id of a turn, which may not have come in yet.
    turn = models.UUIDField(null=True)
    text = models.CharField(max_length=200)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    day = models.DateField(db_index=True)
    received_at = models.DateTimeField()
