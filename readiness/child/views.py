"""One child: the page, the next step of support, placing, pausing and lifting a pause, consent."""

import datetime
import uuid
from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from readiness.child.consent import ConsentForm, no_that_stands
from readiness.child.decision_answer import decide_and_go
from readiness.child.decision_forms import RunOnceForm
from readiness.child.forms import (
    ElsewhereForm,
    GrowingForm,
    LiftForm,
    NotTonightForm,
    PauseForm,
    PlaceForm,
    SoreForm,
    StepForm,
    ToldForm,
)
from readiness.child.lookup import read_now, visible_child
from readiness.child.page import page_context, told_choices
from readiness.record import decisions
from readiness.record.standings import Reading
from readiness.record.told.on_the_page import (
    answer_about_pain,
    family_told,
    note_elsewhere,
    note_growing,
    note_not_tonight,
)
from studio import access
from studio.access import only
from studio.models import Child
from studio.people.consents import NewAnswer, write_down
from studio.people.today import local_today, zone_of


@only(access.may_see_records)
@require_GET
def child(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    return _page(request, read_now(visible_child(request, child, now), now))


def _page(
    request: HttpRequest,
    reading: Reading,
    status: int = 200,
    notice: str = "",
    refused: object = None,
) -> HttpResponse:
    """The page on the record as it is; ``refused``: a form that was not taken."""
    stage = request.GET.get("stage", "")
    context = page_context(reading, access.staff_of(request), stage, refused)
    with timezone.override(zone_of(reading.child)):
        return render(
            request, "readiness/child/child.html", context | {"notice": notice}, status=status
        )


def _answer(
    request: HttpRequest,
    child: Child,
    form: RunOnceForm,
    now: datetime.datetime,
    work: Callable[[], object],
    part: str = "",
) -> HttpResponse:
    """Done once and on to the page, or to a part of it; or the page again, on the record as it
    is now, with the reason why not."""

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, read_now(child, now), status, notice, form)

    return decide_and_go(request, form, now, work, reverse("child", args=[child.uuid]) + part, draw)


@only(access.may_recommend)
@require_POST
def step(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """A coach's tap: less support from the next day."""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = StepForm(request.POST)

    def work() -> None:
        decisions.give_step(
            visible, by=staff, snapshot=form.snapshot(), now=now, **form.decision_fields()
        )

    return _answer(request, visible, form, now, work)


@only(access.may_direct)
@require_POST
def place(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = PlaceForm(request.POST)

    def work() -> None:
        decisions.place(
            visible, by=staff, snapshot=form.snapshot(), now=now, **form.decision_fields()
        )

    return _answer(request, visible, form, now, work)


@only(access.may_pause)
@require_POST
def pause(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = PauseForm(request.POST)

    def work() -> None:
        decisions.pause(visible, staff, now, form.cleaned_data["reason"])

    return _answer(request, visible, form, now, work)


@only(access.may_change_consent)
@require_POST
def consent(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """A guardian's word about hands-on spotting."""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = ConsentForm(local_today([visible], now)[visible.pk], request.POST)

    def work() -> None:
        seen = form.cleaned_data
        answer = NewAnswer(visible, seen["guardian"], seen["answer"] == "yes")
        write_down([answer], seen["seen_by"], seen["seen_on"], staff, now)
        stands = no_that_stands(visible, local_today([visible], now)[visible.pk])
        if answer.yes and stands:
            messages.warning(request, stands)

    return _answer(request, visible, form, now, work, "#consent")


@only(access.may_report)
@require_POST
def sore(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """What hurt on an earlier day: gone, or still there?"""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = SoreForm(request.POST)

    def work() -> None:
        about = form.cleaned_data
        answer_about_pain(visible, staff, now, about["place"], about["answer"])

    return _answer(request, visible, form, now, work)


@only(access.may_report)
@require_POST
def growing(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """The child grows fast, or no longer."""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = GrowingForm(request.POST)

    def work() -> None:
        note_growing(visible, staff, now, form.cleaned_data["said_by"], form.cleaned_data["ends"])

    return _answer(request, visible, form, now, work)


@only(access.may_report)
@require_POST
def not_tonight(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """The child said "not tonight"."""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = NotTonightForm(request.POST)
    return _answer(
        request, visible, form, now, lambda: note_not_tonight(visible, staff, now), "#notes"
    )


@only(access.may_report)
@require_POST
def elsewhere(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """Private lessons, or tumbling elsewhere."""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = ElsewhereForm(request.POST)

    def work() -> None:
        about = form.cleaned_data
        note_elsewhere(visible, staff, now, about["kind"], about["said_by"], about["ends"])

    return _answer(request, visible, form, now, work, "#landings")


@only(access.may_report)
@require_POST
def told(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """Who of the family was told of a pain or a fall."""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = ToldForm(told_choices(read_now(visible, now)), request.POST)

    def work() -> None:
        about = form.cleaned_data
        family_told(visible, staff, now, about["what"], about["whom"], about["asked_for"])

    return _answer(request, visible, form, now, work, "#notes")


@only(access.may_direct)
@require_POST
def lift(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = LiftForm(visible.called, request.POST)

    def work() -> None:
        decisions.lift(
            visible, by=staff, snapshot=form.snapshot(), now=now, **form.decision_fields()
        )

    return _answer(request, visible, form, now, work)
