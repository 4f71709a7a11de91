"""A link that a director hands over, with which its owner chooses a password, once.

The code in it is random; the database has its digest. It stands behind the # of the address, which
a browser sends to no server: neither in a request, nor as the page that one came from.
"""

import datetime
import hashlib
import logging
import secrets

from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.db import transaction

from studio.models import AccountChange, OneTimeLink, Pin, Staff
from studio.sign_in.throttle import open_account
from studio.staff.accounts import tell

log = logging.getLogger("ladder.staff")

GOOD_FOR = datetime.timedelta(hours=72)


class LinkRefused(Exception):
    """There is no such link, or it was used, or it has ended."""


def make_link(staff: Staff, by: Staff, now: datetime.datetime) -> str:
    """The code of a new link; an earlier one of the same person is good no more."""
    code = secrets.token_urlsafe(32)
    with transaction.atomic():
        OneTimeLink.objects.filter(staff=staff, used_at=None).delete()
        OneTimeLink.objects.create(staff=staff, digest=_digest(code), by=by, ends_at=now + GOOD_FOR)
    log.info("link made staff=%s by=%s", staff.uuid, by.uuid)
    return code


def use_link(code: str, password: str, now: datetime.datetime) -> Staff:
    """Whose link it is, with this password from now on. PIN and sign-ins end with the old one.

    Raises LinkRefused, or ValidationError if the password is not allowed; then the link is good
    still.
    """
    link = _good_link(code, now)
    validate_password(password, link.staff)
    # Slow on purpose; nobody's writing waits for it.
    hashed = make_password(password)
    with transaction.atomic():
        if not OneTimeLink.objects.filter(pk=link.pk, used_at=None).update(used_at=now):
            raise LinkRefused
        Staff.objects.filter(pk=link.staff_id).update(password=hashed)
        Pin.objects.filter(staff=link.staff_id).delete()
        open_account(link.staff)
        tell(link.staff, AccountChange.What.PASSWORD, link.by, now)
    log.info("link used staff=%s", link.staff.uuid)
    return link.staff


def _good_link(code: str, now: datetime.datetime) -> OneTimeLink:
    links = OneTimeLink.objects.select_related("staff", "by")
    good = links.filter(digest=_digest(code), used_at=None, ends_at__gt=now)
    link = good.filter(staff__is_active=True, staff__left_on=None).first()
    if link is None:
        raise LinkRefused
    return link


def _digest(code: str) -> str:
    return hashlib.sha256(code.encode()).hexdigest()
