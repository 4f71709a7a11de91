"""How people grade: drawn figures for practice, a second grade of the same turn, and what was read
off a picture from the side.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.db.models import Q

from progression.models import Attempt, LadderVersion
from studio.models import Staff


class Twelve(models.Model):
    """Twelve drawn figures that somebody is asked to grade. Append-only. The seed, with the rubric
    as this version of the ladder has it, draws the same twelve again."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    ladder = models.ForeignKey(LadderVersion, on_delete=models.PROTECT, related_name="+")
    rubric = models.CharField(max_length=40)
    seed = models.PositiveBigIntegerField()
    at = models.DateTimeField()


class TwelveAnswers(models.Model):
    """The grades that were given, in the order of the figures: for whoever gave them. Append-only,
    once for each twelve."""

    twelve = models.OneToOneField(Twelve, on_delete=models.PROTECT, related_name="answers")
    grades = models.JSONField()
    at = models.DateTimeField()


class SecondGrade(models.Model):
    """What a second coach, who had not seen the first grade, gave for a graded turn. Append-only.
    It says how alike people grade: never a turn, and no evidence of the child."""

    # The database checks no key, so that the log's table can be parted; nothing can leave it.
    attempt = models.ForeignKey(
        Attempt, on_delete=models.DO_NOTHING, related_name="second_grades", db_constraint=False
    )
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    value = models.PositiveSmallIntegerField()
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["attempt", "by"], name="one_second_grade_each"),
            models.CheckConstraint(condition=Q(value__lte=3), name="second_grade_0_to_3"),
        ]


class AttemptAngles(models.Model):
    """Of one turn; the grade that a person gave stands in the turn itself. No picture is kept
    anywhere. What each column holds: progression/log/side_view.py."""

    # The database checks no key, so that the log's table can be parted; nothing can leave it.
    attempt = models.OneToOneField(
        Attempt,
        primary_key=True,
        on_delete=models.DO_NOTHING,
        related_name="angles",
        db_constraint=False,
    )
    picture = models.CharField(max_length=10)
    angles = models.JSONField()
    joints = models.JSONField()
    spread = models.FloatField()
    twice = models.BooleanField()
    suggests = models.PositiveSmallIntegerField()
    chances = models.JSONField()
    received_at = models.DateTimeField()
