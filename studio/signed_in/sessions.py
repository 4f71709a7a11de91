"""Who is signed in where: read off the sessions that have not ended, and ended for somebody.

They are those of the last SESSION_COOKIE_AGE at most. Shared: used by the staff's changes.
"""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.models import Session
from django.http import HttpRequest
from django.utils.module_loading import import_string
from django.utils.translation import gettext as _

from studio.models import Staff, Tablet
from studio.tablets.enrolment import BY_PIN, PIN_UNTIL

# In a session: when it began, when a page was last asked for, and on what, by password only.
SINCE, SEEN, ON = "since", "seen", "on"
HANDHELD, COMPUTER = "handheld", "computer"
# How much later a page is seen before it is written down again.
AGAIN = datetime.timedelta(minutes=1)


@dataclass(frozen=True)
class OpenSignIn:
    """``since``: None of one that began before this was kept; ``here``: of this very browser."""

    staff: Staff
    since: datetime.datetime | None
    place: str
    here: bool


def begin(request: HttpRequest, now: datetime.datetime) -> None:
    """Somebody has signed in by password, in this session."""
    agent = request.headers.get("User-Agent", "")
    handheld = any(word in agent for word in ("Mobile", "Android", "iPad"))
    request.session[SINCE] = request.session[SEEN] = now.isoformat()
    request.session[ON] = HANDHELD if handheld else COMPUTER


def is_over(request: HttpRequest, now: datetime.datetime) -> bool:
    """Nothing was asked for at this desk for too long, or the sign-in is as old as one may be; else
    it is seen now."""
    session = request.session
    if SEEN not in session:
        return False
    seen, since = (datetime.datetime.fromisoformat(session[name]) for name in (SEEN, SINCE))
    idle = datetime.timedelta(minutes=settings.DESK_IDLE_MINUTES)
    if (idle and now - seen > idle) or (now - since).total_seconds() > settings.SESSION_COOKIE_AGE:
        return True
    if now - seen >= AGAIN:
        session[SEEN] = now.isoformat()
    return False


def open_sign_ins(
    staff: Iterable[Staff], request: HttpRequest, now: datetime.datetime
) -> list[OpenSignIn]:
    """Those of these people, by name, the latest first."""
    people = {each.pk: each for each in staff}
    found = [(row, data) for row, data in _sessions(now) if _whose(data) in people]
    tablets = {str(tablet.uuid): tablet for tablet in Tablet.objects.select_related("location")}
    here = request.session.session_key
    open_ones = [
        OpenSignIn(
            people[_whose(data)],
            _since(data),
            _place(data, tablets),
            row.session_key == here,
        )
        for row, data in found
    ]
    return sorted(open_ones, key=lambda each: (each.staff.called, each.staff.pk, not each.here))


def end_everywhere(staff: Staff, now: datetime.datetime, but: str | None = None) -> int:
    """All of somebody's, but for one session; how many."""
    ended = 0
    for row, data in _sessions(now):
        if _whose(data) == staff.pk and row.session_key != but:
            import_string(settings.BEFORE_SIGN_OUT)(data, now)
            row.delete()
            ended += 1
    return ended


def _sessions(now: datetime.datetime) -> Iterator[tuple[Session, dict[str, Any]]]:
    for row in Session.objects.filter(expire_date__gt=now).order_by("-expire_date", "pk"):
        yield row, row.get_decoded()


def _whose(data: dict[str, Any]) -> int:
    """The key of the staff; 0 for nobody."""
    return int(data.get(SESSION_KEY) or 0)


def _since(data: dict[str, Any]) -> datetime.datetime | None:
    if SINCE in data:
        return datetime.datetime.fromisoformat(data[SINCE])
    if PIN_UNTIL in data:
        began = data[PIN_UNTIL] - settings.PIN_SESSION_AGE
        return datetime.datetime.fromtimestamp(began, datetime.UTC)
    return None


def _place(data: dict[str, Any], tablets: dict[str, Tablet]) -> str:
    tablet = tablets.get(data.get(BY_PIN, ""))
    if tablet is not None:
        values = {"tablet": tablet.name, "hall": tablet.location.name}
        return _("on the tablet “%(tablet)s”, %(hall)s, by PIN") % values
    places = {HANDHELD: _("on a phone or tablet"), COMPUTER: _("on a computer")}
    return places.get(data.get(ON, ""), _("by password"))
