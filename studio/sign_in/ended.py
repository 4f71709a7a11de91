"""A sign-out without a network: the browser notes which session is over, and the first request
that comes through ends it (studio/middleware.py).

A page's scripts know a session by a tag, which gives no right and does not tell the key. At a
sign-out that cannot reach the server they set it as a cookie; a newer sign-in has another tag.
Shared: used by every page's frame.
"""

from django.http import HttpRequest
from django.utils.crypto import constant_time_compare, salted_hmac

COOKIE = "ended"


def tag_of(session_key: str) -> str:
    return salted_hmac("studio.sign_in.ended", session_key).hexdigest()[:32]


def is_over(request: HttpRequest) -> bool:
    """Whether the browser says that this very session is over."""
    key = request.session.session_key
    return key is not None and constant_time_compare(request.COOKIES[COOKIE], tag_of(key))
