"""The review as a queue, all children in rows, and a class at a glance."""

import datetime
import uuid
from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from readiness.child.lookup import visible_child
from readiness.hour.plan import graded_meetings
from readiness.incidents.monthly import not_written_down
from readiness.record.ladders import Ladders
from readiness.record.proof.confirming import waiting_for_author
from readiness.record.told.incidents import Incident
from readiness.review import page
from readiness.review.logs import LOOKED_AT, logs_too_good
from readiness.review.looks import since_last_look
from readiness.review.queue import Section, next_in_queue, sections, waiting_children
from readiness.review.quiet import quiet_children
from readiness.review.rows import Row, alphabetical, children_in, children_of, rows_of
from readiness.review.words import log_sentences, nothing_stands_out
from studio import access
from studio.access import only
from studio.children.forms import NewcomerForm
from studio.classes.changing import make_due_moves
from studio.idempotency import new_token
from studio.lists import csv_answer, wants_file
from studio.models import Staff
from studio.people.today import site_today
from studio.people.told_apart import name_classes
from studio.templatetags.marks import STATE_WORDS


@only(access.may_see_records)
@require_GET
def review(request: HttpRequest) -> HttpResponse:
    """The queue: what needs a decision or a look, and the week."""
    staff, now, ladders = access.staff_of(request), timezone.now(), Ladders()
    today, reports = site_today(now), access.may_report(staff)
    make_due_moves(now)
    rows = _rows(staff, now, ladders)
    queue = _queue(rows, staff)
    places = page.places_of(rows)
    context = {
        "lead": page.lead(rows),
        "queue": queue,
        "all": len(rows),
        "others": len(rows) - sum(len(section.items) for section in queue),
        "classes": places["classes"],
        "untapped": [row for row in rows if row.text.untapped],
        "week": page.week_of(rows, staff, ladders, now),
        "brings_in": access.may_import(staff),
        "hours": graded_meetings(staff, today),
        "own_turns": waiting_for_author(staff).exists(),
        "sees_late": access.may_confirm_late(staff),
        "sees_logs": access.may_see_logs(staff),
        "reports": reports,
        "unwritten": _unwritten(staff, today) if reports else [],
    }
    return render(request, "readiness/review/review.html", context)


@only(access.may_see_records)
@require_GET
def review_next(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """On to the child who comes after this one in the queue, to the evidence where a decision is
    waited for or a stage is on re-check; to the queue after the last."""
    staff, now = access.staff_of(request), timezone.now()
    queue = _queue(_rows(staff, now, Ladders()), staff)
    following = next_in_queue(queue, visible_child(request, child, now))
    if following is None:
        return redirect("review")
    if following.text.waits or following.text.state == "re-check":
        return redirect("evidence", following.child.uuid, following.text.code)
    return redirect("child", following.child.uuid)


def _rows(staff: Staff, now: datetime.datetime, ladders: Ladders) -> list[Row]:
    return rows_of(children_of(staff, site_today(now)), staff, now, ladders)


def _unwritten(staff: Staff, today: datetime.date) -> list[Incident]:
    return not_written_down(access.children_in_lists(staff, today), today)


def _queue(rows: Sequence[Row], staff: Staff) -> list[Section]:
    decides = access.may_decide(staff)
    return sections(rows, since_last_look(waiting_children(rows), staff) if decides else {})


@only(access.may_see_records)
@require_GET
def everyone(request: HttpRequest) -> HttpResponse:
    """All children whom this person sees, filtered by hall, class, state and name."""
    staff, now = access.staff_of(request), timezone.now()
    rows = _rows(staff, now, Ladders())
    filters = page.Filters(
        location=request.GET.get("location", ""),
        group=request.GET.get("class", ""),
        state=request.GET.get("state", ""),
        name=request.GET.get("name", ""),
    )
    shown = [row for row in rows if filters.matches(row)]
    if wants_file(request):
        return csv_answer(page.rows_file(shown), "review", site_today(now))
    context = {
        "rows": shown,
        "all": len(rows),
        "filters": filters,
        "states": STATE_WORDS.items(),
        **page.places_of(rows),
    }
    return render(request, "readiness/review/everyone.html", context)


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
    make_due_moves(now)
    classes = access.visible_classes(staff).select_related("location")
    visible = get_object_or_404(classes, uuid=group)
    name_classes([visible])
    today = visible.location.day_of(now)
    children = children_in(visible, today)
    rows = rows_of(children, staff, now, Ladders())
    rows.sort(key=lambda row: (alphabetical(row.child.listed), row.child.pk))
    if wants_file(request):
        return csv_answer(page.rows_file(rows), "class", today)
    adds = access.may_add_unnamed(staff)
    newcomer = NewcomerForm(initial={"token": new_token()}) if adds else None
    quiet = quiet_children(children, today)
    context = {
        "group": visible,
        "rows": rows,
        "newcomer": newcomer,
        "quiet": quiet,
        "writes_letters": access.may_write_letters(staff),
    }
    return render(request, "readiness/review/class.html", context)
