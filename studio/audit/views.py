"""The audit log, for directors."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from studio import access
from studio.audit.forms import FilterForm
from studio.audit.page import audit_file, audit_page, entries_for
from studio.lists import csv_answer, wants_file
from studio.people.today import site_today


@access.only(access.may_read_audit)
@require_safe
def audit(request: HttpRequest) -> HttpResponse:
    staff, today, form = (
        access.staff_of(request),
        site_today(timezone.now()),
        FilterForm(request.GET),
    )
    asked = form.cleaned_data if form.is_valid() else {}
    found = entries_for(staff, asked, today)
    if wants_file(request):
        return csv_answer(audit_file(found, staff, today), "audit", today)
    page, rows = audit_page(found, request.GET.get("page", ""), staff, today)
    status = 200 if form.is_valid() else 422
    context = {"form": form, "page": page, "rows": rows}
    return render(request, "studio/audit/audit.html", context, status=status)
