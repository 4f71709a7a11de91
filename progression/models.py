"""The ladder as data, and the log of turns.

Shared: used by every room that reads the log or the ladder.
"""

import uuid

from django.db import models
from django.db.models import Exists, ExpressionWrapper, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from studio.models import Child, Meeting, Staff

SUPPORTS = [
    (3, _("hands-on")),
    (2, _("light touch")),
    (1, _("standing by")),
    (0, _("unspotted")),
]


class LadderVersion(models.Model):
    """One loaded version of the ladder, whole and readable for ever."""

    number = models.PositiveIntegerField(unique=True)
    content = models.JSONField()
    digest = models.CharField(max_length=64)
    from_day = models.DateField()
    loaded_at = models.DateTimeField()
    loaded_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return f"ladder {self.number}"


class LadderProposal(models.Model):
    """A changed ladder that waits for a second director. Nothing is read by it: a LadderVersion
    comes with the yes. See readiness/record/two_people/waiting.py.
    """

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    content = models.JSONField()
    # Made from this version, and worth nothing once another one has come in.
    base = models.ForeignKey(LadderVersion, on_delete=models.PROTECT, related_name="proposals")
    reason = models.CharField(max_length=300, blank=True)
    # Nobody: a file loaded at the server by somebody who was not named.
    by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    # Answered: with the version that came of it, or without one where it was taken back.
    answered_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    answered_at = models.DateTimeField(null=True)
    version = models.OneToOneField(
        LadderVersion, null=True, on_delete=models.PROTECT, related_name="proposal"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["base"], condition=Q(answered_at=None), name="one_proposal_waits"
            ),
        ]

    def __str__(self) -> str:
        return f"after {self.base}"


class Drill(models.Model):
    """The lasting name of a drill; what it asks is in each ladder version."""

    key = models.SlugField(max_length=40, unique=True)

    def __str__(self) -> str:
        return self.key


class Surface(models.Model):
    """The lasting name of a surface; the order is in each ladder version."""

    key = models.SlugField(max_length=40, unique=True)

    def __str__(self) -> str:
        return self.key


class AttemptQuerySet(models.QuerySet["Attempt"]):
    def unstruck(self) -> "AttemptQuerySet":
        """Those that nobody has taken back.

        Each attempt is looked up among the strikes: NOT IN would read the whole table of strikes.
        """
        return self.filter(~Exists(Strike.objects.filter(attempt_id=OuterRef("pk"))))

    def with_graded_now(self) -> "AttemptQuerySet":
        """With ``graded_now``: graded when it came in, or by a confirmation since then."""
        confirmed = Confirmation.objects.filter(attempt=OuterRef("pk"), completes=True)
        graded = Q(graded=True) | Exists(confirmed)
        return self.annotate(graded_now=ExpressionWrapper(graded, models.BooleanField()))


