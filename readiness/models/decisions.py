"""What people decide of a child.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from progression.models import SUPPORTS, Drill, LadderVersion, Surface
from studio.db.erasable import ErasableChar
from studio.models import Child, Staff


class Decision(models.Model):
    """Something a coach or a director decided about a child. Append-only.

    It keeps the reading it was made on, that reading's digest and the ladder version.
    """

    class Kind(models.TextChoices):
        RECOMMEND = "recommend", _("recommended")
        SIGN = "sign", _("signed")
        SEND_BACK = "send-back", _("sent back")
        CLOSE = "close", _("closed")
        # The answer "not yet" to a recommendation of a harder surface.
        STAYS = "stays", _("stays as signed")
        EXCEPTION = "exception", _("exception written")
        STEP = "step", _("less support given")

    # What is decided of a stage one after the other: the last of them counts.
    REVIEWS = (Kind.RECOMMEND, Kind.SIGN, Kind.SEND_BACK, Kind.CLOSE, Kind.STAYS)

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
    # The recommendation that a signature or another director's word answers: answered once.
    answers = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="answer"
    )
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    # A director's rights are those of the moment, whatever the account may do later.
    as_director = models.BooleanField()
    at = models.DateTimeField()
    day = models.DateField()
    reason = ErasableChar(max_length=500, blank=True)
    # Of a signature: the day on which its signer saw the child do it; older ones have none.
    seen_on = models.DateField(null=True)
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
    reason = ErasableChar(max_length=500)
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
    reason = ErasableChar(max_length=300)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    day = models.DateField()


class PauseLift(models.Model):
    """The family (and a clinician, if needed) said yes, a director saw it: pauses end."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="pause_lifts")
    reason = ErasableChar(max_length=300)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    day = models.DateField()
