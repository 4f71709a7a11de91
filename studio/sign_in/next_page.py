"""Where to go on after a sign-in: only ever to an address of this site.

Shared: used by changing over.
"""

import datetime
import uuid
from urllib.parse import urlsplit

from django.http import HttpRequest
from django.urls import Resolver404, resolve, reverse
from django.utils.http import url_has_allowed_host_and_scheme

from studio.access import visible_meetings
from studio.models import Staff


def own_address(request: HttpRequest, address: str) -> str:
    """The address, or tonight's classes if it leads to another site or nowhere."""
    own = url_has_allowed_host_and_scheme(
        address, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return address if own else reverse("tonight")


def address_for(staff: Staff, address: str, today: datetime.date) -> str:
    """The same own address, or tonight's classes if it is the floor of somebody else's class."""
    try:
        match = resolve(urlsplit(address).path)
    except Resolver404:
        return reverse("tonight")
    if match.url_name == "floor" and not _is_theirs(staff, match.kwargs["meeting"], today):
        return reverse("tonight")
    return address


def _is_theirs(staff: Staff, meeting: uuid.UUID, today: datetime.date) -> bool:
    return visible_meetings(staff, today).filter(uuid=meeting).exists()
