"""The page about a head knock, and what is written down there."""

import datetime
import uuid
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from readiness.child.decision_answer import decide_and_go
from readiness.child.decision_forms import RunOnceForm
from readiness.child.lookup import read_now, visible_child
from readiness.head.forms import ClearanceForm, HeadStepForm, KnockForm, SymptomForm
from readiness.head.page import page_context
from readiness.record.told import head_knocks
from studio import access
from studio.access import only
from studio.models import Child
from studio.people.today import zone_of


@only(access.may_see_records)
@require_safe
def head(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    return _page(request, visible_child(request, child, now), now)


def _page(
    request: HttpRequest,
    child: Child,
    now: datetime.datetime,
    refused: object = None,
    notice: str = "",
    status: int = 200,
) -> HttpResponse:
    context = page_context(read_now(child, now), access.staff_of(request), refused)
    with timezone.override(zone_of(child)):
        return render(
            request, "readiness/head/head.html", context | {"notice": notice}, status=status
        )


def _answer(
    request: HttpRequest,
    child: Child,
    form: RunOnceForm,
    now: datetime.datetime,
    work: Callable[[], object],
) -> HttpResponse:
    """Done once and on to the page, or the page again with the reason why not."""

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, child, now, form, notice, status)

    return decide_and_go(request, form, now, work, reverse("head", args=[child.uuid]), draw)


@only(access.may_tell_of_head)
@require_POST
def knock(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = KnockForm(request.POST)

    def work() -> None:
        about = form.cleaned_data
        head_knocks.tell_knock(visible, staff, now, about["on"], about["elsewhere"])

    return _answer(request, visible, form, now, work)


@only(access.may_tell_of_head)
@require_POST
def symptom(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = SymptomForm(request.POST)

    def work() -> None:
        head_knocks.tell_symptom(visible, staff, now, form.cleaned_data["on"])

    return _answer(request, visible, form, now, work)


@only(access.may_give_head_steps)
@require_POST
def clearance(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = ClearanceForm(request.POST)

    def work() -> None:
        about = form.cleaned_data
        head_knocks.note_clearance(visible, staff, now, about["cleared_by"], about["on"])

    return _answer(request, visible, form, now, work)


@only(access.may_give_head_steps)
@require_POST
def step(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = HeadStepForm(request.POST)

    def work() -> None:
        about = form.cleaned_data
        head_knocks.give_step(
            visible, staff, now, about["step"], about["said_by"], about["said_on"]
        )

    return _answer(request, visible, form, now, work)
