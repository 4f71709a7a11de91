"""The front desk's page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from readiness.desk.first_steps import first_steps
from readiness.desk.jobs import JOBS
from studio import access
from studio.people.today import site_today


@access.only(access.may_keep_desk)
@require_safe
def desk(request: HttpRequest) -> HttpResponse:
    steps = first_steps(access.staff_of(request), site_today(timezone.now()))
    done = sum(step.done for step in steps)
    upcoming = next((step for step in steps if not step.done), None)
    context = {"jobs": JOBS, "steps": steps, "done": done, "upcoming": upcoming}
    return render(request, "readiness/desk/desk.html", context)
