"""What a hall has for stations, the plans that were taken, and the rotations that were begun. All
are only added to.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.db.models import Q

from progression.models import Drill
from studio.models import Child, Location, Meeting, Staff


class HallEquipment(models.Model):
    """How many of a thing a hall has. The latest of a thing counts. ``thing``: the key of an
    equipment of the ladder, or FLOOR, the places for a station on the floor."""

    FLOOR = "floor-place"

    hall = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="+")
    thing = models.CharField(max_length=40)
    count = models.PositiveSmallIntegerField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["hall", "at"], name="equipment_of_hall")]


class StationPlan(models.Model):
    """The stations of an evening as a coach took them. The last one taken counts, and holds all
    rotations: those before ``start`` as they had been."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="+")
    rotations = models.PositiveSmallIntegerField()
    minutes = models.PositiveSmallIntegerField()
    # Counted from 0.
    start = models.PositiveSmallIntegerField()
    # By station the numbers of its places at the wall, and of those on the floor, from 0.
    places = models.JSONField(default=dict)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class StationPlace(models.Model):
    """A child at a station in a rotation, or an adult who spots or stands there. ``station``: its
    key; the drill, and with how many spotters."""

    plan = models.ForeignKey(StationPlan, on_delete=models.PROTECT, related_name="places_taken")
    rotation = models.PositiveSmallIntegerField()
    station = models.CharField(max_length=50)
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+")
    spotters = models.PositiveSmallIntegerField()
    child = models.ForeignKey(Child, null=True, on_delete=models.PROTECT, related_name="+")
    adult = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(child=None, adult__isnull=False) | Q(child__isnull=False, adult=None),
                name="a_child_or_an_adult",
            ),
            models.UniqueConstraint(fields=["plan", "rotation", "child"], name="child_once_there"),
            models.UniqueConstraint(fields=["plan", "rotation", "adult"], name="adult_once_there"),
        ]


class RotationBegun(models.Model):
    """A rotation of the evening's stations began, by a coach's tap. The latest counts; the one
    after the last of the plan: stations are over."""

    id = models.UUIDField(primary_key=True)
    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="+")
    # Counted from 1, as it was tapped.
    number = models.PositiveSmallIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    digest = models.CharField(max_length=64)


class WallScreen(models.Model):
    """Whether a hall wants its stations on a screen that everybody in it can read. The latest
    counts; without one it does not."""

    hall = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="+")
    wanted = models.BooleanField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
