"""The known-browser cookie: who has signed in with this browser before, with the password.

It gives no right. It tells the tries of people's own browsers from those of strangers, so that a
stranger's guesses make nobody wait who has been here before. Signed, so that nobody makes one;
it names staff by their public uuid, and the browser by a random id.
"""

import datetime
import secrets
from dataclasses import dataclass

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

from studio.models import Staff

COOKIE = "known"
# As long as browsers keep a cookie.
COOKIE_AGE = datetime.timedelta(days=400)
SALT = "known-browser"
# Of so many people at most: the last who signed in.
MOST_PEOPLE = 20
# The browser of whoever has none that is known for them.
UNKNOWN = ""


@dataclass(frozen=True)
class KnownBrowser:
    """A browser's id, and the public uuids of those who have signed in with it."""

    id: str
    people: tuple[str, ...]


def known_for(request: HttpRequest | None, staff: Staff) -> str:
    """The id of this browser if these staff have signed in with it before, else UNKNOWN."""
    browser = _browser(request)
    return browser.id if browser and str(staff.uuid) in browser.people else UNKNOWN


def is_known(request: HttpRequest | None) -> bool:
    """Whether anybody has signed in with this browser before."""
    return _browser(request) is not None


def remember(request: HttpRequest, response: HttpResponse, staff: Staff) -> None:
    """After a sign-in with the password."""
    before = _browser(request) or KnownBrowser(secrets.token_hex(8), ())
    people = [each for each in before.people if each != str(staff.uuid)]
    people = [*people, str(staff.uuid)][-MOST_PEOPLE:]
    response.set_cookie(
        COOKIE,
        signing.dumps([before.id, people], salt=SALT),
        max_age=COOKIE_AGE,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def _browser(request: HttpRequest | None) -> KnownBrowser | None:
    if request is None:
        return None
    try:
        id_, people = signing.loads(request.COOKIES.get(COOKIE, ""), salt=SALT)
    except (signing.BadSignature, ValueError):
        return None
    return KnownBrowser(id_, tuple(people))
