"""A child's letter: seen on a page before it is printed, and as a PDF."""

import uuid
from dataclasses import dataclass
from http import HTTPStatus

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from readiness.letters.letter import Letter, write_letter
from readiness.letters.sheet import NotPrintable, print_letter
from readiness.letters.type import as_printed, on_one_line
from studio import access
from studio.models import Child

# What file systems and shells read as more than a letter.
UNFIT_FOR_A_FILE_NAME = dict.fromkeys(map(ord, '/\\:*?"<>|%'), "-")


class PrintedText(forms.CharField):
    """Text as it will be printed, so that what is counted is what the page has to hold."""

    def to_python(self, value: object) -> str:
        return as_printed(super().to_python(value) or "")


class LetterForm(forms.Form):
    own = PrintedText(
        label=gettext_lazy("A sentence of your own"),
        help_text=gettext_lazy("Printed after the greeting, as you type it. It is not kept."),
        max_length=300,
        error_messages={
            "max_length": gettext_lazy(
                "This is %(show_value)s characters long; the letter has room for %(limit_value)s."
            )
        },
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


@dataclass(frozen=True)
class Asked:
    """What was asked for. file: None if the letter cannot be printed; refusal says why."""

    child: Child
    form: LetterForm
    letter: Letter
    file: bytes | None
    refusal: str = ""

    @property
    def refused(self) -> bool:
        return bool(self.refusal or self.form.errors)


def _asked(request: HttpRequest, child_id: uuid.UUID) -> Asked:
    staff, now = access.staff_of(request), timezone.now()
    children = access.visible_children(staff, timezone.localdate(now))
    child = get_object_or_404(children, uuid=child_id)
    form = LetterForm(request.POST if request.method == "POST" else None)
    own = form.cleaned_data["own"] if form.is_valid() else ""
    letter = write_letter(child, staff, now, own)
    try:
        return Asked(child, form, letter, print_letter(letter))
    except NotPrintable as refusal:
        return Asked(child, form, letter, None, str(refusal))


def _page(request: HttpRequest, asked: Asked, status: HTTPStatus) -> HttpResponse:
    return render(request, "readiness/letters/letter.html", {"asked": asked}, status=status)


@access.only(access.may_see_records)
@require_http_methods(["GET", "HEAD", "POST"])
def letter(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """The letter's sentences; a POST shows them with the coach's own, and stores nothing."""
    asked = _asked(request, child)
    wrong = request.method == "POST" and asked.refused
    return _page(request, asked, HTTPStatus.UNPROCESSABLE_ENTITY if wrong else HTTPStatus.OK)


@access.only(access.may_see_records)
@require_http_methods(["GET", "HEAD", "POST"])
def letter_pdf(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """The letter as a file. What a coach typed comes in a POST, never in the address."""
    asked = _asked(request, child)
    if asked.file is None or asked.refused:
        return _page(request, asked, HTTPStatus.UNPROCESSABLE_ENTITY)
    response = HttpResponse(asked.file, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(True, _file_name(asked.letter))
    return response


def _file_name(letter: Letter) -> str:
    title = _("Letter about %(child)s, %(date)s") % {"child": letter.child, "date": letter.date}
    return f"{on_one_line(title.translate(UNFIT_FOR_A_FILE_NAME))}.pdf"
