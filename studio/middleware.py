"""Private by default: signed-in pages only, never stored by anyone on the way."""

import datetime
from collections.abc import Callable

from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils import timezone
from django.utils.translation import gettext as _

from studio.access import may_sign_in
from studio.models import Staff

# No page needs anything from elsewhere, and no page has scripts or styles of its own inline.
CONTENT_SECURITY_POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)


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
        response = super().handle_no_permission(request, view_func)
        if request.headers.get("HX-Request") == "true":
            moved = HttpResponse(status=401)
            moved["HX-Redirect"] = response["Location"]
            return moved
        return response

    @staticmethod
    def today() -> datetime.date:
        return timezone.localdate()


class PrivateAnswersMiddleware:
    """Headers that every answer carries; static files alone may be stored on the way."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        # Whoever it is for, signed in or not: asking would be one more thing that can fail.
        if hasattr(request, "user"):
            response.headers["Cache-Control"] = "no-store"
        return response
