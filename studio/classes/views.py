"""The classes: added, changed, moved from a day on; the holidays of the halls."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studio import access
from studio.as_seen import ChangedMeanwhile
from studio.classes import page
from studio.classes.changing import add_class, change_class, make_due_moves, move_class
from studio.classes.dates import add_holiday, end_holiday
from studio.classes.forms import ClassForm, EndHolidayForm, HolidayForm, MoveForm, NewClassForm
from studio.lists import csv_answer, wants_file
from studio.models import ClassGroup
from studio.people.today import site_today


@access.only(access.may_send_substitute)
@require_safe
def classes(request: HttpRequest) -> HttpResponse:
    make_due_moves(timezone.now())
    return _classes(request)


def _classes(
    request: HttpRequest, holiday: HolidayForm | None = None, status: int = 200
) -> HttpResponse:
    staff, today = access.staff_of(request), site_today(timezone.now())
    context = page.classes_page(staff, today, holiday)
    if wants_file(request):
        return csv_answer(page.classes_file(context["groups"]), "classes", today)
    return render(request, "studio/classes/classes.html", context, status=status)


@access.only(access.may_keep_classes)
@require_http_methods(["GET", "HEAD", "POST"])
def class_add(request: HttpRequest) -> HttpResponse:
    staff, posted = access.staff_of(request), request.method == "POST"
    form = NewClassForm(staff, site_today(timezone.now()), request.POST if posted else None)
    if posted and form.is_valid():
        made = add_class(form.cleaned_data, staff)
        messages.success(request, _("%(name)s is there.") % {"name": made.name})
        return redirect("class-plan", made.uuid)
    status = 422 if posted else 200
    return render(request, "studio/classes/add.html", {"form": form}, status=status)


def _group(request: HttpRequest, group: uuid.UUID) -> ClassGroup:
    visible = access.visible_classes(access.staff_of(request)).select_related("location")
    return get_object_or_404(visible, uuid=group)


def _plan(
    request: HttpRequest,
    group: ClassGroup,
    status: int = 200,
    change: ClassForm | None = None,
    move: MoveForm | None = None,
) -> HttpResponse:
    today = group.location.day_of(timezone.now())
    context = page.plan_page(group, access.staff_of(request), today, change, move)
    return render(request, "studio/classes/plan.html", context, status=status)


@access.only(access.may_send_substitute)
@require_safe
def class_plan(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    make_due_moves(timezone.now())
    return _plan(request, _group(request, group))


def _changed_meanwhile(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    sentence = _(
        "Somebody else changed this class meanwhile. Nothing of yours was stored; this is how it "
        "stands now."
    )
    messages.error(request, sentence)
    return _plan(request, _group(request, group), status=409)


@access.only(access.may_keep_classes)
@require_POST
def class_change(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    staff, found = access.staff_of(request), _group(request, group)
    form = ClassForm(found, staff, site_today(timezone.now()), request.POST)
    if not form.is_valid():
        return _plan(request, found, 422, change=form)
    try:
        change_class(found, form.cleaned_data, form.cleaned_data["seen"], staff)
    except ChangedMeanwhile:
        return _changed_meanwhile(request, group)
    messages.success(request, _("%(name)s: kept.") % {"name": form.cleaned_data["name"]})
    return redirect("class-plan", group)


@access.only(access.may_keep_classes)
@require_POST
def class_move(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    staff, found, now = access.staff_of(request), _group(request, group), timezone.now()
    form = MoveForm(found, staff, found.location.day_of(now), request.POST, auto_id="move_%s")
    if not form.is_valid():
        return _plan(request, found, 422, move=form)
    try:
        move_class(found, form.cleaned_data, form.cleaned_data["seen"], staff, now)
    except ChangedMeanwhile:
        return _changed_meanwhile(request, group)
    messages.success(request, _("%(name)s: kept.") % {"name": found.name})
    return redirect("class-plan", group)


@access.only(access.may_keep_classes)
@require_POST
def holiday_add(request: HttpRequest) -> HttpResponse:
    staff = access.staff_of(request)
    form = HolidayForm(staff, request.POST, auto_id="holiday_%s")
    if not form.is_valid():
        return _classes(request, form, status=422)
    said = form.cleaned_data
    add_holiday(said["location"], said["name"], said["first_day"], said["last_day"], staff)
    messages.success(request, _("%(name)s: kept.") % {"name": said["name"]})
    return redirect("classes")


@access.only(access.may_keep_classes)
@require_POST
def holiday_end(request: HttpRequest) -> HttpResponse:
    """Take a holiday away."""
    staff = access.staff_of(request)
    form = EndHolidayForm(access.visible_holidays(staff), request.POST)
    if not form.is_valid():
        raise Http404
    end_holiday(form.cleaned_data["holiday"], staff)
    return redirect("classes")
