"""The page of one sentence of a letter, with what it rests on."""

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from readiness.child.lookup import visible_child
from readiness.letters.rests_on.page import sentence_page
from studio import access
from studio.people.today import zone_of


@access.only(access.may_write_letters)
@require_GET
def letter_rests_on(request: HttpRequest, child: uuid.UUID, sentence: str) -> HttpResponse:
    """For whoever may read the letter. 409: the letter says something else by now."""
    now = timezone.now()
    found = visible_child(request, child, now)
    if not found.is_known:
        raise Http404
    page = sentence_page(found, sentence, now)
    with timezone.override(zone_of(found)):
        return render(
            request,
            "readiness/letters/rests_on.html",
            {"page": page},
            status=200 if page.sentence else 409,
        )
