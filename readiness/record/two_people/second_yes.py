"""What one person asks for and another one must say yes to: who that may be, and from when.

A director other than whoever asked. A director who is the only one says yes herself once it has
waited (settings.LADDER_WAITS_DAYS); so does any director to what nobody who is named asked for.
"""

import datetime
from typing import Protocol

from django.conf import settings
from django.db.models import Q, QuerySet

from readiness.record.two_people.new_accounts import changed_since, one_person
from studio.models import Staff


class Asked(Protocol):
    """By whom and when; by nobody where a command at the server, or a rule, asked."""

    by: Staff | None
    by_id: int | None
    at: datetime.datetime


class NotAnswered(Exception):
    """Nothing was done, put in force or taken back. ``code``: may-not, unknown, answered, moved
    (something else came between), second (somebody else must say yes), new-account (made, or given
    its role, since), one-person (in hand of whoever asked, or the other way round), wait (not
    before seven days)."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


def not_before(asked: Asked) -> datetime.datetime:
    """From when no second director is needed."""
    return asked.at + datetime.timedelta(days=settings.LADDER_WAITS_DAYS)


def why_not_yet(asked: Asked, by: Staff, now: datetime.datetime) -> str:
    """Why this director does not say yes now, as a code; empty if they may."""
    if asked.by_id is not None and asked.by_id != by.pk:
        lately = changed_since(asked.at - datetime.timedelta(days=1))
        if lately.filter(staff=by).exists():
            return "new-account"
        return "one-person" if asked.by and one_person([by, asked.by], now) else ""
    if asked.by_id == by.pk and other_directors(by, asked.at.date()).exists():
        return "second"
    return "" if now >= not_before(asked) else "wait"


def other_directors(by: Staff, since: datetime.date) -> QuerySet[Staff]:
    """Who could say yes; whoever left since it was asked counts, so that sending the second one
    away makes nobody the only one. No guest: a guest changes no rules."""
    here = Q(left_on=None) | Q(left_on__gt=since)
    directors = Staff.objects.filter(here, role=Staff.Role.DIRECTOR, guest_on=None, is_active=True)
    return directors.exclude(pk=by.pk)
