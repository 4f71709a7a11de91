"""The page of the languages of letters, and a director's word that one was read."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from readiness.child.decision_answer import decide_and_go
from readiness.letters.languages.forms import ReadForm
from readiness.letters.languages.reading import letter_languages, mark_read
from studio import access
from studio.access import only


@only(access.may_write_letters)
@require_safe
def languages(request: HttpRequest) -> HttpResponse:
    may_mark = access.may_mark_language_read(access.staff_of(request))
    return _page(request, ReadForm() if may_mark else None)


def _page(request: HttpRequest, form: object, notice: str = "", status: int = 200) -> HttpResponse:
    context = {"languages": letter_languages(), "form": form, "notice": notice}
    return render(request, "readiness/letters/languages.html", context, status=status)


@only(access.may_mark_language_read)
@require_POST
def language_read(request: HttpRequest) -> HttpResponse:
    now, by, form = timezone.now(), access.staff_of(request), ReadForm(request.POST)

    def work() -> None:
        mark_read(form.cleaned_data["language"], form.cleaned_data["reader"], by, now)

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, form or ReadForm(), notice, status)

    return decide_and_go(request, form, now, work, reverse("letter-languages"), draw)
