"""One try at a member of staff's password, against studio/tries.py."""

import datetime
import logging

from studio import tries
from studio.models import Staff

log = logging.getLogger("ladder.sign_in")


def is_right(staff: Staff, password: str, now: datetime.datetime) -> bool:
    """False if the password is wrong, and while there is a wait."""
    if not tries.begin(staff, None, now):
        log.warning("password waits staff=%s", staff.uuid)
        return False
    if not staff.check_password(password):
        log.warning("password wrong staff=%s", staff.uuid)
        return False
    tries.forget(staff, None)
    return True
