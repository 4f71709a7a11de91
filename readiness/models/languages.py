"""Which languages of letters somebody has read. Only added to: the latest counts.

Shared: used through readiness.models.
"""

from django.db import models

from studio.models import Staff


class LetterLanguageRead(models.Model):
    """Somebody at home in a language read its letters, and a director wrote that down."""

    language = models.CharField(max_length=10)
    reader = models.CharField(max_length=80)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
