"""What a hall has for stations.

Shared: used through readiness.models.
"""

from django.db import models

from studio.models import Location, Staff


class HallEquipment(models.Model):
    """How many of a thing a hall has. Append-only: the latest of a thing counts. ``thing``: the key
    of an equipment of the ladder, or FLOOR, the places for a station on the floor."""

    FLOOR = "floor-place"

    hall = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="+")
    thing = models.CharField(max_length=40)
    count = models.PositiveSmallIntegerField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["hall", "at"], name="equipment_of_hall")]
