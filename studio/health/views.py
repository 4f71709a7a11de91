"""The answer for a monitor."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_safe

from studio.health.checks import FAILS, health


# Public: a monitor has no account, and learns no more than whether the server works.
@login_not_required
@require_safe
def health_page(request: HttpRequest) -> HttpResponse:
    found = health()
    return JsonResponse(found, status=503 if FAILS in found.values() else 200)
