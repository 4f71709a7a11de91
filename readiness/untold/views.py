"""The families who are still to be told of a head or a neck."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from readiness.record.ladders import Ladders
from readiness.untold.page import untold_of
from studio import access
from studio.people.today import site_today


@access.only(access.may_hear_of_untold)
@require_safe
def untold(request: HttpRequest) -> HttpResponse:
    staff, today = access.staff_of(request), site_today(timezone.now())
    children = access.visible_children(staff, today)
    context = {"untold": untold_of(children, Ladders().named_on(today), today)}
    return render(request, "readiness/untold/untold.html", context)
