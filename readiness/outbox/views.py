"""A file saved from a tablet's outbox, brought in at a desk; the lines that the log refused, and
what a director makes of each."""

import logging
import uuid
from typing import Any

from django.contrib import messages
from django.db import IntegrityError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from progression.models import RejectedLine
from readiness.outbox.file import OutboxFileError, read_outbox_file, take_outbox_file
from readiness.outbox.forms import LogForm, OutboxFileForm, StrikeForm
from readiness.outbox.page import file_result, line_shown, places_for, refused_rows, visible_lines
from readiness.outbox.resolving import (
    NotResolved,
    content_of,
    log_after_all,
    may_be_logged,
    strike,
)
from readiness.outbox.words import why_not_resolved
from studio import access
from studio.bodies import takes
from studio.imports.forms import MOST_SENT
from studio.models import Staff
from studio.people.today import site_today

log = logging.getLogger("ladder.outbox")

BUSY = gettext_lazy(
    "The server is busy. Bring the file in again: what is stored already is not stored twice."
)

# What became of the last file, by meeting: ids and numbers alone, in one's own session.
RESULT = "outbox-file"


@takes(MOST_SENT)
@access.only(access.may_import)
def outbox_file(request: HttpRequest) -> HttpResponse:
    """A director brings in lines: those of the classes of the director's locations."""
    staff, now = access.staff_of(request), timezone.now()
    visible = access.visible_meetings(staff, site_today(now))
    form = OutboxFileForm(request.POST or None, request.FILES or None)
    status = 422 if request.method == "POST" else 200
    if request.method == "POST" and form.is_valid():
        try:
            file = read_outbox_file(form.cleaned_data["file"].read())
            taken = take_outbox_file(file, visible, staff, now)
        except OutboxFileError as error:
            form.add_error("file", str(error))
        except (OperationalError, IntegrityError):
            # Or one of its lines came in through a tablet at this very moment.
            form.add_error("file", BUSY)
            status = 503
        else:
            # Not the tablet's name: it is free text of the file.
            log.info("file by=%s lines=%d", staff.uuid, len(file.records))
            request.session[RESULT] = taken.as_json()
            return redirect("outbox-file")
    context: dict[str, Any] = {"form": form}
    if request.method == "GET" and RESULT in request.session:
        context["taken"] = file_result(request.session[RESULT], visible)
    return render(request, "readiness/outbox/outbox_file.html", context, status=status)


@access.only(access.may_import)
@require_safe
def refused_lines(request: HttpRequest) -> HttpResponse:
    """What tablets sent of the director's classes that the log could not take."""
    staff, today = access.staff_of(request), site_today(timezone.now())
    rows, more = refused_rows(visible_lines(staff, today))
    context = {"rows": rows, "more": more}
    return render(request, "readiness/outbox/refused_lines.html", context)


@access.only(access.may_import)
@require_safe
def refused_line(request: HttpRequest, line: uuid.UUID) -> HttpResponse:
    return _line_page(request, _line(request, line))


@access.only(access.may_import)
@require_POST
def refused_line_log(request: HttpRequest, line: uuid.UUID) -> HttpResponse:
    """It is logged after all, for the child and the class that the form names."""
    found, staff, now = _line(request, line), access.staff_of(request), timezone.now()
    form = _log_form(found, staff, request.POST)
    if not form.is_valid():
        return _line_page(request, found, 422, log_form=form)
    meeting, child = form.cleaned_data["to"]
    try:
        log_after_all(found, meeting, child, staff, now)
    except NotResolved as refused:
        return _line_page(request, found, 409, notice=why_not_resolved(refused.code))
    messages.success(request, _("It is logged. Its author is asked to confirm it."))
    return redirect("refused-lines")


@access.only(access.may_import)
@require_POST
def refused_line_strike(request: HttpRequest, line: uuid.UUID) -> HttpResponse:
    """It counts for nothing; it is kept, with the reason."""
    found, staff = _line(request, line), access.staff_of(request)
    form = StrikeForm(request.POST)
    if not form.is_valid():
        return _line_page(request, found, 422, strike_form=form)
    try:
        strike(found, staff, timezone.now(), form.cleaned_data["reason"])
    except NotResolved as refused:
        return _line_page(request, found, 409, notice=why_not_resolved(refused.code))
    messages.success(request, _("It counts for nothing, and is kept with the reason."))
    return redirect("refused-lines")


def _line(request: HttpRequest, line: uuid.UUID) -> RejectedLine:
    lines = visible_lines(access.staff_of(request), site_today(timezone.now()))
    about = "meeting__group__location", "sender", "resolution__by"
    return get_object_or_404(lines.select_related(*about), uuid=line)


def _log_form(line: RejectedLine, staff: Staff, *data: Any) -> LogForm:
    places = places_for(line, staff, site_today(timezone.now()))
    return LogForm(places, content_of(line).get("child"), *data)


def _line_page(
    request: HttpRequest, line: RejectedLine, status: int = 200, **forms: Any
) -> HttpResponse:
    staff = access.staff_of(request)
    context = {
        "shown": line_shown(line, staff, site_today(timezone.now())),
        "log_form": _log_form(line, staff) if may_be_logged(line) else None,
        "strike_form": StrikeForm(),
        **forms,
    }
    return render(request, "readiness/outbox/refused_line.html", context, status=status)
