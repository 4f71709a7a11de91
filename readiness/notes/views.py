"""Notes come in from a tablet; a director keeps the list of ready ones."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from readiness.floor.pack_children import children_of
from readiness.notes.forms import ReadyNotesForm, UnreadableNotes, read_notes
from readiness.notes.keeping import change_ready_notes, keep_notes
from readiness.notes.keeping import ready_notes as ready_now
from studio import access
from studio.error_views import json_error
from studio.people.meetings import meeting_for
from studio.people.today import site_today


@require_POST
def floor_notes(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """A tablet's notes, by their own call: they are no part of the log of lines."""
    staff, now = access.staff_of(request), timezone.now()
    visible = meeting_for(staff, meeting, site_today(now))
    if visible is None:
        raise Http404
    if not access.may_write_notes(staff):
        return json_error(403, "not-allowed", _("A guest for a day writes no notes."))
    children = {str(child.uuid): child for child in children_of(visible)}
    try:
        notes, refused = read_notes(request.body, children)
    except UnreadableNotes:
        return json_error(400, "unreadable", _("These notes could not be read."))
    keep_notes(notes, visible, staff, now)
    return JsonResponse({"kept": [str(note.id) for note in notes], "refused": refused})


floor_notes.answers_json = True  # type: ignore[attr-defined]


@access.only(access.may_keep_notes)
@require_http_methods(["GET", "HEAD", "POST"])
def ready_notes(request: HttpRequest) -> HttpResponse:
    form = ReadyNotesForm(request.POST or None, initial={"texts": "\n".join(ready_now())})
    if request.method == "POST" and form.is_valid():
        change_ready_notes(form.cleaned_data["texts"])
        messages.success(request, _("The list is kept. Tablets have it with their next class."))
        return redirect("ready-notes")
    status = 422 if request.method == "POST" else 200
    return render(request, "readiness/notes/ready_notes.html", {"form": form}, status=status)
