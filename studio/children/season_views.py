"""The season's turn: one sheet for a class, its answers kept in one go, and slips to print."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studio import access
from studio.children.season import SeasonSeenForm, keep_sheet, sheet_file, sheet_of, slips_of
from studio.idempotency import new_token, run_once
from studio.lists import csv_answer, wants_file
from studio.people.told_apart import name_classes


@access.only(access.may_keep_children)
@require_safe
def season(request: HttpRequest) -> HttpResponse:
    """The classes, each with its sheet."""
    classes = access.visible_classes(access.staff_of(request)).select_related("location")
    groups = list(classes.order_by("weekday", "starts_at", "pk"))
    name_classes(groups)
    return render(request, "studio/children/season.html", {"groups": groups})


@access.only(access.may_keep_children)
@require_http_methods(["GET", "HEAD", "POST"])
def season_sheet(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    classes = access.visible_classes(staff).select_related("location")
    visible = get_object_or_404(classes, uuid=group)
    name_classes([visible])
    day, data = visible.location.day_of(now), request.POST if request.method == "POST" else None
    lines = sheet_of(visible, day, data)
    if wants_file(request):
        return csv_answer(sheet_file(lines), "season", day)
    first = {"seen_by": staff.called, "seen_on": day, "token": new_token()}
    seen = SeasonSeenForm(day, data, initial=first)
    if data is None or not all([seen.is_valid(), *(line.form.is_valid() for line in lines)]):
        context = {"group": visible, "lines": lines, "seen": seen}
        status = 200 if data is None else 422
        return render(request, "studio/children/season_sheet.html", context, status=status)

    def keep() -> str:
        keep_sheet(lines, seen.cleaned_data, staff, now)
        messages.success(request, _("The sheet is kept."))
        return reverse("season-sheet", args=[group])

    token = seen.run_once_token()
    address, _done = run_once(token, "season-sheet", request.path, staff, now, keep)
    return redirect(address)


@access.only(access.may_keep_children)
@require_safe
def season_slips(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    """What each household is asked, to print and sign."""
    classes = access.visible_classes(access.staff_of(request)).select_related("location")
    visible = get_object_or_404(classes, uuid=group)
    slips = slips_of(sheet_of(visible, visible.location.day_of(timezone.now())))
    context = {"group": visible, "slips": slips}
    return render(request, "studio/children/season_slips.html", context)
