"""The letters about a child that were printed: listed, printed again, and how each was given."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from readiness.child.lookup import visible_child
from readiness.letters.kept.files import file_name
from readiness.letters.kept.forms import GivenForm
from readiness.letters.kept.keeping import write_down_given
from readiness.letters.kept.page import kept_letter as find_kept
from readiness.letters.kept.page import kept_page
from studio import access
from studio.people.today import local_today

PAGE = "readiness/letters/kept.html"


@access.only(access.may_write_letters)
@require_safe
def kept_letters(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    visible = visible_child(request, child, now)
    today = local_today([visible], now)[visible.pk]
    return render(request, PAGE, kept_page(visible, today))


@access.only(access.may_write_letters)
@require_safe
def kept_letter(request: HttpRequest, child: uuid.UUID, letter: uuid.UUID) -> HttpResponse:
    """The file, byte for byte as it was printed."""
    kept = find_kept(visible_child(request, child, timezone.now()), letter)
    if not kept.file:
        raise Http404
    response = HttpResponse(kept.file, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(True, file_name(kept))
    return response


@access.only(access.may_write_letters)
@require_POST
def letter_given(request: HttpRequest, child: uuid.UUID, letter: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    visible = visible_child(request, child, now)
    kept, today = find_kept(visible, letter).letter, local_today([visible], now)[visible.pk]
    form = GivenForm(kept, today, request.POST)
    if not form.is_valid():
        context = kept_page(visible, today, form, str(letter))
        return render(request, PAGE, context, status=422)
    said = form.cleaned_data
    write_down_given(kept, said["how"], said["on"], access.staff_of(request), now)
    messages.success(request, _("Written down."))
    return redirect("kept-letters", visible.uuid)
