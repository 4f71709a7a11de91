"""The show list's tables: a show, its numbers, and who does what in them. All are only added to: a
show of another day or on another floor is another show.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from progression.models import Drill, Surface
from studio.models import Child, ClassGroup, Location, Staff


class Show(models.Model):
    """One show: its day, its floor, and the shoes that are worn on it."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=80)
    on = models.DateField(db_column="on_day")
    surface = models.ForeignKey(Surface, on_delete=models.PROTECT, related_name="+")
    shoes = models.CharField(max_length=80)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class ShowNumber(models.Model):
    """A class's number with one skill in it, and what a child does there instead at any time."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    show = models.ForeignKey(Show, on_delete=models.PROTECT, related_name="numbers")
    name = models.CharField(max_length=80)
    group = models.ForeignKey(ClassGroup, on_delete=models.PROTECT, related_name="+")
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+")
    easy = models.CharField(max_length=400)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class Wings(models.Model):
    """Who stands in the wings at a number; the latest counts."""

    number = models.ForeignKey(ShowNumber, on_delete=models.PROTECT, related_name="wings")
    adult = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class RunThrough(models.Model):
    """A number was run through on the show's floor, in its shoes and costume; over at
    ``ended_at``."""

    number = models.ForeignKey(ShowNumber, on_delete=models.PROTECT, related_name="run_throughs")
    day = models.DateField()
    ended_at = models.DateTimeField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class ShowEntry(models.Model):
    """What was decided, or said on the day, of a child in a number. Of the first four kinds the
    latest counts (record/show/)."""

    class Kind(models.TextChoices):
        EASY = "easy", _("easy version")
        BESIDE = "beside", _("somebody beside")
        RECOMMEND = "recommend", _("recommended")
        YES = "yes", _("signed")
        # On the day of the show.
        FIRST_TURN = "first-turn", _("first turn there, with a coach beside")
        OWN_YES = "own-yes", _("the child’s own yes")

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    number = models.ForeignKey(ShowNumber, on_delete=models.PROTECT, related_name="entries")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    # The recommendation that a yes answers: answered once.
    answers = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="answer"
    )
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    day = models.DateField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="yes") | Q(answers__isnull=False),
                name="show_yes_answers_a_recommendation",
            ),
        ]
