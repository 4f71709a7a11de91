"""The evidence for one stage of one child, with the forms that decide on it."""

import datetime
import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from readiness.child.decision_answer import Redraw, decide
from readiness.child.decision_forms import SnapshotForm
from readiness.child.lookup import read_now, visible_child
from readiness.evidence.forms import CloseForm, ExceptionForm, RecommendForm, SendBackForm, SignForm
from readiness.evidence.page import page_context
from readiness.record import decisions
from readiness.record.standings import Reading
from readiness.review.looks import note_look
from studio import access
from studio.access import only
from studio.models import Child
from studio.people.today import zone_of


@only(access.may_see_records)
@require_GET
def evidence(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    reading = read_now(visible_child(request, child, now), now)
    answer = _page(request, reading, stage)
    if access.may_decide(staff):
        note_look(staff, reading.child, now)
    return answer


def _page(
    request: HttpRequest,
    reading: Reading,
    stage: str,
    status: int = 200,
    notice: str = "",
    refused: object = None,
) -> HttpResponse:
    """The evidence on the record as it is; ``refused``: a form that was not taken."""
    if stage not in reading.ladder.engine.stage:
        raise Http404
    context = page_context(reading, stage, access.staff_of(request), refused)
    with timezone.override(zone_of(reading.child)):
        return render(
            request, "readiness/evidence/evidence.html", context | {"notice": notice}, status=status
        )


def _redraw(request: HttpRequest, child: Child, stage: str, now: datetime.datetime) -> Redraw:
    """The evidence again, on the record as it is now."""

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, read_now(child, now), stage, status, notice, form)

    return draw


@only(access.may_recommend)
@require_POST
def recommend(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, RecommendForm, decisions.recommend)


@only(access.may_decide)
@require_POST
def sign(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, SignForm, decisions.sign)


@only(access.may_decide)
@require_POST
def send_back(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, SendBackForm, decisions.send_back)


@only(access.may_decide)
@require_POST
def close(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, CloseForm, decisions.close)


@only(access.may_direct)
@require_POST
def write_exception(request: HttpRequest, child: uuid.UUID, stage: str) -> HttpResponse:
    return _answer(request, child, stage, ExceptionForm, decisions.write_exception)


def _answer(
    request: HttpRequest,
    child: uuid.UUID,
    stage: str,
    kind: type[SnapshotForm],
    verb: decisions.Verb,
) -> HttpResponse:
    """One decision on one stage: done once, or the evidence again with the reason why not."""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    if stage not in read_now(visible, now).ladder.engine.stage:
        raise Http404
    form = kind(request.POST)

    def work() -> str:
        verb(visible, stage, staff, form.snapshot(), now, **form.decision_fields())
        return reverse("evidence", args=[child, stage])

    return decide(request, form, kind.name, now, work, _redraw(request, visible, stage, now))
