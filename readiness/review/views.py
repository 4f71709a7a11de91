"""The review, and a class at a glance."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from readiness.record.ladders import Ladders
from readiness.review import page
from readiness.review.rows import alphabetical, children_in, children_of, rows_of
from studio import access
from studio.access import only
from studio.people.today import site_today
from studio.templatetags.marks import STATE_WORDS


@only(access.may_see_records)
@require_GET
def review(request: HttpRequest) -> HttpResponse:
    staff, now, ladders = access.staff_of(request), timezone.now(), Ladders()
    rows = rows_of(children_of(staff, site_today(now)), staff, now, ladders)
    filters = page.Filters(
        location=request.GET.get("location", ""),
        group=request.GET.get("class", ""),
        state=request.GET.get("state", ""),
    )
    # The week shows every state, whatever the filter: a stop sign is never filtered out of it.
    in_place = [row for row in rows if filters.in_place(row)]
    context = {
        "lead": page.lead(rows),
        "rows": [row for row in in_place if filters.matches(row)],
        "all": len(rows),
        "filters": filters,
        "states": STATE_WORDS.items(),
        **page.places_of(rows),
        "week": page.week_of(in_place, staff, ladders),
        "brings_in": access.may_import(staff),
    }
    return render(request, "readiness/review/review.html", context)


@only(access.may_see_records)
@require_GET
def class_group(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    """The children of a class, each with the next stage."""
    staff, now = access.staff_of(request), timezone.now()
    classes = access.visible_classes(staff).select_related("location")
    visible = get_object_or_404(classes, uuid=group)
    rows = rows_of(children_in(visible, visible.location.day_of(now)), staff, now, Ladders())
    rows.sort(key=lambda row: (alphabetical(row.child.called), row.child.pk))
    return render(request, "readiness/review/class.html", {"group": visible, "rows": rows})
