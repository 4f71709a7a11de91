"""The end of a term: what classes are for, and who would move."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from readiness.term.page import TermEnd
from studio import access


@access.only(access.may_plan)
@require_http_methods(["GET", "HEAD", "POST"])
def term_end(request: HttpRequest) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    term = TermEnd(access.staff_of(request), timezone.now(), data)
    if data is None or not term.is_valid():
        status = 200 if data is None else 422
        return render(request, "readiness/term/term_end.html", term.context(), status=status)
    term.keep()
    messages.success(request, _("The classes' stages and places are kept."))
    return redirect("term-end")
