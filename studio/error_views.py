"""Pages, and JSON answers, for what went wrong.

Shared: used by the floor's calls.
"""

import logging
import sys

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import Resolver404, resolve
from django.utils.translation import gettext as _

from studio.idempotency import TokenSpentElsewhere

log = logging.getLogger("ladder.database")

# What SQLite, PostgreSQL and the system say of it.
DISK_TROUBLES = {
    "disk is full": "the disk is full",
    "no space left on device": "the disk is full",
    "disk i/o error": "the disk cannot be read or written",
    "readonly database": "the database, or its folder, is read-only",
    "read-only": "the disk or the database is read-only",
    "unable to open database file": "the database cannot be opened: its folder or file is missing "
    "or may not be read",
}
# Seconds after which a call that found the database busy may try again.
RETRY_AFTER = "5"


def wants_json(request: HttpRequest) -> bool:
    """True for the calls that a page's script makes: they never get a page back."""
    if getattr(_view_of(request), "answers_json", False):
        return True
    return "application/json" in request.headers.get("Accept", "")


def _view_of(request: HttpRequest) -> object:
    """None where nothing has that address."""
    try:
        # What breaks in a middleware breaks before the view is looked up.
        return (request.resolver_match or resolve(request.path_info)).func
    except Resolver404:
        return None


def json_error(status: int, code: str, sentence: str) -> JsonResponse:
    return JsonResponse({"error": code, "sentence": sentence}, status=status)


def _answer(request: HttpRequest, status: int, code: str, sentence: str) -> HttpResponse:
    if wants_json(request):
        return json_error(status, code, sentence)
    return render(request, f"{status}.html", {"sentence": sentence}, status=status)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    sentence = _("This could not be read.")
    if isinstance(exception, TokenSpentElsewhere):
        sentence = _(
            "This form was used already, for something else. Nothing was changed. Reload it."
        )
    return _answer(request, 400, "bad-request", sentence)


def refused_body(request: HttpRequest, status: int, sentence: str) -> HttpResponse:
    """400, 411 or 413: what was sent is not read."""
    if wants_json(request):
        return json_error(status, "refused-body", sentence)
    return render(request, "400.html", {"sentence": sentence}, status=status)


def refused(request: HttpRequest, exception: Exception) -> HttpResponse:
    sentence = _("Your account may not do this.")
    if getattr(getattr(request, "user", None), "coach_rights_only", False):
        sentence = _("By PIN this is not possible. Sign in with your password for it.")
    return _answer(request, 403, "refused", sentence)


def stale_token(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form sent with a token that is no longer good, most often after a new sign-in."""
    sentence = _("This page was open for too long. Go back, reload it and send it again.")
    return _answer(request, 403, "stale-token", sentence)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return _answer(request, 404, "not-found", _("There is nothing here for you to see."))


def name_the_disk(error: BaseException | None) -> None:
    """A line in the log where the disk is what is wrong; the text of an error may hold more."""
    said = str(error).lower()
    for cause, told in DISK_TROUBLES.items():
        if cause in said:
            log.error("%s: nothing can be stored until that is mended", told)
            return


def busy(request: HttpRequest) -> HttpResponse:
    """The database was locked for longer than a call waits, or could not be written."""
    name_the_disk(sys.exception())
    if wants_json(request):
        answer: HttpResponse = json_error(
            503, "busy", _("The server is busy. Nothing was changed; try again.")
        )
    else:
        # Without the request: the frame of a page asks the database who is signed in.
        answer = HttpResponse(render_to_string("503.html"), status=503)
    answer["Retry-After"] = RETRY_AFTER
    return answer


def crowded(request: HttpRequest) -> HttpResponse:
    """Somebody else is signing in at this very moment."""
    if wants_json(request):
        answer: HttpResponse = json_error(429, "crowded", _("Others are signing in. Try again."))
    else:
        answer = HttpResponse(render_to_string("429.html"), status=429)
    answer["Retry-After"] = "1"
    return answer


def broken(request: HttpRequest) -> HttpResponse:
    name_the_disk(sys.exception())
    # In a middleware, where the session is read and saved; from views it comes by BusyMiddleware.
    if isinstance(sys.exception(), OperationalError):
        return busy(request)
    if wants_json(request):
        return json_error(500, "broken", _("Something went wrong. Nothing was changed."))
    # Without the request: whatever broke may break the context of every page as well.
    return HttpResponse(render_to_string("500.html"), status=500)
