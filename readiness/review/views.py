"""The review, a class at a glance, and one child's evidence with the forms that decide."""

import datetime
import uuid
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from readiness.child import evidence_page, forms
from readiness.child.decision_answer import Redraw, decide
from readiness.child.page import stage_panel, standing_now
from readiness.child.views import read_now, seen_child
from readiness.record import decisions
from readiness.record.ladders import Ladders
from readiness.record.standings import Reading, zone_of
from readiness.review import page
from readiness.review.rows import alphabetical, children_in, children_of, rows_of
from studio import access
from studio.access import only
from studio.models import Child
from studio.templatetags.marks import STATE_WORDS


@only(access.may_see_records)
@require_GET
def review(request: HttpRequest) -> HttpResponse:
    staff, now, ladders = access.staff_of(request), timezone.now(), Ladders()
    children, classes = children_of(staff, now.date())
    rows = rows_of(children, classes, staff, now, ladders)
    asked = page.Filters(
        location=request.GET.get("location", ""),
        group=request.GET.get("class", ""),
        state=request.GET.get("state", ""),
    )
    # The week is told whatever state is asked for: a stop sign is never filtered out of it.
    there = [row for row in rows if asked.in_place(row)]
    context = {
        "lead": page.lead(rows),
        "rows": [row for row in there if asked.keep(row)],
        "all": len(rows),
        "asked": asked,
        "states": STATE_WORDS.items(),
        **page.places_of(rows),
        "week": page.week_of(there, staff, ladders),
        "brings_in": access.may_import(staff),
    }
    return render(request, "readiness/review/review.html", context)


@only(access.may_see_records)
@require_GET
def class_group(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    """The children of a class, each with the next stage."""
    staff, now = access.staff_of(request), timezone.now()
    classes = access.visible_classes(staff).select_related("location")
    found = get_object_or_404(classes, uuid=group)
    children, all_classes = children_in(found, found.location.day_of(now))
    rows = rows_of(children, all_classes, staff, now, Ladders())
    rows.sort(key=lambda row: (alphabetical(row.child.called), row.child.pk))
    return render(request, "readiness/review/class.html", {"group": found, "rows": rows})


@only(access.may_see_records)
@require_GET
def evidence(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    now = timezone.now()
    return _page(request, read_now(seen_child(request, child, now), now), stage)


def _page(
    request: HttpRequest,
    reading: Reading,
    stage: str,
    status: int = 200,
    notice: str = "",
    form: Any = None,
) -> HttpResponse:
    """The evidence on the record as it is; ``form`` takes the place of a new one of its name."""
    if stage not in reading.ladder.engine.stage:
        raise Http404
    rows = evidence_page.day_rows(reading, stage)
    context = {
        "child": reading.child,
        "reading": reading,
        "stage": stage_panel(reading, stage),
        "counted": evidence_page.counted(reading, stage),
        "days": rows,
        "graders": evidence_page.graders(rows),
        "history": evidence_page.history(reading, stage),
        "desk": evidence_page.desk(reading, stage, access.staff_of(request), form),
        "decides": access.may_decide(access.staff_of(request)),
        "notice": notice,
        **standing_now(reading),
    }
    with timezone.override(zone_of(reading.child)):
        return render(request, "readiness/child/evidence.html", context, status=status)


def _redraw(request: HttpRequest, child: Child, stage: str, now: datetime.datetime) -> Redraw:
    """The evidence again, on the record as it is now."""

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, read_now(child, now), stage, status, notice, form)

    return draw


@only(access.may_recommend)
@require_POST
def recommend(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, forms.RecommendForm, decisions.recommend)


@only(access.may_decide)
@require_POST
def sign(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, forms.SignForm, decisions.sign)


@only(access.may_decide)
@require_POST
def send_back(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, forms.SendBackForm, decisions.send_back)


@only(access.may_decide)
@require_POST
def write_exception(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, forms.ExceptionForm, decisions.write_exception)


def _answer(
    request: HttpRequest,
    child: uuid.UUID,
    stage: str,
    kind: type[forms.SeenForm],
    verb: decisions.Verb,
) -> HttpResponse:
    """One decision on one stage: done once, or the evidence again with the reason why not."""
    now, staff = timezone.now(), access.staff_of(request)
    found = seen_child(request, child, now)
    if stage not in read_now(found, now).ladder.engine.stage:
        raise Http404
    form = kind(request.POST)

    def work() -> str:
        verb(found, stage, staff, form.seen(), now, **form.said())
        return reverse("evidence", args=[child, stage])

    return decide(request, form, kind.name, now, work, _redraw(request, found, stage, now))
