"""The review, and a class at a glance."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from readiness.record.ladders import Ladders
from readiness.record.proof.confirming import waiting_for_author
from readiness.review import page
from readiness.review.logs import LOOKED_AT, logs_too_good
from readiness.review.rows import alphabetical, children_in, children_of, rows_of
from readiness.review.words import log_sentences, nothing_stands_out
from studio import access
from studio.access import only
from studio.children.forms import NewcomerForm
from studio.idempotency import new_token
from studio.lists import csv_answer, wants_file
from studio.people.today import site_today
from studio.people.told_apart import name_classes
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
    shown = [row for row in in_place if filters.matches(row)]
    if wants_file(request):
        return csv_answer(page.rows_file(shown), "review", site_today(now))
    context = {
        "lead": page.lead(rows),
        "rows": shown,
        "all": len(rows),
        "filters": filters,
        "states": STATE_WORDS.items(),
        **page.places_of(rows),
        "untapped": [row for row in in_place if row.text.untapped],
        "week": page.week_of(in_place, staff, ladders, now),
        "brings_in": access.may_import(staff),
        "own_turns": waiting_for_author(staff).exists(),
        "sees_late": access.may_confirm_late(staff),
        "sees_logs": access.may_see_logs(staff),
    }
    return render(request, "readiness/review/review.html", context)


@only(access.may_see_logs)
@require_GET
def review_logs(request: HttpRequest) -> HttpResponse:
    """Whose log looks too good, for whoever answers for it."""
    staff, today = access.staff_of(request), site_today(timezone.now())
    ladder = Ladders().on(today)
    found = logs_too_good(children_of(staff, today), staff, ladder, today)
    context = {
        "logs": [{"who": each.author.called, "sentences": log_sentences(each)} for each in found],
        "nothing": nothing_stands_out(today - LOOKED_AT),
    }
    return render(request, "readiness/review/logs.html", context)


@only(access.may_see_records)
@require_GET
def class_group(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    """The children of a class, each with the next stage."""
    staff, now = access.staff_of(request), timezone.now()
    classes = access.visible_classes(staff).select_related("location")
    visible = get_object_or_404(classes, uuid=group)
    name_classes([visible])
    rows = rows_of(children_in(visible, visible.location.day_of(now)), staff, now, Ladders())
    rows.sort(key=lambda row: (alphabetical(row.child.listed), row.child.pk))
    if wants_file(request):
        return csv_answer(page.rows_file(rows), "class", visible.location.day_of(now))
    adds = access.may_add_unnamed(staff)
    newcomer = NewcomerForm(initial={"token": new_token()}) if adds else None
    context = {"group": visible, "rows": rows, "newcomer": newcomer}
    return render(request, "readiness/review/class.html", context)
