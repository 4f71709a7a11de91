"""What halls have for stations."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from readiness.stations.equipment import write_down
from readiness.stations.forms import EquipmentForm
from readiness.stations.page import equipment_form, equipment_forms
from readiness.stations.words import kept_text
from studio import access
from studio.access import only
from studio.idempotency import run_once


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
    rows = equipment_forms(access.staff_of(request), timezone.now(), posted)
    return render(request, "readiness/stations/equipment.html", {"rows": rows}, status=status)
