"""The keys with which browsers sign: enrolled with a sign-in, ended with it.

Shared: used by the floor's call; the end of a sign-in calls it by its name in the settings.
"""

import datetime

from django.contrib.sessions.backends.base import SessionBase

from progression.models import SigningKey
from studio.models import Staff

# In the session of a sign-in: its key.
KEY = "signing-key"


def enrol_key(
    staff: Staff, public_key: str, session: SessionBase, now: datetime.datetime
) -> SigningKey:
    """This person's key from now on; the same one again stays the same."""
    key, _made = SigningKey.objects.get_or_create(
        staff=staff, public_key=public_key, ended_at=None, defaults={"enrolled_at": now}
    )
    session[KEY] = key.pk
    return key


def end_key(session: SessionBase, now: datetime.datetime) -> None:
    """The sign-in ends: what is tapped later is not proven by its key."""
    if KEY in session:
        SigningKey.objects.filter(pk=session[KEY], ended_at=None).update(ended_at=now)


def end_all(now: datetime.datetime) -> None:
    """Every sign-in has ended."""
    SigningKey.objects.filter(ended_at=None).update(ended_at=now)
