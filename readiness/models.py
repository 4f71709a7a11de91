"""What the record means: tallies, standings, and the events that people add to it."""

import uuid

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from progression.models import SUPPORTS, Drill, LadderVersion, Surface
from studio.models import Child, Meeting, Staff


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


class Decision(models.Model):
    """Something a coach or a director decided about a child. Append-only.

    It keeps the reading it was made on, that reading's digest and the ladder version.
    """

    class Kind(models.TextChoices):
        RECOMMEND = "recommend", _("recommended")
        SIGN = "sign", _("signed")
        SEND_BACK = "send-back", _("sent back")
        EXCEPTION = "exception", _("exception written")
        STEP = "step", _("less support given")

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(
        Child, on_delete=models.PROTECT, related_name="decisions", db_index=False
    )
    kind = models.CharField(max_length=12, choices=Kind.choices)
    # The stage's code in the ladder: "4", or "9/two-handsprings" for one skill of a stage.
    stage = models.CharField(max_length=60)
    drill = models.ForeignKey(Drill, null=True, on_delete=models.PROTECT, related_name="+")
    surface = models.ForeignKey(Surface, null=True, on_delete=models.PROTECT, related_name="+")
    support = models.PositiveSmallIntegerField(null=True, choices=SUPPORTS)
    # The recommendation that a signature or a sending back answers: answered once.
    answers = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="answer"
    )
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    # A director's rights are those of the moment, whatever the account may do later.
    as_director = models.BooleanField()
    at = models.DateTimeField()
    day = models.DateField()
    reason = models.CharField(max_length=500, blank=True)
    ladder = models.ForeignKey(LadderVersion, on_delete=models.PROTECT, related_name="+")
    reading = models.JSONField()
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="sign") | Q(answers__isnull=False, surface__isnull=False),
                name="signature_answers_a_recommendation",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=["recommend", "sign", "step"]) | ~Q(reason=""),
                name="sending_back_has_a_reason",
            ),
        ]
        indexes = [models.Index(fields=["child", "day"], name="decision_child_day")]


class Placing(models.Model):
    """A director saw a child do it and placed the child at a stage (7 at most)."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="placings")
    stage = models.PositiveSmallIntegerField()
    surface = models.ForeignKey(Surface, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=500)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    day = models.DateField()
    ladder = models.ForeignKey(LadderVersion, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(stage__gte=1, stage__lte=7), name="placed_at_seven_at_most"
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="placing_has_a_reason"),
        ]


class Pause(models.Model):
    """Nobody may tumble this child from ``at`` until the pause is lifted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="pauses")
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    day = models.DateField()


class PauseLift(models.Model):
    """The family (and a clinician, if needed) said yes, a director saw it: pauses end."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="pause_lifts")
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    day = models.DateField()


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
    said_by = models.CharField(max_length=80, default="")


class NoHands(Report):
    """The child said "no hands tonight": no reason is asked, and nothing is counted against the
    child. Taken back by a strike of its id."""


class FamilyTold(Report):
    """The family was told: of what (a place that hurts, or a fall), and whom of them."""

    what = models.CharField(max_length=20)
    # A code of the floor page, or who it was.
    whom = models.CharField(max_length=80)
