"""The planner's page, and the graders' sheets."""

import datetime
import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_list_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from readiness.hour.page import Sheet, plan_form, planner, planner_context, sheet_of
from readiness.hour.plan import NotTaken, hours_of, plan_hour, write_down
from readiness.hour.words import NOT_TAKEN, NOT_THAT_DAY, planned_text, written_text
from studio import access
from studio.access import only
from studio.idempotency import run_once
from studio.people.today import site_today

# So long after an hour its graders still see their sheets.
SHEET_STAYS = datetime.timedelta(days=7)


@only(access.may_plan)
@require_http_methods(["GET", "HEAD", "POST"])
def evidence_hour(request: HttpRequest) -> HttpResponse:
    """Who lacks only turns, what six more would probably decide, and who comes."""
    staff, now = access.staff_of(request), timezone.now()
    today, data = site_today(now), request.POST if request.method == "POST" else None
    shown = planner(staff, now, (data or request.GET).get("evening", ""))
    form = plan_form(shown, staff, today, data)
    evening = shown.evening
    if data is None or evening is None or not form.is_valid():
        context = planner_context(shown, form, staff, today)
        status = 200 if data is None else 422
        return render(request, "readiness/hour/planner.html", context, status=status)
    said = form.cleaned_data
    chosen = [each for each in shown.open_to if str(each.child.uuid) in said["children"]]

    def work() -> str:
        plan_hour(evening.group, evening.day, chosen, (said["first"], said["second"]), staff, now)
        messages.success(request, planned_text(len(chosen)))
        return reverse("evidence-hour")

    address, _done = run_once(str(said["token"]), form.name, request.path, staff, now, work)
    return redirect(address)


@only(access.may_grade_hours)
@require_http_methods(["GET", "HEAD", "POST"])
def hour_sheet(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """A grader's own turns, to write down; for the planner both sheets, to print."""
    staff, now = access.staff_of(request), timezone.now()
    rows = get_list_or_404(hours_of(staff, site_today(now) - SHEET_STAYS), meeting__uuid=meeting)
    sheet = sheet_of(rows, staff, now, request.POST if request.method == "POST" else None)
    if request.method != "POST":
        return _sheet(request, sheet)
    if not sheet.grades:
        raise Http404
    if not sheet.today:
        return _sheet(request, sheet, str(NOT_THAT_DAY), 409)
    if not sheet.is_valid():
        return _sheet(request, sheet, status=422)

    def work() -> str:
        turns = write_down(sheet.seen(), staff, now)
        messages.success(request, written_text(turns))
        return request.path

    token = str(sheet.token.cleaned_data["token"])
    try:
        address, _done = run_once(token, sheet.token.name, request.path, staff, now, work)
    except NotTaken:
        return _sheet(request, sheet, str(NOT_TAKEN), 409)
    return redirect(address)


def _sheet(request: HttpRequest, sheet: Sheet, notice: str = "", status: int = 200) -> HttpResponse:
    context = {"sheet": sheet, "notice": notice}
    return render(request, "readiness/hour/sheet.html", context, status=status)
