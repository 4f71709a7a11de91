"""One child: the page, the next step of support, placing, pausing and lifting a pause."""

import datetime
import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from readiness.child import forms, page
from readiness.child.decision_answer import Redraw, decide
from readiness.record import decisions
from readiness.record.standings import Reading, local_today, read, zone_of
from readiness.words.stages import stage_to_show
from studio import access
from studio.access import only
from studio.models import Child, Staff


def seen_child(request: HttpRequest, child: uuid.UUID, now: datetime.datetime) -> Child:
    """A child that this member of staff may see; 404 for any other."""
    children = access.visible_children(access.staff_of(request), now.date())
    found: Child = get_object_or_404(children, uuid=child)
    return found


def read_now(child: Child, now: datetime.datetime) -> Reading:
    return read(child, local_today([child], now)[child.pk])


@only(access.may_see_records)
@require_GET
def child(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    return _page(request, read_now(seen_child(request, child, now), now))


def _page(
    request: HttpRequest,
    reading: Reading,
    status: int = 200,
    notice: str = "",
    bound: object = None,
) -> HttpResponse:
    """The page on the record as it is; ``bound``: a form that was refused."""
    shown = _shown(request, reading)
    context = {
        "child": reading.child,
        "reading": reading,
        "age": reading.child.age_on(reading.read.day),
        "classes": reading.child.classes.order_by("weekday", "starts_at", "pk"),
        "levels": page.ladder_levels(reading, shown),
        "stage": page.stage_panel(reading, shown),
        "for_review": page.stage_for_review(reading),
        "faults": page.fault_rows(reading),
        "turns": page.recent_turns(reading),
        "notes": page.notes_of(reading),
        "notice": notice,
        "hand_contacts": page.hand_contact_sentences(reading),
        **_support(reading, access.staff_of(request)),
        **_forms(reading, bound),
    }
    with timezone.override(zone_of(reading.child)):
        return render(request, "readiness/child/child.html", context, status=status)


def _shown(request: HttpRequest, reading: Reading) -> str:
    """The stage that is asked for, or the one that matters most."""
    asked = request.GET.get("stage", "")
    if asked in reading.ladder.stage_names:
        return asked
    return str(stage_to_show(reading.data)["code"])


def _support(reading: Reading, staff: Staff) -> dict[str, object]:
    given = page.taps_given_on(reading.child, reading.read.day)
    support = page.support_rows(reading, staff, given)
    return {
        "support": support,
        "folded": sum(not row.shown for row in support),
        "decides": access.may_decide(staff),
        **page.standing_now(reading),
    }


def _forms(reading: Reading, bound: object) -> dict[str, object]:
    """The forms of the page; ``bound``, one that was refused, in the place of a new one."""
    seen = decisions.seen_child(reading)
    initial = {"digest": seen.digest, "last": seen.last}
    place = bound if isinstance(bound, forms.PlaceForm) else forms.PlaceForm(initial=initial)
    place.offer(
        page.stages_to_place(reading, decisions.HIGHEST_PLACING),
        page.surface_choices(reading.ladder),
    )
    return {
        "place_form": place,
        "pause_form": bound if isinstance(bound, forms.PauseForm) else forms.PauseForm(),
        "lift_form": bound
        if isinstance(bound, forms.LiftForm)
        else forms.LiftForm(initial=initial),
    }


def _redraw(request: HttpRequest, child: Child, now: datetime.datetime) -> Redraw:
    """The child's page again, on the record as it is now."""

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, read_now(child, now), status, notice, form)

    return draw


@only(access.may_recommend)
@require_POST
def step(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """A coach's tap: less support from the next day."""
    now, staff = timezone.now(), access.staff_of(request)
    found = seen_child(request, child, now)
    form = forms.StepForm(request.POST)

    def work() -> str:
        decisions.give_step(found, by=staff, seen=form.seen(), now=now, **form.said())
        return reverse("child", args=[child])

    return decide(request, form, "step", now, work, _redraw(request, found, now))


@only(access.may_decide)
@require_POST
def place(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    found = seen_child(request, child, now)
    form = forms.PlaceForm(request.POST)

    def work() -> str:
        decisions.place(found, by=staff, seen=form.seen(), now=now, **form.said())
        return reverse("child", args=[child])

    return decide(request, form, "place", now, work, _redraw(request, found, now))


@only(access.may_recommend)
@require_POST
def pause(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    found = seen_child(request, child, now)
    form = forms.PauseForm(request.POST)

    def work() -> str:
        decisions.pause(found, staff, now, form.cleaned_data["reason"])
        return reverse("child", args=[child])

    return decide(request, form, "pause", now, work, _redraw(request, found, now))


@only(access.may_decide)
@require_POST
def lift(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    found = seen_child(request, child, now)
    form = forms.LiftForm(request.POST)

    def work() -> str:
        decisions.lift(found, by=staff, seen=form.seen(), now=now, **form.said())
        return reverse("child", args=[child])

    return decide(request, form, "lift", now, work, _redraw(request, found, now))
