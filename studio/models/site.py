"""The studio itself, and what its pages and its server keep."""

import uuid

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from studio.models.people import Staff


class Studio(models.Model):
    """The one row that names the studio.

    ``log`` names this copy of the log: a tablet that meets another value knows that the
    server was restored from a backup and sends its acknowledged lines again.
    """

    only = models.BooleanField(default=True, unique=True, editable=False)
    name = models.CharField(max_length=120)
    log = models.UUIDField(default=uuid.uuid4)
    # When the last good backup was made; see studio/backup/.
    backed_up_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(only=True), name="one_studio"),
        ]

    def __str__(self) -> str:
        return self.name


class ImportDraft(models.Model):
    """An uploaded file that waits between the preview and the confirmation."""

    class Kind(models.TextChoices):
        ROSTER = "roster", _("roster")
        ATTEMPTS = "attempts", _("paper log")

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    owner = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="import_drafts")
    name = models.CharField(max_length=200)
    data = models.BinaryField()
    options = models.JSONField(default=dict)
    created_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)
    result = models.JSONField(null=True, blank=True)


class BroughtIn(models.Model):
    """What a roster or a paper log did when it was brought in, so that it can be undone: see
    studio/imports/undo.py. ``done`` names children and classes by key, and holds fields as they
    were; it is emptied once it is undone, or can no longer be."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(
        max_length=10, choices=ImportDraft.Kind.choices, default=ImportDraft.Kind.ROSTER
    )
    # Nobody: by a command at the server.
    by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(db_index=True)
    done = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")


class FileWord(models.Model):
    """What the studio has said that a word of its files means: the header of a column, a class, a
    drill … See studio/imports/words.py."""

    kind = models.CharField(max_length=10, choices=ImportDraft.Kind.choices)
    # The column that the word stands in, or that it is the header of one.
    what = models.CharField(max_length=20)
    word = models.CharField(max_length=200)
    meaning = models.CharField(max_length=200, blank=True)
    said_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "what", "word"], name="file_word_once"),
        ]

    def __str__(self) -> str:
        return f"{self.word}: {self.meaning}"


class SpentToken(models.Model):
    """A form token that has been used: each job runs once. See studio/idempotency.py."""

    token = models.UUIDField(primary_key=True)
    job = models.CharField(max_length=40)
    # The address that its form was sent to; empty for tokens used before this was kept.
    target = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    # Where the first request ended up, so that the second can be sent there too.
    went_to = models.CharField(max_length=300)


class Restore(models.Model):
    """The record was put back as it was at ``made_at``. What was ended after that is open again,
    until a director has looked through it."""

    made_at = models.DateTimeField()
    at = models.DateTimeField()
    looked_at = models.DateTimeField(null=True, blank=True)
    looked_by = models.ForeignKey(
        Staff, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
