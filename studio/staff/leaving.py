"""The end of somebody's access, and coming back.

``Staff.left_on`` alone decides (studio/access.py): from that day on password, PIN and sessions let
nobody in, and the tablets that they enrolled are trusted no more. Shared: used by the commands.
"""

import datetime
import logging

from django.db import transaction

from studio.models import AccountChange, OneTimeLink, Pin, Staff
from studio.people.today import site_today
from studio.signed_in.sessions import end_everywhere
from studio.staff.accounts import tell

log = logging.getLogger("ladder.staff")


def leave(staff: Staff, day: datetime.date, by: Staff | None, now: datetime.datetime) -> None:
    """End access on a day; None: told at the server."""
    with transaction.atomic():
        staff.left_on = day
        staff.save(update_fields=["left_on"])
        OneTimeLink.objects.filter(staff=staff, used_at=None).delete()
        tell(staff, AccountChange.What.LEFT, by, now)
        if day <= site_today(now):
            end_everywhere(staff, now)
    log.info("left staff=%s by=%s", staff.uuid, by.uuid if by else "server")


def come_back(staff: Staff, password: str, now: datetime.datetime) -> None:
    """Access again, with a new password, and with no PIN until they set one."""
    with transaction.atomic():
        staff.left_on = None
        staff.set_password(password)
        staff.save(update_fields=["left_on", "password"])
        Pin.objects.filter(staff=staff).delete()
        tell(staff, AccountChange.What.BACK, None, now)
    log.info("back staff=%s by=server", staff.uuid)


def let_back(staff: Staff, by: Staff, now: datetime.datetime) -> None:
    """Access again, as a director says; the old password and PIN are good no more, and a new one is
    chosen with a link."""
    with transaction.atomic():
        staff.left_on = None
        staff.set_unusable_password()
        staff.save(update_fields=["left_on", "password"])
        Pin.objects.filter(staff=staff).delete()
        tell(staff, AccountChange.What.BACK, by, now)
    log.info("back staff=%s by=%s", staff.uuid, by.uuid)


def take_pin_away(staff: Staff, by: Staff, now: datetime.datetime) -> None:
    """Until they set another one, after a sign-in with their password."""
    with transaction.atomic():
        Pin.objects.filter(staff=staff).delete()
        tell(staff, AccountChange.What.PIN, by, now)
    log.info("pin taken away staff=%s by=%s", staff.uuid, by.uuid)
