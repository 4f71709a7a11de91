"""How much of what is sent is read: its Content-Length is looked at before anything of it is.

Shared: used by the floor's calls and the pages that take a file.
"""

from collections.abc import Callable
from typing import TypeVar

from django.http import HttpRequest, HttpResponse, HttpResponseBase, UnreadablePostError
from django.utils.translation import gettext as _

from studio.error_views import refused_body

View = TypeVar("View", bound=Callable[..., HttpResponseBase])

KB = 1024
# A form with a thousand answers fits.
MOST_BYTES = 64 * KB
# Of people who are not signed in: a name and a password, or a PIN.
MOST_OF_STRANGERS = 8 * KB
UTF_8 = {"utf-8", "utf8"}


def takes(most: int) -> Callable[[View], View]:
    """Mark a view that takes bodies of another size, in bytes."""

    def mark(view: View) -> View:
        view.most_bytes = most  # type: ignore[attr-defined]
        return view

    return mark


class BodyMiddleware:
    """Refuses a body that is too large, of no known length, or not in UTF-8; reads the others.

    It stands behind the sign-in and before everything that looks into a body: what a stranger
    sends to a page for staff is never read.
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
    ) -> HttpResponse | None:
        if request.content_params and _charset(request) not in UTF_8:
            return refused_body(request, 400, _("This was not sent in UTF-8."))
        if request.headers.get("Transfer-Encoding"):
            return refused_body(request, 411, _("This came without its length."))
        most = getattr(view_func, "most_bytes", MOST_BYTES)
        if not request.user.is_authenticated:
            most = min(most, MOST_OF_STRANGERS)
        length = int(request.headers.get("Content-Length") or 0)
        if length > most:
            sentence = _("This is too much at once: at most %(most)d kB are taken here.")
            return refused_body(request, 413, sentence % {"most": most // KB})
        return None if _is_whole(request, length) else refused_body(request, 400, _cut_off())


def _charset(request: HttpRequest) -> str:
    params = request.content_params or {}
    return params.get("charset", "utf-8").strip().lower()


def _is_whole(request: HttpRequest, length: int) -> bool:
    """Whether as much came as was announced; it may have broken off, or been too slow."""
    try:
        return len(request.body) == length
    except UnreadablePostError:
        return False


def _cut_off() -> str:
    return _("Not all of it arrived. Nothing was changed; send it again.")
