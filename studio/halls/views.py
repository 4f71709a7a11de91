"""The halls of a director: address and emergency number, entered and confirmed."""

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.halls.emergency import confirm, missing_sentences
from studio.halls.forms import EmergencyForm
from studio.models import Location


@access.only(access.may_confirm_halls)
@require_safe
def halls(request: HttpRequest) -> HttpResponse:
    return _halls(request)


def _halls(
    request: HttpRequest, posted: EmergencyForm | None = None, status: int = 200
) -> HttpResponse:
    visible = access.visible_locations(access.staff_of(request)).order_by("name", "pk")
    rows = []
    for hall in visible.select_related("confirmed_by"):
        refused = posted is not None and str(posted["hall"].value()) == str(hall.pk)
        form = posted if refused else _form_of(hall, visible)
        rows.append({"hall": hall, "missing": missing_sentences(hall), "form": form})
    return render(request, "studio/halls/halls.html", {"rows": rows}, status=status)


def _form_of(hall: Location, visible: QuerySet[Location]) -> EmergencyForm:
    initial = {
        "hall": hall.pk,
        "emergency_number": hall.emergency_number,
        "address": hall.address,
    }
    return EmergencyForm(visible, initial=initial, auto_id=f"id_{hall.pk}_%s")


@access.only(access.may_confirm_halls)
@require_POST
def hall_confirm(request: HttpRequest) -> HttpResponse:
    staff = access.staff_of(request)
    form = EmergencyForm(access.visible_locations(staff), request.POST)
    if not form.is_valid():
        return _halls(request, form, status=422)
    said = form.cleaned_data
    hall: Location = said["hall"]
    confirm(hall, said["emergency_number"], said["address"], staff, hall.day_of(timezone.now()))
    messages.success(request, _("%(hall)s: kept.") % {"hall": hall.name})
    return redirect("halls")
