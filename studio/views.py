"""Signing in and out, and tonight's classes."""

import datetime
import uuid

from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from studio import access
from studio.models import ClassGroup, Meeting
from studio.people.meetings import meeting_on
from studio.sign_in.next_page import own_address
from studio.sign_in.owner_cookie import delete_owner_cookie, set_owner_cookie
from studio.tablets.enrolment import tablet_of


# Public: nobody can be signed in before signing in.
@login_not_required
def sign_in(request: HttpRequest) -> HttpResponse:
    posted = request.method == "POST"
    form = AuthenticationForm(request, data=request.POST if posted else None)
    if posted and form.is_valid():
        if access.may_sign_in(form.get_user(), timezone.localdate()):
            # Anew, also for the same person: what a sign-in by PIN left behind ends here.
            logout(request)
            login(request, form.get_user())
            response = redirect(own_address(request, request.POST.get("next", "")))
            set_owner_cookie(response, form.get_user())
            return response
        form.add_error(None, _("This is a guest's account, and today is not the day it is for."))
    status = 422 if posted else 200
    wanted = request.GET.get("next", request.POST.get("next", ""))
    context = {"form": form, "next": wanted, "tablet": tablet_of(request)}
    return render(request, "studio/sign_in/sign_in.html", context, status=status)


# Public: signing out twice is not an error.
@login_not_required
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    response = redirect("sign-in")
    delete_owner_cookie(response)
    return response


def tonight(request: HttpRequest) -> HttpResponse:
    """Today's classes, the other days' classes, and the meetings one stands in for."""
    staff = access.staff_of(request)
    now = timezone.now()
    groups = (
        access.visible_classes(staff)
        .select_related("location")
        .order_by("weekday", "starts_at", "pk")
    )
    today_by_location = {group.location_id: group.location.day_of(now) for group in groups}
    is_today = {g.pk: g.weekday == today_by_location[g.location_id].weekday() for g in groups}
    context = {
        "today": min(today_by_location.values(), default=timezone.localdate(now)),
        "tonight": [group for group in groups if is_today[group.pk]],
        "other_days": [group for group in groups if not is_today[group.pk]],
        "standing_in": _standing_in(request, now),
        "sees_records": access.may_see_records(staff),
    }
    return render(request, "studio/tonight.html", context)


def _standing_in(request: HttpRequest, now: datetime.datetime) -> list[Meeting]:
    staff = access.staff_of(request)
    meetings = (
        access.visible_meetings(staff)
        .filter(staff=staff, date__gte=now.date() - datetime.timedelta(days=1))
        .exclude(group__in=access.visible_classes(staff))
        .select_related("group", "group__location")
        .order_by("date", "starts_at", "pk")
    )
    return list(meetings)


@require_POST
def open_meeting(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    """Open today's meeting of a class; opening it twice opens the same one."""
    staff = access.staff_of(request)
    found: ClassGroup = get_object_or_404(
        access.visible_classes(staff).select_related("location"), uuid=group
    )
    meeting = meeting_on(found, found.location.day_of(timezone.now()))
    return redirect("floor", meeting.uuid)
