"""A child's letter: seen on a page before it is printed, prepared for later, and printed."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from readiness.child.lookup import visible_child
from readiness.letters.languages.reading import letter_languages
from readiness.letters.page import LetterPage
from studio import access


def _letter_page(request: HttpRequest, child_id: uuid.UUID) -> LetterPage:
    staff, now = access.staff_of(request), timezone.now()
    child = visible_child(request, child_id, now)
    if not child.is_known:
        raise Http404
    data: Any = request.POST if request.method == "POST" else None
    return LetterPage(child, staff, now, data, request.GET.get("corrects", ""))


def _render(
    request: HttpRequest, page: LetterPage, refused: bool, why_not: str = ""
) -> HttpResponse:
    context = {"page": page, "why_not": why_not, "languages": letter_languages()}
    status = 422 if refused else 200
    return render(request, "readiness/letters/letter.html", context, status=status)


@access.only(access.may_write_letters)
@require_http_methods(["GET", "HEAD", "POST"])
def letter(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """The letter's sentences; a POST shows them with the coach's own, and stores nothing."""
    page = _letter_page(request, child)
    return _render(request, page, request.method == "POST" and page.refused)


@access.only(access.may_write_letters)
@require_POST
def letter_prepare(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """Kept for later: what was typed, or why it is held back."""
    page = _letter_page(request, child)
    if page.refused:
        return _render(request, page, refused=True)
    page.prepare()
    messages.success(request, _("Kept for later. Nothing is printed yet."))
    return redirect("letter", page.child.uuid)


@access.only(access.may_write_letters)
@require_POST
def letter_pdf(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """Printed, kept as it was printed, and sent as a file."""
    page = _letter_page(request, child)
    if page.refused or page.why_not():
        return _render(request, page, refused=True, why_not="" if page.refused else page.why_not())
    return redirect("kept-letter", page.child.uuid, page.print().uuid)
