"""A child's letter: seen on a page before it is printed, and as a PDF."""

import uuid
from http import HTTPStatus
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from readiness.child.lookup import visible_child
from readiness.letters.forms import LetterForm
from readiness.letters.languages.reading import letter_languages
from readiness.letters.letter import letter_facts, write_letter
from readiness.letters.page import LetterPage, letter_page
from readiness.letters.type import on_one_line
from studio import access
from studio.people.told_apart import full_name

# What file systems and shells read as more than a letter.
UNFIT_FOR_A_FILE_NAME = dict.fromkeys(map(ord, '/\\:*?"<>|%'), "-")


def _letter_page(request: HttpRequest, child_id: uuid.UUID) -> LetterPage:
    staff, now = access.staff_of(request), timezone.now()
    child = visible_child(request, child_id, now)
    if not child.is_known:
        raise Http404
    facts = letter_facts(child, now)
    may_tell_review = access.may_decide(staff) and bool(facts.for_review())
    form = LetterForm(request.POST if request.method == "POST" else None, may_tell_review)
    told: dict[str, Any] = form.cleaned_data if form.is_valid() else {}
    return letter_page(child, form, write_letter(facts, staff, **told), facts.day)


def _render(request: HttpRequest, page: LetterPage, status: HTTPStatus) -> HttpResponse:
    context = {"page": page, "languages": letter_languages()}
    return render(request, "readiness/letters/letter.html", context, status=status)


@access.only(access.may_write_letters)
@require_http_methods(["GET", "HEAD", "POST"])
def letter(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """The letter's sentences; a POST shows them with the coach's own, and stores nothing."""
    page = _letter_page(request, child)
    wrong = request.method == "POST" and page.refused
    return _render(request, page, HTTPStatus.UNPROCESSABLE_ENTITY if wrong else HTTPStatus.OK)


@access.only(access.may_write_letters)
@require_http_methods(["GET", "HEAD", "POST"])
def letter_pdf(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """The letter as a file. What a coach typed comes in a POST, never in the address."""
    page = _letter_page(request, child)
    if page.file is None or page.refused:
        return _render(request, page, HTTPStatus.UNPROCESSABLE_ENTITY)
    response = HttpResponse(page.file, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(True, _file_name(page))
    return response


def _file_name(page: LetterPage) -> str:
    values = {"child": full_name(page.child), "date": page.letter.date}
    title = _("Letter about %(child)s, %(date)s") % values
    return f"{on_one_line(title.translate(UNFIT_FOR_A_FILE_NAME))}.pdf"
