"""The two ways in, a password and a PIN: one authentication backend for each.

Every sign-in, every change-over and every confirmation by password calls ``authenticate`` of
``django.contrib.auth``, which asks these and no other; Django's ModelBackend is not among
AUTHENTICATION_BACKENDS. Tries are counted in here (studio/sign_in/throttle.py), so that no page
can leave it out.
Shared: used by the middleware and by changing over.
"""

import datetime
import logging

from django.contrib.auth.backends import BaseBackend
from django.contrib.auth.hashers import make_password
from django.http import HttpRequest

from studio.access import may_sign_in
from studio.models import Staff, Tablet
from studio.people.today import site_today
from studio.sign_in import known_browser, pins, throttle
from studio.sign_in.hashing import hashing_place

PASSWORD_BACKEND = "studio.sign_in.backends.PasswordBackend"  # noqa: S105
PIN_BACKEND = "studio.sign_in.backends.PinBackend"

password_log = logging.getLogger("ladder.sign_in")
pin_log = logging.getLogger("ladder.tablets")


class StaffBackend(BaseBackend):
    """What both have in common: whose session it is. An account that has ended has none."""

    def get_user(self, user_id: int) -> Staff | None:
        return Staff.objects.filter(pk=user_id, is_active=True).first()


class PasswordBackend(StaffBackend):
    def authenticate(  # type: ignore[override]
        self, request: HttpRequest | None, username: str, password: str, now: datetime.datetime
    ) -> Staff | None:
        """The active staff of this name and password. Wrong ones count, by account and browser.

        Raises TooManyAtOnce; then nothing was looked at.
        """
        with hashing_place(known_browser.is_known(request)):
            staff = Staff.objects.filter(username=username).first()
            browser = known_browser.known_for(request, staff) if staff else known_browser.UNKNOWN
            if staff is None or not throttle.begin(staff, None, now, browser):
                # As long as for one that is looked at, or the time would tell which names are.
                make_password(password)
                password_log.warning("password waits staff=%s", staff.uuid if staff else "none")
                return None
            # The right one of an account that is not good today is as good as a wrong one.
            if not staff.check_password(password) or not may_sign_in(staff, site_today(now)):
                password_log.warning("password wrong staff=%s", staff.uuid)
                return None
        throttle.forget(staff, None)
        return staff


class PinBackend(StaffBackend):
    def authenticate(  # type: ignore[override]
        self,
        request: HttpRequest | None,
        staff: Staff,
        pin: str,
        tablet: Tablet,
        now: datetime.datetime,
    ) -> Staff | None:
        """These staff, if it is their PIN. Wrong ones count, by account and by tablet.

        Raises TooManyAtOnce; then nothing was looked at.
        """
        # An enrolled tablet is known, whoever holds it.
        with hashing_place(known=True):
            if not throttle.begin(staff, tablet, now):
                pin_log.warning("pin waits staff=%s tablet=%s", staff.uuid, tablet.uuid)
                return None
            if not pins.pin_matches(staff, pin) or not may_sign_in(staff, site_today(now)):
                pin_log.warning("pin wrong staff=%s tablet=%s", staff.uuid, tablet.uuid)
                return None
        throttle.forget(staff, tablet)
        return staff