class Attempt(models.Model):
    """One turn of one child at one drill. Never changed, never deleted (a trigger holds it).

    The id is made where the turn was logged and begins with the time, so the table can be
    parted by ranges of it.
    """

    class Source(models.TextChoices):
        FLOOR = "floor", _("floor")
        PAPER = "paper", _("paper log")
        FILE = "file", _("tablet’s file")

    id = models.UUIDField(primary_key=True)
    # Every turn pays for each index. attempt_child_day has the children; nobody looks for turns
    # by drill, surface, meeting or who logged them alone.
    child = models.ForeignKey(
        Child, on_delete=models.PROTECT, related_name="attempts", db_index=False
    )
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+", db_index=False)
    surface = models.ForeignKey(Surface, on_delete=models.PROTECT, related_name="+", db_index=False)
    meeting = models.ForeignKey(
        Meeting, null=True, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    # The local day, written when the turn is taken; it never changes.
    day = models.DateField()
    done_at = models.DateTimeField()
    # The support planned when the turn began, and what was allowed then.
    support = models.PositiveSmallIntegerField(choices=SUPPORTS)
    caught = models.BooleanField(default=False)
    # Hides Model.clean(), which nothing here calls.
    clean = models.BooleanField(null=True)  # type: ignore[assignment]
    value = models.FloatField(null=True)
    faults = models.JSONField(default=list)
    # As it came in: by somebody who may grade, with a proof of who that was, in time. See
    # with_graded_now().
    graded = models.BooleanField()
    author = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+", db_index=False)
    sender = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+", db_index=False)
    # Less support than allowed, a paused child, a closed drill: a fact, stored and reported.
    flags = models.JSONField(default=list)
    # Why less support was given than was shown, in a code, if the coach was asked.
    less_reason = models.CharField(max_length=20, blank=True)
    source = models.CharField(max_length=8, choices=Source.choices)
    device = models.CharField(max_length=60, blank=True)
    device_time = models.DateTimeField(null=True)
    # The rest about its clock: page load, monotonic time, offset to the server.
    clock = models.JSONField(default=dict)
    received_at = models.DateTimeField()
    schema = models.PositiveSmallIntegerField(default=1)
    digest = models.CharField(max_length=64)

    objects = AttemptQuerySet.as_manager()
    # Of rows that were asked for with with_graded_now().
    graded_now: bool

    class Meta:
        indexes = [
            # A child's turns of one day or since a day, of all drills or of some.
            models.Index(fields=["child", "day", "drill"], name="attempt_child_day"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(clean__isnull=False, value__isnull=True)
                | Q(clean__isnull=True, value__isnull=False),
                name="attempt_outcome_or_value",
            ),
            models.CheckConstraint(condition=Q(support__lte=3), name="attempt_support_known"),
            models.CheckConstraint(
                condition=Q(caught=False) | ~Q(clean=True), name="attempt_caught_not_clean"
            ),
        ]


class AttemptNote(models.Model):
    """What was written beside an attempt. Not part of the log: it may be erased, and then it is
    null."""

    attempt_id = models.UUIDField(primary_key=True)
    text = models.CharField(max_length=500, null=True)


class Strike(models.Model):
    """An attempt taken back: who, when, why. It may arrive before its attempt."""

    id = models.UUIDField(primary_key=True)
    attempt_id = models.UUIDField(unique=True)
    code = models.CharField(max_length=30)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+", db_index=False)
    at = models.DateTimeField()
    received_at = models.DateTimeField()
    digest = models.CharField(max_length=64)


class SigningKey(models.Model):
    """The public half of a key that a browser made for one person's sign-in. The other half never
    leaves that browser."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    staff = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+", db_index=False)
    # SubjectPublicKeyInfo (RFC 5480) in base64.
    public_key = models.CharField(max_length=200)
    enrolled_at = models.DateTimeField()
    # A line that was tapped later is not proven by this key.
    ended_at = models.DateTimeField(null=True)


class AttemptProof(models.Model):
    """What says whose turn it is, and whose word is missing before it is graded. Never changed.

    No row: the author sent it, and nobody's word is missing. That is nearly every turn, and a call
    of a tablet pays for each row.
    """

    class Kind(models.TextChoices):
        SESSION = "session", _("sent by the author")
        KEY = "key", _("signed with the author's key")
        # Of pages that were opened before there were keys.
        TOKEN = "token", _("with the token of the author's pack")
        NONE = "none", _("none")

    class Awaits(models.TextChoices):
        NOBODY = "", _("nobody")
        AUTHOR = "author", _("the author")
        DIRECTOR = "director", _("a director")
        BOTH = "both", _("the author and a director")

    # The database checks no key, so that the log's table can be parted; nothing can leave it.
    attempt = models.OneToOneField(
        Attempt,
        primary_key=True,
        on_delete=models.DO_NOTHING,
        related_name="proof",
        db_constraint=False,
    )
    kind = models.CharField(max_length=8, choices=Kind.choices)
    awaits = models.CharField(max_length=8, choices=Awaits.choices, blank=True)
    key = models.ForeignKey(
        SigningKey, null=True, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    signature = models.CharField(max_length=100, blank=True)

    class Meta:
        indexes = [
            # Few turns ever wait for anybody.
            models.Index(fields=["awaits"], condition=~Q(awaits=""), name="proof_awaits"),
        ]


class Confirmation(models.Model):
    """Somebody's word for a turn that came in without it. Never changed, never deleted."""

    attempt = models.ForeignKey(
        Attempt,
        on_delete=models.DO_NOTHING,
        related_name="confirmations",
        db_constraint=False,
        db_index=False,
    )
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+", db_index=False)
    at = models.DateTimeField()
    # With this one nobody's word is missing: the turn is graded.
    completes = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["attempt", "by"], name="confirmation_once"),
        ]


class RejectedLine(models.Model):
    """A line that could not be taken, kept for a while; see progression/log/rejected.py."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    line_id = models.CharField(max_length=60)
    meeting = models.ForeignKey(Meeting, null=True, on_delete=models.PROTECT, related_name="+")
    sender = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    device = models.CharField(max_length=60, blank=True)
    received_at = models.DateTimeField()
    answer = models.CharField(max_length=10)
    code = models.CharField(max_length=40)
    # JSON text with everything beyond ASCII escaped: whatever was sent can be stored.
    body = models.TextField()
    digest = models.CharField(max_length=64)

    class Meta:
        # The table's name from when the model was called LineAside.
        db_table = "progression_lineaside"
        constraints = [
            # The same refused line sent again is the same line, not another one.
            models.UniqueConstraint(fields=["line_id", "digest"], name="aside_once"),
        ]


class LineResolution(models.Model):
    """What a director made of a rejected line: logged after all, or struck with a reason."""

    line = models.OneToOneField(RejectedLine, on_delete=models.CASCADE, related_name="resolution")
    logged = models.BooleanField()
    reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(logged=True) | ~Q(reason=""), name="struck_line_has_a_reason"
            ),
        ]
