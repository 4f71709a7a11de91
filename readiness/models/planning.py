"""Evidence hours, and for which stages classes are meant.

Shared: used through readiness.models.
"""

from django.db import models
from django.db.models import Q

from progression.models import SUPPORTS, Drill, Surface
from studio.models import Child, ClassGroup, Meeting, Staff


class HourChild(models.Model):
    """A child of an evidence hour, which is held at a meeting: turns at a drill, before two
    graders who are told no chance of it. Append-only."""

    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="+")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+")
    surface = models.ForeignKey(Surface, on_delete=models.PROTECT, related_name="+")
    support = models.PositiveSmallIntegerField(choices=SUPPORTS)
    first = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["meeting", "child"], name="once_in_an_hour"),
            models.CheckConstraint(condition=~Q(first=models.F("second")), name="two_graders"),
        ]


class ClassAim(models.Model):
    """For which stages a class is meant, and how many places it has: for the plan of a term."""

    group = models.OneToOneField(ClassGroup, on_delete=models.CASCADE, related_name="+")
    lowest = models.PositiveSmallIntegerField()
    highest = models.PositiveSmallIntegerField()
    places = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(lowest__lte=models.F("highest")), name="aim_from_lowest_to_highest"
            ),
        ]
