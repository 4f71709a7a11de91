"""That a child is to be erased.

Shared: used through readiness.models.
"""

import uuid

from django.db import models
from django.db.models import Q

from studio.models import Child, Staff


class Erasure(models.Model):
    """Somebody asked that a child be erased: answered once, by its being done or taken back. See
    record/privacy/erasing.py."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    # Nobody: by the studio's rule for children who left long ago.
    by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    answered_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    answered_at = models.DateTimeField(null=True)
    # False: taken back.
    done = models.BooleanField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["child"], condition=Q(answered_at=None), name="one_erasure_waits"
            ),
        ]
