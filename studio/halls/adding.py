"""A new hall."""

import logging

from django.db import transaction

from studio.access import visible_colleagues
from studio.models import Location, Staff

log = logging.getLogger("ladder.halls")


def add_hall(name: str, zone: str, by: Staff) -> Location:
    """It belongs to whoever adds it and to the directors of her halls, so that two people can do
    there what two people must."""
    directors = visible_colleagues(by).filter(role=Staff.Role.DIRECTOR, guest_on=None)
    with transaction.atomic():
        hall = Location.objects.create(name=name, zone=zone)
        hall.staff.set(directors)
    log.info("hall added hall=%s by=%s", hall.pk, by.uuid)
    return hall
