"""Consent to hands-on spotting from the enrolment forms: one list for all, and slips to print."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from studio import access
from studio.consents.forms import SeenForm
from studio.consents.page import ConsentsPage, consents_file, consents_page, marked_answers
from studio.lists import csv_answer, wants_file
from studio.people.consent_words import slip_points
from studio.people.consents import write_down
from studio.people.today import site_today


@access.only(access.may_answer_for_all)
@require_http_methods(["GET", "HEAD", "POST"])
def consents(request: HttpRequest) -> HttpResponse:
    """The list; sent with “yes for all” it comes back so marked, with nothing stored yet."""
    staff, now = access.staff_of(request), timezone.now()
    today = site_today(now)
    if request.method != "POST":
        if wants_file(request):
            return csv_answer(consents_file(consents_page(staff, now, {})), "hands", today)
        form = SeenForm(today, initial={"seen_by": staff.called, "seen_on": today})
        return _list(request, form, consents_page(staff, now, {}))
    form = SeenForm(today, request.POST)
    page = consents_page(staff, now, request.POST.dict(), all_yes="all" in request.POST)
    if "all" in request.POST:
        return _list(request, form, page)
    answers = marked_answers(page)
    if not form.is_valid() or not answers:
        notice = "" if answers else _("Nobody was marked. Nothing was written down.")
        return _list(request, form, page, notice, status=422)
    seen = form.cleaned_data
    write_down(answers, seen["seen_by"], seen["seen_on"], staff, now)
    n = len(answers)
    written = ngettext("%(n)s answer is written down.", "%(n)s answers are written down.", n)
    messages.success(request, written % {"n": n})
    return redirect("consents")


def _list(
    request: HttpRequest, form: SeenForm, page: ConsentsPage, notice: str = "", status: int = 200
) -> HttpResponse:
    context = {"form": form, "page": page, "notice": notice}
    return render(request, "studio/consents/consents.html", context, status=status)


@access.only(access.may_answer_for_all)
@require_safe
def consent_slips(request: HttpRequest) -> HttpResponse:
    """A slip for each family that has not answered, to print and sign."""
    page = consents_page(access.staff_of(request), timezone.now(), {})
    slips = [{"child": row.child, "points": slip_points(row.child.called)} for row in page.rows]
    return render(request, "studio/consents/slips.html", {"slips": slips})
