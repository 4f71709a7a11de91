"""An evening's stations: planned, taken, printed; and what halls have for them."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from readiness.stations.done_page import done_context
from readiness.stations.evening.equipment import write_down
from readiness.stations.forms import EquipmentForm, TakeForm
from readiness.stations.page import equipment_context, equipment_form
from readiness.stations.plan_page import plan_context
from readiness.stations.settled import address_of, with_change
from readiness.stations.taken import DraftLost, take
from readiness.stations.wall.wanted import is_wanted
from readiness.stations.words import DRAFT_LOST, kept_text
from studio import access
from studio.access import only
from studio.idempotency import run_once
from studio.models import Meeting
from studio.people.meetings import meeting_for
from studio.people.today import site_today


@only(access.may_plan_stations)
@require_safe
def stations(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """The plan that was taken, or one that is offered; a small form's change comes as an address
    of its own, so that the page can be kept and shown again."""
    visible = _meeting_of(request, meeting)
    if "what" in request.GET:
        return redirect(request.path + address_of(with_change(request.GET)))
    context = plan_context(visible, request.GET) | {"wall": is_wanted(visible.hall)}
    return render(request, "readiness/stations/stations.html", context)


@only(access.may_plan_stations)
@require_POST
def stations_take(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    visible, staff, now = _meeting_of(request, meeting), access.staff_of(request), timezone.now()
    page = reverse("stations", args=[meeting])
    form = TakeForm(request.POST)
    if not form.is_valid():
        return _lost(request, visible)

    def work() -> str:
        take(visible, form.cleaned_data["draft"], staff, now)
        return page

    try:
        token = str(form.cleaned_data["token"])
        address, _done = run_once(token, form.name, request.path, staff, now, work)
    except DraftLost:
        return _lost(request, visible)
    return redirect(address)


@only(access.may_plan_stations)
@require_safe
def stations_done(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """What was planned and what was done, side by side."""
    context = done_context(_meeting_of(request, meeting))
    return render(request, "readiness/stations/done.html", context)


def _lost(request: HttpRequest, meeting: Meeting) -> HttpResponse:
    context = plan_context(meeting, QueryDict("again=1")) | {"notice": DRAFT_LOST}
    return render(request, "readiness/stations/stations.html", context, status=422)


def _meeting_of(request: HttpRequest, meeting: uuid.UUID) -> Meeting:
    visible = meeting_for(access.staff_of(request), meeting, site_today(timezone.now()))
    if visible is None:
        raise Http404
    return visible


@only(access.may_keep_equipment)
@require_http_methods(["GET", "HEAD", "POST"])
def hall_equipment(request: HttpRequest) -> HttpResponse:
    """How many of each thing a director's halls have; every change is kept."""
    staff, now = access.staff_of(request), timezone.now()
    if request.method != "POST":
        return _equipment(request, None)
    form = equipment_form(staff, now, request.POST)
    if not form.is_valid():
        return _equipment(request, form, 422)

    def work() -> str:
        hall = form.cleaned_data["hall"]
        write_down(hall, form.counts(), staff, now)
        messages.success(request, kept_text(hall.name))
        return request.path

    token = str(form.cleaned_data["token"])
    address, _done = run_once(token, form.name, request.path, staff, now, work)
    return redirect(address)


def _equipment(
    request: HttpRequest, posted: EquipmentForm | None, status: int = 200
) -> HttpResponse:
    context = equipment_context(access.staff_of(request), timezone.now(), posted)
    return render(request, "readiness/stations/equipment.html", context, status=status)
