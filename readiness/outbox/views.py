"""The page “Bring in a tablet’s file”: one saved from a tablet's outbox, brought in at a desk."""

import logging
from typing import Any

from django.db import IntegrityError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from readiness.outbox.file import OutboxFileError, read_outbox_file, take_outbox_file
from readiness.outbox.forms import OutboxFileForm
from readiness.outbox.page import file_result, refused_rows
from studio import access
from studio.bodies import takes
from studio.imports.forms import MOST_SENT
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
    rows, more = refused_rows(access.visible_meetings(staff, today))
    context = {"rows": rows, "more": more}
    return render(request, "readiness/outbox/refused_lines.html", context)
