"""A child's whole record: given out, asked to be erased, erased."""

import uuid
from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from readiness.child.lookup import visible_child
from readiness.privacy.forms import FileForm, SureForm
from readiness.privacy.page import file_answer, record_page, waiting_list
from readiness.privacy.words import NOT_ANSWERED
from readiness.record.privacy.erasing import ask, erase, take_back
from readiness.record.two_people.second_yes import NotAnswered
from studio import access
from studio.models import Child
from studio.people.today import site_today

STATUS_OF = {"may-not": 403, "unknown": 404, "answered": 409}


@access.only(access.may_export)
@require_safe
def child_record(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    return _page(request, visible_child(request, child, timezone.now()))


def _page(
    request: HttpRequest,
    child: Child,
    status: int = 200,
    notice: str = "",
    sure: SureForm | None = None,
) -> HttpResponse:
    context = record_page(child, access.staff_of(request), timezone.now(), sure)
    context["notice"] = notice
    return render(request, "readiness/privacy/record.html", context, status=status)


@access.only(access.may_export)
@require_POST
def record_file(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, form = timezone.now(), FileForm(request.POST)
    found = visible_child(request, child, now)
    if not form.is_valid():
        return _page(request, found, 422, _("Say which file: JSON or PDF."))
    return file_answer(found, form.cleaned_data["kind"], access.staff_of(request), now)


@access.only(access.may_erase)
@require_safe
def erasures(request: HttpRequest) -> HttpResponse:
    """Children who are to be erased and wait for an answer."""
    children = access.visible_children(access.staff_of(request), site_today(timezone.now()))
    context = {"rows": waiting_list(children.values("pk"))}
    return render(request, "readiness/privacy/erasures.html", context)


@access.only(access.may_erase)
@require_POST
def erase_ask(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    found = visible_child(request, child, now)
    form = SureForm(request.POST)
    if not form.is_valid():
        return _page(request, found, 422, sure=form)
    done = _("It is asked. Nothing is erased before another director has said yes.")
    return _answered(request, found, lambda: ask(found, staff, now), done, "child-record")


@access.only(access.may_erase)
@require_POST
def erase_yes(request: HttpRequest, child: uuid.UUID, erasure: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    found = visible_child(request, child, now)
    form = SureForm(request.POST)
    if not form.is_valid():
        return _page(request, found, 422, sure=form)
    done = _("The child is erased. The turns stay as counts, under a record without a name.")
    return _answered(request, found, lambda: erase(erasure, found, staff, now), done, "erasures")


@access.only(access.may_erase)
@require_POST
def erase_take_back(request: HttpRequest, child: uuid.UUID, erasure: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    found = visible_child(request, child, now)
    done = _("It is taken back. Everything stays.")
    return _answered(
        request, found, lambda: take_back(erasure, found, staff, now), done, "child-record"
    )


def _answered(
    request: HttpRequest, child: Child, work: Callable[[], object], done: str, then: str
) -> HttpResponse:
    try:
        work()
    except NotAnswered as refused:
        sentence = str(NOT_ANSWERED[refused.code])
        return _page(request, child, STATUS_OF.get(refused.code, 422), sentence)
    messages.success(request, done)
    return redirect(then, child.uuid) if then == "child-record" else redirect(then)
