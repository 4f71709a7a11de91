"""Letters of a class, or of all: read side by side, prepared, printed some at a time."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from readiness.letters.kept.files import one_file, zip_file
from readiness.letters.many import runs
from readiness.letters.many.page import (
    MOST_RUNS,
    ClassLetters,
    children_with_letters,
    classes_with_letters,
)
from readiness.models import LetterRun
from studio import access
from studio.models import ClassGroup


@access.only(access.may_write_letters)
@require_safe
def letters(request: HttpRequest) -> HttpResponse:
    """The classes, and what was printed together lately."""
    staff = access.staff_of(request)
    context = {
        "classes": classes_with_letters(staff),
        "runs": runs.runs_of(staff)[:MOST_RUNS],
        "for_all": access.may_read_letters(staff),
    }
    return render(request, "readiness/letters/letters.html", context)


@access.only(access.may_read_letters)
@require_POST
def studio_letters(request: HttpRequest) -> HttpResponse:
    """Print the letters of all children of a director's halls."""
    staff, now = access.staff_of(request), timezone.now()
    run = runs.begin(children_with_letters(staff, now), staff, now)
    return redirect("letter-run", run.uuid)


@access.only(access.may_write_letters)
@require_http_methods(["GET", "HEAD", "POST"])
def class_letters(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    """Each letter beside what is added to it; a POST keeps that, and prints the chosen ones."""
    staff, now = access.staff_of(request), timezone.now()
    mine: ClassGroup = get_object_or_404(access.visible_classes(staff), uuid=group)
    data = request.POST if request.method == "POST" else None
    page = ClassLetters(staff, mine, now, data)
    if data is None or "do" not in data or not page.is_valid():
        context, status = page.context(), 200 if data is None else 422
        return render(request, "readiness/letters/class.html", context, status=status)
    page.keep()
    if data["do"] == "print" and page.chosen():
        return redirect("letter-run", runs.begin(page.chosen(), staff, now).uuid)
    messages.success(request, _("Kept for later. Nothing is printed yet."))
    return redirect("class-letters", mine.uuid)


def _run(request: HttpRequest, run: uuid.UUID) -> tuple[LetterRun, runs.Progress]:
    staff = access.staff_of(request)
    found: LetterRun = get_object_or_404(runs.runs_of(staff), uuid=run)
    return found, runs.progress_of(found, staff, timezone.now())


@access.only(access.may_write_letters)
@require_safe
def letter_run(request: HttpRequest, run: uuid.UUID) -> HttpResponse:
    """How far it has come; the page asks for the next ones by itself."""
    found, progress = _run(request, run)
    context = {"run": found, "progress": progress}
    return render(request, "readiness/letters/run.html", context)


@access.only(access.may_write_letters)
@require_POST
def letter_run_on(request: HttpRequest, run: uuid.UUID) -> HttpResponse:
    """Print the next few."""
    staff = access.staff_of(request)
    found: LetterRun = get_object_or_404(runs.runs_of(staff), uuid=run)
    runs.go_on(found, staff, timezone.now())
    return redirect("letter-run", found.uuid)


@access.only(access.may_write_letters)
@require_safe
def letter_run_pdf(request: HttpRequest, run: uuid.UUID) -> HttpResponse:
    _found, progress = _run(request, run)
    letters = runs.with_files(progress.done)
    if not letters:
        raise Http404
    return _file(one_file(letters), "application/pdf", _("Letters.pdf"))


@access.only(access.may_write_letters)
@require_safe
def letter_run_zip(request: HttpRequest, run: uuid.UUID) -> HttpResponse:
    _found, progress = _run(request, run)
    letters = runs.with_files(progress.done)
    if not letters:
        raise Http404
    return _file(zip_file(letters), "application/zip", _("Letters.zip"))


def _file(content: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    response["Content-Disposition"] = content_disposition_header(True, name)
    return response
