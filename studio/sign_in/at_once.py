"""A question that every tablet asks every few seconds: may they, and is nothing new?

Every other request is let in step by step, a query each: whose session it is, on which tablet, may
they see the class. Here the same rules stand in one query. It says yes or nothing: whatever is not
plainly yes goes the ordinary way.
Shared: used by the floor.
"""

import datetime
import uuid
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.db.models import Exists, Q, QuerySet
from django.http import HttpRequest
from django.utils.crypto import constant_time_compare

from studio import access
from studio.db.prepared import prepared
from studio.models import Staff
from studio.people.today import site_today
from studio.tablets import enrolment


def nothing_is_new(
    request: HttpRequest, meeting: uuid.UUID, alerts: int, now: datetime.datetime
) -> bool:
    """Whether they may see this meeting, and its counter is as they know it."""
    session, today = request.session, site_today(now)
    if session.get(BACKEND_SESSION_KEY) not in settings.AUTHENTICATION_BACKENDS:
        return False
    asked = int(session[SESSION_KEY]), meeting, alerts, today, access.stood_in_since(today)
    if not enrolment.is_by_pin(request):
        found = _by_password(*asked)
    elif now.timestamp() < session[enrolment.PIN_UNTIL]:
        tablet = uuid.UUID(session[enrolment.BY_PIN])
        found = _by_pin(*asked, tablet, enrolment.digest_in(request))
    else:
        return False
    # Another password since then has ended the session.
    hashed = session.get(HASH_SESSION_KEY, "")
    return any(
        constant_time_compare(hashed, Staff(password=password).get_session_auth_hash())
        for (password,) in found
    )


@prepared
def _by_password(
    staff: int, meeting: uuid.UUID, alerts: int, today: datetime.date, since: datetime.date
) -> QuerySet[Any, Any]:
    unchanged = Q(uuid=meeting, alerts=alerts)
    return _let_in(staff, today, access.sees_meeting_rows(staff, since, unchanged))


@prepared
def _by_pin(
    staff: int, meeting: uuid.UUID, alerts: int, today: datetime.date, since: datetime.date,
    tablet: uuid.UUID, digest: str,
) -> QuerySet[Any, Any]:  # fmt: skip
    """With a coach's rights, on that tablet."""
    here = access.trusted_tablets(today).filter(uuid=tablet, secret_digest=digest)
    unchanged = Q(uuid=meeting, alerts=alerts)
    sees = access.sees_meeting_rows(staff, since, unchanged, coach_rights_only=True)
    return _let_in(staff, today, sees & Q(Exists(here)))


def _let_in(staff: int, today: datetime.date, sees: Q) -> QuerySet[Any, Any]:
    return Staff.objects.filter(access.may_sign_in_rows(today), sees, pk=staff).values_list(
        "password"
    )
