"""Private by default: signed-in pages only, never stored by anyone on the way."""

import datetime
from collections.abc import Callable
from http import HTTPStatus
from urllib.parse import urlsplit, urlunsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import BACKEND_SESSION_KEY, logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.models import AnonymousUser
from django.contrib.auth.views import redirect_to_login
from django.contrib.sessions.middleware import SessionMiddleware
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _

from studio.access import may_sign_in
from studio.models import Staff
from studio.people.today import site_today
from studio.sign_in import ended
from studio.sign_in.backends import PASSWORD_BACKEND, PIN_BACKEND
from studio.sign_in.hashing import TooManyAtOnce
from studio.signed_in.sessions import is_over
from studio.tablets import enrolment

# No page needs anything from elsewhere, and no page has scripts or styles of its own inline.
CONTENT_SECURITY_POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)
# All that pages use of a device: the screen stays on during a class. Printing and storing need no
# leave.
PERMISSIONS_POLICY = ", ".join(
    [
        "screen-wake-lock=(self)",
        *(
            f"{name}=()"
            for name in (
                *("accelerometer", "autoplay", "bluetooth", "camera", "display-capture"),
                *("encrypted-media", "fullscreen", "geolocation", "gyroscope", "hid"),
                *("magnetometer", "microphone", "midi", "payment", "picture-in-picture"),
                *("publickey-credentials-get", "serial", "usb", "xr-spatial-tracking"),
            )
        ),
    ]
)
# The floor page alone reads angles off a picture: by its own camera, held in its own memory.
FLOOR_HEADERS = {
    "Content-Security-Policy": f"{CONTENT_SECURITY_POLICY}; img-src 'self' blob:",
    "Permissions-Policy": PERMISSIONS_POLICY.replace("camera=()", "camera=(self)"),
}


class CallsKeepCookiesMiddleware(SessionMiddleware):
    """Leaves the session's cookie alone in the answers to a page's own calls.

    Such an answer may come late: to a call of before somebody signed in anew, with a session that
    is gone. Django has it delete the cookie, which would be the new one's by then.
    """

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        response = super().process_response(request, response)
        if response.status_code == HTTPStatus.UNAUTHORIZED:
            response.cookies.pop(settings.SESSION_COOKIE_NAME, None)
        return response


class OlderSessionMiddleware:
    """Lets sign-ins from before the upgrade go on.

    A session names the backend that let its owner in. Until November 2026 that was Django's own
    for both ways in; such a session is given the backend that it would have now, before anybody
    asks whose it is.
    """

    OLD_BACKEND = "django.contrib.auth.backends.ModelBackend"

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if request.session.get(BACKEND_SESSION_KEY) == self.OLD_BACKEND:
            by_pin = enrolment.is_by_pin(request)
            request.session[BACKEND_SESSION_KEY] = PIN_BACKEND if by_pin else PASSWORD_BACKEND
        return self.get_response(request)


class EndedSessionMiddleware:
    """Ends the session of which a browser has noted, without a network, that it is over."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if ended.COOKIE not in request.COOKIES:
            return self.get_response(request)
        if ended.is_over(request):
            enrolment.end_sign_in(request, timezone.now())
        response = self.get_response(request)
        response.delete_cookie(ended.COOKIE, samesite="Lax")
        return response


class ByPinMiddleware:
    """A sign-in by PIN has a coach's rights at most, for some hours, on that tablet."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if enrolment.is_by_pin(request):
            user = request.user
            request.user = SimpleLazyObject(lambda: self._looked_at(request, user))  # type: ignore[assignment]
        return self.get_response(request)

    @staticmethod
    def _looked_at(request: HttpRequest, user: Staff | AnonymousUser) -> Staff | AnonymousUser:
        """Once, when somebody asks who it is. The sign-out asks for it itself."""
        request.user = user
        if enrolment.pin_session_is_valid(request, timezone.now()):
            request.user.coach_rights_only = True  # type: ignore[union-attr]
        else:
            logout(request)
        return request.user


