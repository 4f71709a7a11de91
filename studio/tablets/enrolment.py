"""Shared tablets: enrolled by a director, recognised by a cookie, until they are withdrawn."""

import datetime
import hashlib
import logging
import secrets

from django.conf import settings
from django.contrib.auth import login, logout
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils.module_loading import import_string

from studio.access import may_change_over, trusted_tablets
from studio.audit.chain import note
from studio.models import AuditEntry, Location, Staff, Tablet
from studio.people.today import site_today
from studio.sign_in.backends import PIN_BACKEND

log = logging.getLogger("ladder.tablets")

COOKIE = "tablet"
# Browsers keep no cookie longer than some 400 days; each change-over sets it again.
COOKIE_AGE = datetime.timedelta(days=400)
# Session keys of a sign-in by PIN: the tablet's uuid, and when it ends (seconds since 1970).
BY_PIN, PIN_UNTIL = "by_pin", "pin_until"


def enrol(
    name: str, location: Location, by: Staff, now: datetime.datetime, replaces: Tablet | None = None
) -> tuple[Tablet, str]:
    """Enrol the device in use; returns the tablet and the secret for its cookie.

    ``replaces`` is what the device was enrolled as before. That, and a tablet of the same name
    at the same location, whose cookie must have been lost, are withdrawn: enrolling twice
    leaves one tablet.
    """
    secret = secrets.token_urlsafe(32)
    with transaction.atomic():
        Location.objects.select_for_update(no_key=True).get(pk=location.pk)
        for old in Tablet.objects.filter(location=location, name=name, withdrawn_at=None):
            withdraw(old, by, now)
        if replaces is not None:
            withdraw(replaces, by, now)
        tablet = Tablet.objects.create(
            name=name,
            location=location,
            secret_digest=_digest(secret),
            enrolled_by=by,
            enrolled_at=now,
        )
    log.info("tablet enrolled tablet=%s by=%s", tablet.uuid, by.uuid)
    return tablet, secret


def about_shared(tablet: Tablet, now: datetime.datetime) -> dict[str, object]:
    """What the floor page on it knows: its name, who may change over there, and after how many
    minutes without a touch it asks who is at it."""
    people = may_change_over(tablet, site_today(now)).order_by("first_name", "last_name", "pk")
    names = [{"id": str(staff.uuid), "name": staff.called} for staff in people]
    return {"name": tablet.name, "people": names, "idle_minutes": settings.IDLE_MINUTES}


def withdraw(tablet: Tablet, by: Staff, now: datetime.datetime) -> None:
    """End the tablet's enrolment, and with it all sign-ins by PIN on it."""
    if Tablet.objects.filter(pk=tablet.pk, withdrawn_at=None).update(withdrawn_at=now):
        log.info("tablet withdrawn tablet=%s by=%s", tablet.uuid, by.uuid)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def tablet_of(request: HttpRequest, now: datetime.datetime) -> Tablet | None:
    """The enrolled tablet that this request comes from."""
    if not request.COOKIES.get(COOKIE):
        return None
    enrolled = trusted_tablets(site_today(now)).filter(secret_digest=digest_in(request))
    return enrolled.select_related("location").first()


def digest_in(request: HttpRequest) -> str:
    """What the secret of the tablet that this request comes from is known by."""
    return _digest(request.COOKIES.get(COOKIE, ""))


def set_tablet_cookie(response: HttpResponse, secret: str) -> None:
    """Set the cookie with the tablet's secret, or set it again for longer."""
    response.set_cookie(
        COOKIE,
        secret,
        max_age=COOKIE_AGE,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def end_sign_in(request: HttpRequest, now: datetime.datetime) -> None:
    """Somebody leaves this browser: what belongs to the sign-in ends with it."""
    import_string(settings.BEFORE_SIGN_OUT)(request.session, now)
    logout(request)


def change_over(request: HttpRequest, staff: Staff, tablet: Tablet, now: datetime.datetime) -> None:
    """End the sign-in before, and begin one by PIN, in a new session. PinBackend let them in."""
    end_sign_in(request, now)
    login(request, staff, backend=PIN_BACKEND)
    request.session[BY_PIN] = str(tablet.uuid)
    request.session[PIN_UNTIL] = now.timestamp() + settings.PIN_SESSION_AGE
    note(AuditEntry.Kind.SIGN_IN, staff, staff.uuid, now, how="PIN", tablet=tablet.uuid)
    log.info("changed over tablet=%s to=%s", tablet.uuid, staff.uuid)


def is_by_pin(request: HttpRequest) -> bool:
    return BY_PIN in request.session


def pin_session_is_valid(request: HttpRequest, now: datetime.datetime) -> bool:
    """Whether a sign-in by PIN is within its hours and on the tablet where it began."""
    if now.timestamp() >= request.session[PIN_UNTIL]:
        return False
    tablet = tablet_of(request, now)
    return tablet is not None and str(tablet.uuid) == request.session[BY_PIN]
