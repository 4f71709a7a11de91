"""What was read off a picture from the side, beside the turn that was graded. Only added to.

Shared: used through readiness.models.
"""

from django.db import models

from progression.models import Attempt


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
