"""One evening of a class: moved, cancelled, who stands in, who visits."""

import datetime
import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.as_seen import ChangedMeanwhile
from studio.classes import page
from studio.classes.dates import (
    NotChanged,
    add_visit,
    cancel_evening,
    end_visit,
    evening_on,
    move_evening,
    set_stand_ins,
    visits_of,
)
from studio.classes.forms import EndVisitForm, EveningForm, StandInForm, VisitForm
from studio.classes.words import why_not_changed
from studio.models import ClassGroup
from studio.people.class_dates import Evening
from studio.people.class_lists import in_class


def _evening(request: HttpRequest, group: uuid.UUID, day: str) -> Evening:
    """One from today on, of a class of theirs, or 404."""
    visible = access.visible_classes(access.staff_of(request)).select_related("location")
    found = get_object_or_404(visible, uuid=group)
    try:
        asked = datetime.date.fromisoformat(day)
    except ValueError:
        raise Http404 from None
    evening = evening_on(found, asked) if asked >= _today(found) else None
    if evening is None or evening.state == "moved":
        raise Http404
    return evening


def _today(group: ClassGroup) -> datetime.date:
    return group.location.day_of(timezone.now())


def _shown(
    request: HttpRequest, evening: Evening, status: int = 200, **posted: object
) -> HttpResponse:
    staff, today = access.staff_of(request), _today(evening.group)
    context = page.evening_page(evening, staff, today, **posted)  # type: ignore[arg-type]
    return render(request, "studio/classes/evening.html", context, status=status)


def _refused(
    request: HttpRequest, group: uuid.UUID, day: str, error: ChangedMeanwhile | NotChanged
) -> HttpResponse:
    """Nothing was stored: why, and how it stands now."""
    messages.error(request, why_not_changed(error))
    return _shown(request, _evening(request, group, day), status=409)


@access.only(access.may_send_substitute)
@require_safe
def evening(request: HttpRequest, group: uuid.UUID, day: str) -> HttpResponse:
    return _shown(request, _evening(request, group, day))


@access.only(access.may_keep_classes)
@require_POST
def evening_move(request: HttpRequest, group: uuid.UUID, day: str) -> HttpResponse:
    found = _evening(request, group, day)
    by = access.staff_of(request)
    form = EveningForm(by, _today(found.group), request.POST, auto_id="move_%s")
    if not form.is_valid():
        return _shown(request, found, 422, move=form)
    try:
        move_evening(found, form.cleaned_data, form.cleaned_data["seen"], by)
    except (ChangedMeanwhile, NotChanged) as error:
        return _refused(request, group, day, error)
    messages.success(request, _("The evening is moved."))
    return redirect("class-plan", group)


@access.only(access.may_keep_classes)
@require_POST
def evening_cancel(request: HttpRequest, group: uuid.UUID, day: str) -> HttpResponse:
    """Or let it take place after all: ``cancelled`` is "no" then."""
    found, by = _evening(request, group, day), access.staff_of(request)
    cancelled, seen = request.POST.get("cancelled") != "no", request.POST.get("seen", "")
    try:
        cancel_evening(found, cancelled, seen, by)
    except (ChangedMeanwhile, NotChanged) as error:
        return _refused(request, group, day, error)
    kept = _("The evening is cancelled.") if cancelled else _("The evening takes place.")
    messages.success(request, kept)
    return redirect("class-plan", group)


@access.only(access.may_send_substitute)
@require_POST
def evening_stand_in(request: HttpRequest, group: uuid.UUID, day: str) -> HttpResponse:
    found, by = _evening(request, group, day), access.staff_of(request)
    form = StandInForm(found.group, by, _today(found.group), request.POST)
    if not form.is_valid():
        return _shown(request, found, 422, stand_in=form)
    try:
        set_stand_ins(found, form.cleaned_data["staff"], form.cleaned_data["seen"], by)
    except ChangedMeanwhile as error:
        return _refused(request, group, day, error)
    messages.success(request, _("Kept: whoever stands in finds the evening under “Tonight”."))
    return redirect("evening", group, day)


@access.only(access.may_keep_classes)
@require_POST
def evening_visit(request: HttpRequest, group: uuid.UUID, day: str) -> HttpResponse:
    found, by = _evening(request, group, day), access.staff_of(request)
    children = access.visible_children(by, _today(found.group)).filter(left_on=None)
    form = VisitForm(
        children.exclude(pk__in=in_class(found.group.pk)), request.POST, auto_id="visit_%s"
    )
    if not form.is_valid():
        return _shown(request, found, 422, visit=form)
    add_visit(found, form.cleaned_data["child"], form.cleaned_data["makes_up"], by)
    sentence = _("%(name)s is on the floor page of that evening.")
    messages.success(request, sentence % {"name": form.cleaned_data["child"].called})
    return redirect("evening", group, day)


@access.only(access.may_keep_classes)
@require_POST
def evening_visit_end(request: HttpRequest, group: uuid.UUID, day: str) -> HttpResponse:
    """A visitor is taken off the evening again; one who is off already stays off."""
    found, by = _evening(request, group, day), access.staff_of(request)
    form = EndVisitForm(visits_of(found), request.POST)
    if form.is_valid():
        visit = form.cleaned_data["visit"]
        try:
            end_visit(visit, by)
        except NotChanged as error:
            return _refused(request, group, day, error)
        sentence = _("%(name)s is off the floor page of that evening.")
        messages.success(request, sentence % {"name": visit.child.called})
    return redirect("evening", group, day)
