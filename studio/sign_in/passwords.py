"""One try at a member of staff's password, against studio/sign_in/throttle.py."""

import datetime
import logging

from studio.models import Staff
from studio.sign_in import throttle

log = logging.getLogger("ladder.sign_in")


def is_right(staff: Staff, password: str, now: datetime.datetime) -> bool:
    """False if the password is wrong, and while there is a wait."""
    if not throttle.begin(staff, None, now):
        log.warning("password waits staff=%s", staff.uuid)
        return False
    if not staff.check_password(password):
        log.warning("password wrong staff=%s", staff.uuid)
        return False
    throttle.forget(staff, None)
    return True