class QuickAnswerMiddleware:
    """Lets a view that is asked every few seconds answer at once.

    Its ``quick_answer`` looks itself at who asks, with what it is asked for. Where that gives no
    answer, the sign-in is looked at as always.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view_func: Callable[..., HttpResponseBase],
        view_args: tuple[object, ...],
        view_kwargs: dict[str, object],
    ) -> HttpResponseBase | None:
        quick_answer = getattr(view_func, "quick_answer", None)
        return quick_answer(request, **view_kwargs) if quick_answer else None


class BusyMiddleware:
    """Answers 503 when the database was busy for longer than a call waits, not 500; and 429 when
    somebody else's password was being looked at."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_exception(
        self, request: HttpRequest, exception: Exception
    ) -> HttpResponseBase | None:
        from studio.error_views import busy, crowded

        if isinstance(exception, TooManyAtOnce):
            return crowded(request)
        return busy(request) if isinstance(exception, OperationalError) else None


class IdleDeskMiddleware:
    """Ends a sign-in by password at which nobody has asked for a page for long. The floor's pages
    and calls neither end one nor keep it up: a class is longer than a desk is left alone."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view_func: Callable[..., HttpResponseBase],
        view_args: tuple[object, ...],
        view_kwargs: dict[str, object],
    ) -> None:
        name = (request.resolver_match and request.resolver_match.url_name) or ""
        if name.startswith("floor") or getattr(view_func, "answers_json", False):
            return
        if is_over(request, timezone.now()):
            enrolment.end_sign_in(request, timezone.now())


class SignInRequiredMiddleware(LoginRequiredMiddleware):
    """Everything needs a sign-in unless a view is marked ``login_not_required``.

    A call for JSON is answered with JSON and 401, never with a redirect: a queue that
    followed one would take the sign-in page for an answer. An htmx request gets a header
    that moves the whole page. An account that has ended, or a guest's after its day, is
    signed out here.
    """

    def process_view(
        self,
        request: HttpRequest,
        view_func: Callable[..., HttpResponseBase],
        view_args: tuple[object, ...],
        view_kwargs: dict[str, object],
    ) -> HttpResponseBase | None:
        if isinstance(request.user, Staff) and not may_sign_in(request.user, self.today()):
            logout(request)
        return super().process_view(request, view_func, view_args, view_kwargs)

    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponseBase:
        if getattr(view_func, "answers_json", False):
            from studio.error_views import json_error

            return json_error(401, "sign-in", _("Sign in to go on. Nothing is lost."))
        if request.method not in ("GET", "HEAD"):
            sentence = _("Your sign-in had ended, and what you sent was not kept. Send it again.")
            messages.warning(request, sentence)
        login_url = self.get_login_url(view_func)
        response = redirect_to_login(_page_of(request), login_url)
        if request.headers.get("HX-Request") == "true":
            moved = HttpResponse(status=401)
            moved["HX-Redirect"] = response["Location"]
            return moved
        return response

    @staticmethod
    def today() -> datetime.date:
        return site_today(timezone.now())


def _page_of(request: HttpRequest) -> str:
    """Where to go on after the sign-in: the page requested, or the page of a form that was sent.

    The address that a form is sent to has no page.
    """
    htmx = request.headers.get("HX-Request") == "true"
    if request.method in ("GET", "HEAD") and not htmx:
        return request.get_full_path()
    try:
        page = urlsplit(request.headers.get("HX-Current-URL" if htmx else "Referer", ""))
    except ValueError:
        return reverse("tonight")
    own = page.netloc == request.get_host()
    return urlunsplit(("", "", page.path, page.query, "")) if own else reverse("tonight")


class PrivateAnswersMiddleware:
    """Headers that every answer carries; static files alone may be stored on the way."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        # Whoever it is for, signed in or not: asking would be one more thing that can fail.
        if hasattr(request, "user"):
            response.headers["Cache-Control"] = "no-store"
        return response
