"""What is read from the log again and again: tallies, standings, and who looked at what.

Shared: used through readiness.models.
"""

from django.db import models

from progression.models import SUPPORTS, Drill, LadderVersion, Surface
from studio.models import Child, Staff


class DayTally(models.Model):
    """The turns of one day, folded: child, drill, surface, support, author and day.

    Never counted up or down: always folded again from that day's unstruck turns.
    """

    # Every turn writes here and pays for each index. The constraint below has the children.
    child = models.ForeignKey(
        Child, on_delete=models.CASCADE, related_name="tallies", db_index=False
    )
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+")
    surface = models.ForeignKey(Surface, on_delete=models.PROTECT, related_name="+", db_index=False)
    support = models.PositiveSmallIntegerField(choices=SUPPORTS)
    author = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+", db_index=False)
    day = models.DateField()
    turns = models.PositiveIntegerField()
    # Hides Model.clean(), which nothing here calls.
    clean = models.PositiveIntegerField()  # type: ignore[assignment]
    graded = models.PositiveIntegerField()
    graded_clean = models.PositiveIntegerField()
    best = models.FloatField(null=True)
    best_graded = models.FloatField(null=True)
    second_graded = models.FloatField(null=True)
    total = models.FloatField(default=0)
    stop_signs = models.PositiveIntegerField()
    first_at = models.DateTimeField()
    first_id = models.UUIDField()
    first_clean = models.BooleanField(null=True)
    first_graded = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["child", "drill", "day", "surface", "support", "author"],
                name="tally_once",
            ),
        ]
        # What some children did lately, however much they did before.
        indexes = [models.Index(fields=["child", "day"], name="tally_child_day")]


class FaultTally(models.Model):
    """How often a fault was seen: child, drill, day."""

    # The constraint below has the children.
    child = models.ForeignKey(
        Child, on_delete=models.CASCADE, related_name="fault_tallies", db_index=False
    )
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+", db_index=False)
    day = models.DateField()
    fault = models.CharField(max_length=40)
    count = models.PositiveIntegerField()

    class Meta:
        constraints = [
            # In this order it finds what was seen lately as well.
            models.UniqueConstraint(
                fields=["child", "day", "drill", "fault"], name="fault_tally_once"
            ),
        ]


class Standing(models.Model):
    """Where a child stood on a day: the whole reading, what lists show of it, and the child's
    part of a class's pack.

    ``start`` is the checkpoint (engine/replay/checkpoint.py) of ``start_on``: from it a day
    is read without the years before; null with nothing on record before that day. Both are
    dropped when something of an earlier day comes in.
    """

    child = models.OneToOneField(Child, on_delete=models.CASCADE, related_name="standing")
    read_on = models.DateField()
    ladder = models.ForeignKey(LadderVersion, on_delete=models.PROTECT, related_name="+")
    reading = models.JSONField()
    digest = models.CharField(max_length=64)
    # Turns or pains have come since; whoever asks next reads again.
    stale = models.BooleanField(default=False)
    # Of whoever is reading at this moment: taken away by what comes in meanwhile.
    reader = models.UUIDField(null=True)
    start = models.JSONField(null=True)
    start_on = models.DateField(null=True)
    # The latest day on which something was decided or told.
    told_on = models.DateField(null=True)
    # What a list shows (record/list_facts.py). No stage: read before these columns were there.
    stage = models.CharField(max_length=60, default="")
    # The stage's, or "paused".
    state = models.CharField(max_length=12, default="")
    score = models.PositiveSmallIntegerField(null=True)
    # The code of the gate that holds the stage; empty where all are met.
    holding = models.CharField(max_length=60, default="")
    # Whose decision comes next: "recommendation", "signature", or empty.
    waits_for = models.CharField(max_length=16, default="")
    # The latest day on which any stage went to re-check.
    fell_on = models.DateField(null=True)
    # Some stage is on re-check for want of turns.
    away = models.BooleanField(default=False)
    # The stage's part of the reading, as JSON: the sentences of a list are made from it.
    listed = models.TextField(default="")
    # The part of a class's pack (floor/pack_part.py) in one language; empty until a class asks.
    pack = models.TextField(default="")
    pack_language = models.CharField(max_length=10, default="")


class Look(models.Model):
    """When somebody who signs last looked at a child's evidence. No part of the record."""

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="+")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="+", db_index=False)
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["child", "staff"], name="one_look_each")]
