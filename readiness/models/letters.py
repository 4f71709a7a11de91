"""Letters: what is prepared for the next one, and those that were printed, exactly as they were.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _

from studio.models import Child, Staff

LONGEST_OWN = 300
LONGEST_REASON = 120


class PrintedLetter(models.Model):
    """A letter exactly as it was printed. Append-only; the file, and the sentence that somebody
    wrote, may be erased.

    ``text_digest``: of everything that it says, so that the same letter is not printed as another
    one; ``digest``: of the file. Both SHA-256, in hexadecimal digits.
    """

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    # The letter's own day, which it bears.
    day = models.DateField()
    file = models.BinaryField(null=True)
    # The sentence of the writer's own, for a letter that corrects this one.
    own = models.CharField(max_length=LONGEST_OWN, null=True)
    digest = models.CharField(max_length=64)
    text_digest = models.CharField(max_length=64)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    # The director who read it first, where it tells of what a director reads first.
    read_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    # The one that it corrects.
    replaces = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="+")


class LetterGiven(models.Model):
    """How the family got a printed letter, as somebody wrote it down. Append-only."""

    class How(models.TextChoices):
        HANDED = "handed", _("handed over")
        POSTED = "posted", _("by post")
        EMAILED = "emailed", _("by e-mail, by hand")

    letter = models.ForeignKey(PrintedLetter, on_delete=models.PROTECT, related_name="given")
    how = models.CharField(max_length=10, choices=How.choices)
    on = models.DateField(db_column="on_day")
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class LetterDraft(models.Model):
    """What is prepared for a child's next letter; gone when that is printed.

    ``held_back``: the reason why it is not printed; empty if it may be. ``read_digest``: of what
    the letter said when a director read it; it holds for these words and no others.
    """

    child = models.OneToOneField(Child, on_delete=models.CASCADE, related_name="+")
    own = models.CharField(max_length=LONGEST_OWN, blank=True)
    held_back = models.CharField(max_length=LONGEST_REASON, blank=True)
    # Say that a director has begun to watch: for a director to tell.
    review = models.BooleanField(default=False)
    replaces = models.ForeignKey(
        PrintedLetter, null=True, on_delete=models.PROTECT, related_name="+"
    )
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    read_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    read_at = models.DateTimeField(null=True)
    read_digest = models.CharField(max_length=64, blank=True)


class LetterRun(models.Model):
    """Several letters printed together: each of them is done, left out, or still to come."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class LetterInRun(models.Model):
    """A child of a run. ``letter`` when it is printed; ``left_out``: the reason, if it was not."""

    run = models.ForeignKey(LetterRun, on_delete=models.CASCADE, related_name="rows")
    place = models.PositiveIntegerField()
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="+")
    letter = models.ForeignKey(PrintedLetter, null=True, on_delete=models.PROTECT, related_name="+")
    left_out = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["run", "place"], name="one_place_in_a_run"),
        ]
