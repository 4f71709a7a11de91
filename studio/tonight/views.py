"""Tonight's classes, and opening a meeting."""

import datetime
import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from studio import access
from studio.classes.changing import make_due_moves
from studio.halls.emergency import all_missing
from studio.models import ClassGroup, Meeting, Staff
from studio.people.class_dates import Evening, evenings
from studio.people.meetings import meeting_on
from studio.people.today import site_today
from studio.people.told_apart import name_classes
from studio.staff.accounts import told_to

# What a form of this page may open besides the floor page.
PAGES_OF_A_MEETING = {"stations": "stations", "second": "second-grade"}


def tonight(request: HttpRequest) -> HttpResponse:
    """Today's classes, the other days' classes, and the meetings one stands in for."""
    staff = access.staff_of(request)
    now = timezone.now()
    make_due_moves(now)
    groups = list(
        access.visible_classes(staff)
        .select_related("location")
        .order_by("weekday", "starts_at", "pk")
    )
    days = {group.location_id: group.location.day_of(now) for group in groups}
    tonight = _evenings(groups, days)
    at_it = {evening.group.pk for evening in tonight}
    standing_in = _standing_in(request, now)
    name_classes([*groups, *(meeting.group for meeting in standing_in)])
    halls = {group.location for group in groups} | {m.hall for m in standing_in}
    if access.may_confirm_halls(staff):
        # The frame of the page names their own, with the way to enter it.
        halls -= set(access.visible_locations(staff))
    context = {
        "today": min(days.values(), default=site_today(now)),
        "tonight": tonight,
        "other_days": [group for group in groups if group.pk not in at_it],
        "standing_in": standing_in,
        "missing": all_missing(sorted(halls, key=lambda hall: (hall.name, hall.pk))),
        "told": told_to(staff, now) if access.may_end_access(staff) else [],
        **_ways_on(staff),
    }
    return render(request, "studio/tonight/tonight.html", context)


def _ways_on(staff: Staff) -> dict[str, bool]:
    """Which other pages this one leads to."""
    return {
        "sees_records": access.may_see_records(staff),
        "keeps_desk": access.may_keep_desk(staff),
        "plans_stations": access.may_plan_stations(staff),
        "compares_grades": access.may_compare_grades(staff),
    }


def _evenings(groups: list[ClassGroup], days: dict[int, datetime.date]) -> list[Evening]:
    """Those of today, in each hall's own day; a cancelled one too, which says so."""
    if not groups:
        return []
    found = evenings(groups, min(days.values()), max(days.values()))
    today = [each for each in found if each.day == days[each.group.location_id]]
    return [each for each in today if each.state in ("", "cancelled")]


def _standing_in(request: HttpRequest, now: datetime.datetime) -> list[Meeting]:
    """Of classes that are not one's own; also those held in a director's hall on one date."""
    staff = access.staff_of(request)
    meetings = (
        access.visible_meetings(staff, site_today(now))
        .filter(cancelled=False, date__gte=site_today(now) - datetime.timedelta(days=1))
        .exclude(group__in=access.visible_classes(staff))
        .select_related("group__location", "location")
        .order_by("date", "starts_at", "pk")
    )
    return list(meetings)


@require_POST
def open_meeting(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    """Open today's meeting of a class, on the floor page or on another page of it; opening it
    twice opens the same one."""
    staff = access.staff_of(request)
    make_due_moves(timezone.now())
    class_group: ClassGroup = get_object_or_404(
        access.visible_classes(staff).select_related("location"), uuid=group
    )
    meeting = meeting_on(class_group, class_group.location.day_of(timezone.now()))
    if meeting.cancelled:
        sentence = _("%(name)s is cancelled today. A director can let it take place after all.")
        messages.warning(request, sentence % {"name": class_group.name})
        return redirect("tonight")
    page = PAGES_OF_A_MEETING.get(request.POST.get("to", ""), "floor")
    return redirect(page, meeting.uuid)
