"""Shared tablets: enrolled by a director, known by a cookie, left behind by withdrawal."""

import datetime
import hashlib
import logging
import secrets

from django.conf import settings
from django.contrib.auth import login, logout
from django.db import transaction
from django.http import HttpRequest, HttpResponse

from studio.models import Location, Staff, Tablet

log = logging.getLogger("ladder.tablets")

COOKIE = "tablet"
# Browsers keep no cookie longer than some 400 days; each change-over begins them anew.
COOKIE_AGE = datetime.timedelta(days=400)
# What a session by PIN holds: the tablet's uuid, and the second since 1970 at which it ends.
BY_PIN, PIN_UNTIL = "by_pin", "pin_until"


def enrol(
    name: str, location: Location, by: Staff, now: datetime.datetime, was: Tablet | None = None
) -> tuple[Tablet, str]:
    """Enrol the device somebody is at; returns the tablet and the secret for its cookie.

    ``was`` is what the device was enrolled as before. That, and a tablet of the same name at
    the same location, whose cookie must have been lost, are withdrawn: enrolling twice leaves
    one tablet.
    """
    secret = secrets.token_urlsafe(32)
    with transaction.atomic():
        Location.objects.select_for_update(no_key=True).get(pk=location.pk)
        for old in Tablet.objects.filter(location=location, name=name, withdrawn_at=None):
            withdraw(old, by, now)
        if was is not None:
            withdraw(was, by, now)
        tablet = Tablet.objects.create(
            name=name,
            location=location,
            secret_digest=_digest(secret),
            enrolled_by=by,
            enrolled_at=now,
        )
    log.info("tablet enrolled tablet=%s by=%s", tablet.uuid, by.uuid)
    return tablet, secret


def withdraw(tablet: Tablet, by: Staff, now: datetime.datetime) -> None:
    """The tablet's cookie is worth nothing from now on, and sign-ins by PIN on it end."""
    if Tablet.objects.filter(pk=tablet.pk, withdrawn_at=None).update(withdrawn_at=now):
        log.info("tablet withdrawn tablet=%s by=%s", tablet.uuid, by.uuid)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def tablet_of(request: HttpRequest) -> Tablet | None:
    """The enrolled tablet that this request comes from."""
    secret = request.COOKIES.get(COOKIE)
    if not secret:
        return None
    found = Tablet.objects.filter(secret_digest=_digest(secret), withdrawn_at=None)
    return found.select_related("location").first()


def remember(response: HttpResponse, secret: str) -> None:
    """Put the tablet's secret into the browser, or keep it there for longer."""
    response.set_cookie(
        COOKIE,
        secret,
        max_age=COOKIE_AGE,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def change_over(request: HttpRequest, staff: Staff, tablet: Tablet, now: datetime.datetime) -> None:
    """End the sign-in of whoever was there before, and begin one by PIN, under a new key."""
    logout(request)
    login(request, staff, backend="django.contrib.auth.backends.ModelBackend")
    request.session[BY_PIN] = str(tablet.uuid)
    request.session[PIN_UNTIL] = now.timestamp() + settings.PIN_SESSION_AGE
    log.info("changed over tablet=%s to=%s", tablet.uuid, staff.uuid)


def is_by_pin(request: HttpRequest) -> bool:
    return BY_PIN in request.session


def may_go_on(request: HttpRequest, now: datetime.datetime) -> bool:
    """A sign-in by PIN is good for its hours, and only on the tablet where it began."""
    if now.timestamp() >= request.session[PIN_UNTIL]:
        return False
    tablet = tablet_of(request)
    return tablet is not None and str(tablet.uuid) == request.session[BY_PIN]
