"""A note for the door: what may be told tonight, one note before it is given, and one given."""

import datetime
import uuid
from http import HTTPStatus

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from readiness.child.decision_answer import decide
from readiness.child.lookup import read_now, visible_child
from readiness.door_note.page import draft_of, find, list_context, note_form, versions_of
from readiness.record.decisions import DecisionRefused
from readiness.record.told.door_notes import give_note, notes_given
from studio import access
from studio.access import only
from studio.models import Child
from studio.people.today import zone_of
from studio.people.told_apart import who


@only(access.may_write_letters)
@require_safe
def door_notes(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    reading = read_now(visible_child(request, child, now), now)
    with timezone.override(zone_of(reading.child)):
        return render(request, "readiness/door_note/notes.html", list_context(reading))


@only(access.may_write_letters)
@require_http_methods(["GET", "HEAD", "POST"])
def door_note(request: HttpRequest, child: uuid.UUID, kind: str, start: uuid.UUID) -> HttpResponse:
    """The note as it would read; a POST shows it with what the coach says, and stores nothing."""
    now = timezone.now()
    found = visible_child(request, child, now)
    return _page(request, found, kind, start, now, posted=request.method == "POST")


def _page(
    request: HttpRequest, child: Child, kind: str, start: uuid.UUID, now: datetime.datetime,
    notice: str = "", posted: bool = False, status: int = 200,
) -> HttpResponse:  # fmt: skip
    reading = read_now(child, now)
    what = find(reading, kind, start)
    if what is None:
        raise Http404
    form = note_form(what, child, request.POST if posted else None)
    with timezone.override(zone_of(child)):
        draft = draft_of(what, reading, form, access.staff_of(request))
        context = {
            "child": child,
            "who": who(child, reading.read.day),
            "what": what,
            "form": form,
            "missing": draft.missing,
            "mark": draft.mark,
            "token": uuid.uuid4(),
            "versions": versions_of(draft.words),
            "ready": posted and form.is_valid(),
            "notice": notice,
        }
        if posted and form.errors and status == HTTPStatus.OK:
            status = HTTPStatus.UNPROCESSABLE_ENTITY
        return render(request, "readiness/door_note/note.html", context, status=status)


@only(access.may_write_letters)
@require_POST
def door_note_give(
    request: HttpRequest, child: uuid.UUID, kind: str, start: uuid.UUID
) -> HttpResponse:
    """Given to the adult named: kept as it was printed, and the family counts as told."""
    now, staff = timezone.now(), access.staff_of(request)
    found = visible_child(request, child, now)
    reading = read_now(found, now)
    what = find(reading, kind, start)
    if what is None:
        raise Http404
    form = note_form(what, found, request.POST)

    def work() -> str:
        with timezone.override(zone_of(found)):
            draft = draft_of(what, reading, form, staff)
        if draft.mark != form.cleaned_data["seen"]:
            raise DecisionRefused("note-changed")
        note = give_note(found, staff, now, what, form.told, draft.words)
        return reverse("door-note-given", args=[found.uuid, note.pk])

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, found, kind, start, now, notice, True, status)

    return decide(request, form, form.name, now, work, draw)


@only(access.may_write_letters)
@require_safe
def door_note_given(request: HttpRequest, child: uuid.UUID, note: uuid.UUID) -> HttpResponse:
    """As it was given, to be read and printed again."""
    found = visible_child(request, child, timezone.now())
    given = get_object_or_404(notes_given(found), pk=note)
    context = {"child": found, "note": given, "versions": versions_of(given.words)}
    with timezone.override(zone_of(found)):
        return render(request, "readiness/door_note/given.html", context)
