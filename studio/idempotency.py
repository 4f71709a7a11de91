"""Jobs that must happen once, however often their form is sent.

A form carries a fresh token; the first request with it does the work, any other
is sent to where the first one went. Shared: used by both imports, decisions and gates.
"""

import datetime
import uuid
from collections.abc import Callable

from django.core.exceptions import BadRequest
from django.db import IntegrityError, transaction

from studio.models import SpentToken, Staff


def new_token() -> str:
    """A token for a form that is about to be shown."""
    return str(uuid.uuid4())


class TokenSpentElsewhere(BadRequest):
    """The form's token was used by somebody else, or for another form."""


def run_once(
    token: str,
    job: str,
    target: str,
    by: Staff,
    now: datetime.datetime,
    work: Callable[[], str],
) -> tuple[str, bool]:
    """Run ``work`` in a transaction unless the token has been used.

    ``target`` is the address that the form was sent to: the same token sent to another one, or
    by somebody else, raises TokenSpentElsewhere, which the site answers with 400.
    ``work`` returns the address to go to. Returns (address, True if it was done now).
    Raises ValueError for a token that is not one. Whatever ``work`` raises undoes
    everything, the use of the token too.
    """
    key = uuid.UUID(token)
    about = {"job": job, "target": target, "by": by}
    try:
        with transaction.atomic():
            row = SpentToken.objects.create(token=key, at=now, went_to="", **about)
            row.went_to = work()
            row.save(update_fields=["went_to"])
            return row.went_to, True
    except IntegrityError:
        earlier = SpentToken.objects.filter(token=key).first()
        if earlier is None:
            raise
        if (earlier.job, earlier.target, earlier.by_id) != (job, target, by.pk):
            raise TokenSpentElsewhere from None
        return earlier.went_to, False
