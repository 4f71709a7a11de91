"""Shared tablets, PINs, and the tries at passwords and PINs."""

import uuid

from django.db import models
from django.db.models import Q

from studio.models.people import Location, Staff


class Tablet(models.Model):
    """A shared tablet, on which staff of its location may change over by PIN.

    The browser holds a random secret in a cookie; here is only its digest. A withdrawn
    tablet's cookie is worth nothing.
    """

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=60)
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="tablets")
    secret_digest = models.CharField(max_length=64, unique=True)
    enrolled_by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    enrolled_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["location", "name"],
                condition=Q(withdrawn_at=None),
                name="tablet_name_once",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Pin(models.Model):
    """A member of staff's own PIN for shared tablets, as a hash; see studio/sign_in/pins.py."""

    staff = models.OneToOneField(Staff, on_delete=models.CASCADE, related_name="pin")
    hash = models.CharField(max_length=128)
    set_at = models.DateTimeField()


class OneTimeLink(models.Model):
    """A link with which somebody chooses a password, once; see studio/staff/links.py.

    Whoever holds it has a random code; here is only its digest.
    """

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="links")
    digest = models.CharField(max_length=64, unique=True)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    ends_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)


class SignInTry(models.Model):
    """A try at a PIN (on a tablet) or a password (without one); see studio/sign_in/throttle.py.

    ``counts``: it makes the next one wait. A try counts from before it is checked
    until the same person gets it right there or a director unlocks the tablet.
    """

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="+")
    tablet = models.ForeignKey(
        Tablet, on_delete=models.CASCADE, null=True, blank=True, related_name="tries"
    )
    # The known browser that a password was typed in, empty if it was none.
    browser = models.CharField(max_length=16, blank=True)
    at = models.DateTimeField()
    counts = models.BooleanField(default=True)

    class Meta:
        indexes = [
            models.Index(
                fields=["tablet", "staff"], condition=Q(counts=True), name="tries_that_count"
            ),
        ]
