"""The halls of a director: a new one, and each one's emergency card, entered and confirmed."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.as_seen import ChangedMeanwhile
from studio.halls.adding import add_hall
from studio.halls.emergency import card_mark, card_of, confirm, halls_file, missing_sentences
from studio.halls.forms import EmergencyForm, NewHallForm
from studio.lists import csv_answer, wants_file
from studio.models import Location
from studio.people.today import site_today
from studio.pictures.allowed import halls_with_pictures


@access.only(access.may_confirm_halls)
@require_safe
def halls(request: HttpRequest) -> HttpResponse:
    if wants_file(request):
        visible = access.visible_locations(access.staff_of(request)).order_by("name", "pk")
        return csv_answer(halls_file(visible), "halls", site_today(timezone.now()))
    return _halls(request)


def _halls(
    request: HttpRequest,
    posted: EmergencyForm | None = None,
    new: NewHallForm | None = None,
    status: int = 200,
) -> HttpResponse:
    visible = access.visible_locations(access.staff_of(request)).order_by("name", "pk")
    rows: list[dict[str, Any]] = []
    pictures = halls_with_pictures(visible)
    for hall in visible.select_related("confirmed_by"):
        refused = posted is not None and str(posted["hall"].value()) == str(hall.pk)
        form = posted if refused else _form_of(hall, visible)
        rows.append({"hall": hall, "missing": missing_sentences(hall), "form": form})
        rows[-1]["pictures"] = hall.pk in pictures
    if new is None:
        new = NewHallForm(
            auto_id="new_%s", initial={"zone": rows[0]["hall"].zone if rows else "UTC"}
        )
    context = {"rows": rows, "new": new}
    return render(request, "studio/halls/halls.html", context, status=status)


def _form_of(hall: Location, visible: QuerySet[Location]) -> EmergencyForm:
    initial = {"hall": hall.pk, "seen": card_mark(hall), **card_of(hall)}
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
    try:
        confirm(hall, said, said["seen"], staff, hall.day_of(timezone.now()))
    except ChangedMeanwhile:
        sentence = _(
            "%(hall)s: somebody else changed this card meanwhile. Nothing of yours was stored; "
            "this is how it stands now."
        )
        messages.error(request, sentence % {"hall": hall.name})
        return _halls(request, status=409)
    messages.success(request, _("%(hall)s: kept.") % {"hall": hall.name})
    return redirect("halls")


@access.only(access.may_confirm_halls)
@require_POST
def hall_add(request: HttpRequest) -> HttpResponse:
    form = NewHallForm(request.POST, auto_id="new_%s")
    if not form.is_valid():
        return _halls(request, new=form, status=422)
    hall = add_hall(**form.cleaned_data, by=access.staff_of(request))
    sentence = _("%(hall)s is there. Enter its emergency card now.")
    messages.success(request, sentence % {"hall": hall.name})
    return redirect("halls")
