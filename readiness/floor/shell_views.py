"""What the floor page's shell is made of. All of it is public: it is the same for everybody."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language, get_language_bidi
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from readiness.floor.shell import shell_html, worker_script


# Public: a tablet fetches the page to keep it, whoever is signed in on it then.
@login_not_required
@require_safe
def shell(request: HttpRequest) -> HttpResponse:
    """The floor page of no meeting: it lists the classes that the tablet keeps."""
    return HttpResponse(shell_html())


# Public: the browser asks for it at any time, for whomever.
@login_not_required
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    return HttpResponse(worker_script(), content_type="text/javascript; charset=utf-8")


# Public: browsers ask for it without cookies.
@login_not_required
@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    """What makes the site installable (W3C, Web Application Manifest)."""
    icons = [
        {"src": static(f"img/icon-{size}.png"), "sizes": f"{size}x{size}", "type": "image/png"}
        for size in (192, 512)
    ]
    data = {
        "id": reverse("floor-start"),
        "name": _("Backward Ladder"),
        "short_name": _("Ladder"),
        "lang": get_language(),
        "dir": "rtl" if get_language_bidi() else "ltr",
        # The page that opens without a network.
        "start_url": reverse("floor-start"),
        "scope": reverse("tonight"),
        "display": "standalone",
        "theme_color": "#fffdf8",
        "background_color": "#fffdf8",
        # The picture fills its square and keeps clear of its corners.
        "icons": [icon | {"purpose": use} for icon in icons for use in ("any", "maskable")],
    }
    return JsonResponse(data, content_type="application/manifest+json")
