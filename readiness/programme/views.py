"""The programme's page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from readiness.programme.page import context
from studio import access


@access.only(access.may_plan)
@require_safe
def programme(request: HttpRequest) -> HttpResponse:
    """Children by stage and class, time in stage, gates that hold, turns, children not seen."""
    staff, chosen = access.staff_of(request), request.GET.get("class", "")
    shown = context(staff, timezone.now(), chosen)
    return render(request, "readiness/programme/programme.html", shown)
