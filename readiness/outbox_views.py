"""The page “Tablet file in”: a file saved from a tablet's outbox, brought in at a desk."""

import logging
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from readiness.forms import OutboxFileForm
from readiness.outbox_file import OutboxFileError, read_outbox_file, take_outbox_file
from readiness.outbox_page import shown
from studio import access

log = logging.getLogger("ladder.outbox")

# What became of the last file, by meeting: ids and numbers alone, in one's own session.
RESULT = "outbox-file"


def outbox_file(request: HttpRequest) -> HttpResponse:
    """Whoever is signed in brings in lines: those of the classes that they may see."""
    staff, now = access.staff_of(request), timezone.now()
    visible = access.visible_meetings(staff)
    form = OutboxFileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        try:
            file = read_outbox_file(form.cleaned_data["file"].read())
        except OutboxFileError as error:
            form.add_error("file", str(error))
        else:
            taken = take_outbox_file(file, visible, staff, now)
            # Not the tablet's name: it is free text of the file.
            log.info("file by=%s lines=%d", staff.uuid, len(file.records))
            request.session[RESULT] = taken.as_json()
            return redirect("outbox-file")
    context: dict[str, Any] = {"form": form}
    if request.method == "GET" and RESULT in request.session:
        context["taken"] = shown(request.session[RESULT], visible)
    status = 422 if request.method == "POST" else 200
    return render(request, "readiness/outbox_file.html", context, status=status)
