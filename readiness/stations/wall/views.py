"""The stations on a screen in the hall, and whether a hall wants that."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from readiness.stations.page import equipment_context
from readiness.stations.wall.forms import WallForm
from readiness.stations.wall.page import wall_context
from readiness.stations.wall.wanted import is_wanted, say_wanted
from readiness.stations.wall.words import WALL_LOST, said_text
from studio import access
from studio.access import only
from studio.idempotency import run_once
from studio.people.meetings import meeting_for
from studio.people.today import site_today


@require_safe
def stations_wall(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """For a screen that everybody in the hall reads; there is none where the hall does not want
    it."""
    now = timezone.now()
    visible = meeting_for(access.staff_of(request), meeting, site_today(now))
    if visible is None or not is_wanted(visible.hall):
        raise Http404
    return render(request, "readiness/stations/wall.html", wall_context(visible, now))


@only(access.may_keep_equipment)
@require_POST
def hall_wall(request: HttpRequest) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    form = WallForm(access.visible_locations(staff), request.POST)
    if not form.is_valid():
        context = equipment_context(staff, now) | {"notice": WALL_LOST}
        return render(request, "readiness/stations/equipment.html", context, status=422)

    def work() -> str:
        hall, wanted = form.cleaned_data["hall"], form.cleaned_data["wanted"]
        say_wanted(hall, wanted, staff, now)
        messages.success(request, said_text(hall.name, wanted))
        return reverse("hall-equipment")

    token = str(form.cleaned_data["token"])
    address, _done = run_once(token, form.name, request.path, staff, now, work)
    return redirect(address)
