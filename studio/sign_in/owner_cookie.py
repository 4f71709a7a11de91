"""The owner cookie: whose browser this is now, for a page's scripts, by the staff's public uuid.

It is readable by scripts, proves nothing and gives no right. The floor page compares it with
the author of the classes it stores, and wipes them when somebody else has signed in. So it
is set at every sign-in, by password or by PIN, outlives the session (a sign-in that has run
out is no reason to wipe anything) and is deleted at sign-out. Shared: used by the floor page.
"""

import datetime

from django.conf import settings
from django.http import HttpResponse

from studio.models import Staff

COOKIE = "whose"
# As long as browsers keep a cookie.
COOKIE_AGE = datetime.timedelta(days=400)


def set_owner_cookie(response: HttpResponse, staff: Staff) -> None:
    response.set_cookie(
        COOKIE,
        str(staff.uuid),
        max_age=COOKIE_AGE,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def delete_owner_cookie(response: HttpResponse) -> None:
    response.delete_cookie(COOKIE, samesite="Lax")
