"""Who is trained to spot what, and the studio's own numbers for it. All are only added to: the
latest counts.

Shared: used through readiness.models.
"""

from django.db import models
from django.db.models import Q

from progression.models import Drill
from studio.models import Staff


class SpotterTraining(models.Model):
    """Somebody was trained to spot a drill, until a last day. age: in whole years on ``day``, on
    which it was written down."""

    staff = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="spotter_trainings")
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+")
    trained_by = models.CharField(max_length=80)
    until = models.DateField()
    age = models.PositiveSmallIntegerField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    at = models.DateTimeField()


class YoungestSpotter(models.Model):
    """How old, in whole years, whoever spots a drill is at least."""

    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+")
    years = models.PositiveSmallIntegerField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class RoomNumbers(models.Model):
    """How many children there are at most to an adult who does not spot: usually, while
    handsprings are held, and with children under 7."""

    usual = models.PositiveSmallIntegerField()
    handsprings = models.PositiveSmallIntegerField()
    small = models.PositiveSmallIntegerField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(usual__gte=1, handsprings__gte=1, small__gte=1),
                name="one_child_at_least_to_an_adult",
            ),
        ]
