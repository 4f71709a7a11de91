"""What happened: a month of it, one incident, what is written down of it and added."""

import datetime
import uuid
from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from readiness.child.decision_answer import decide_and_go
from readiness.child.decision_forms import RunOnceForm
from readiness.child.lookup import child_on_record
from readiness.incidents.forms import AdditionForm
from readiness.incidents.monthly import first_of, monthly_context
from readiness.incidents.page import account_form, page_context
from readiness.record.ladders import Ladders
from readiness.record.told.incidents import (
    add_to_account,
    incident_of,
    is_anybodys,
    write_account,
)
from studio import access
from studio.access import only
from studio.models import Child
from studio.people.today import local_today, site_today, zone_of


@only(access.may_report)
@require_safe
def month(request: HttpRequest) -> HttpResponse:
    today = site_today(timezone.now())
    children = access.children_in_lists(access.staff_of(request), today)
    first = first_of(request.GET.get("month", ""), today)
    context = monthly_context(children, first, today, Ladders().named_on(today))
    return render(request, "readiness/incidents/month.html", context)


@only(access.may_report)
@require_safe
def incident(request: HttpRequest, child: uuid.UUID, start: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    return _page(request, child_on_record(request, child, now), start, now)


def _page(
    request: HttpRequest,
    child: Child,
    start: uuid.UUID,
    now: datetime.datetime,
    refused: object = None,
    notice: str = "",
    status: int = 200,
) -> HttpResponse:
    """An id that nothing has yet is a blank sheet; one of another child's is not found."""
    found = incident_of(child, start)
    if found is None and is_anybodys(start):
        raise Http404
    with timezone.override(zone_of(child)):
        context = page_context(child, start, found, now, refused) | {"notice": notice}
        return render(request, "readiness/incidents/incident.html", context, status=status)


def _answer(
    request: HttpRequest,
    child: Child,
    start: uuid.UUID,
    form: RunOnceForm,
    now: datetime.datetime,
    work: Callable[[], object],
) -> HttpResponse:
    """Done once and on to the page, or the page again with the reason why not."""

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, child, start, now, form, notice, status)

    return decide_and_go(
        request, form, now, work, reverse("incident", args=[child.uuid, start]), draw
    )


@only(access.may_report)
@require_POST
def account(request: HttpRequest, child: uuid.UUID, start: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    found = child_on_record(request, child, now)
    ladder = Ladders().named_on(local_today([found], now)[found.pk])
    form = account_form(ladder, request.POST)

    def work() -> None:
        about = {**form.cleaned_data}
        del about["token"]
        write_account(found, staff, now, start, **about)

    return _answer(request, found, start, form, now, work)


@only(access.may_report)
@require_POST
def addition(request: HttpRequest, child: uuid.UUID, start: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    found = child_on_record(request, child, now)
    form = AdditionForm(request.POST)

    def work() -> None:
        add_to_account(found, staff, now, start, form.cleaned_data["text"])

    return _answer(request, found, start, form, now, work)
