"""The notes that are given at the door.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _

from readiness.models.reports import Told
from studio.db.erasable import ErasableChar, ErasableText


class DoorNote(models.Model):
    """Half a page about this evening, given to an adult of the family. Append-only. Of which child,
    by whom and when is said by ``told``."""

    class Kind(models.TextChoices):
        FALL = "fall", _("a fall, nothing hurt")
        HEAD = "head", _("a knock to the head")
        HANDS = "hands", _("hands again")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    told = models.OneToOneField(Told, on_delete=models.PROTECT, related_name="door_note")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    # The id of the line that it rests on: a fall, a knock, or a turn with a stop sign.
    start = models.UUIDField()
    # The adult, by name.
    given_to = ErasableChar(max_length=120)
    # What it says, as it was given; an empty line parts paragraphs.
    words = ErasableText()
