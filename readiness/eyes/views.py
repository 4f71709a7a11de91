"""Twelve figures to grade, a second grade of a turn, how alike the studio grades."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from readiness.eyes.forms import SecondForm, TwelveForm
from readiness.eyes.page import (
    agreement_context,
    eyes_context,
    graded_drills,
    second_context,
    twelve_context,
)
from readiness.eyes.second import SecondGradeRefusedError, give_second, turn_of
from readiness.eyes.twelve import answer, begin, rubrics_with_regions, visible_sets
from readiness.eyes.words import pair_text, refusal_text
from readiness.record.ladders import Ladders
from studio import access
from studio.people.today import site_today


@access.only(access.may_compare_grades)
def eyes(request: HttpRequest) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    ladder = Ladders().named_on(site_today(now))
    if request.method != "POST":
        return render(request, "readiness/eyes/eyes.html", eyes_context(staff, ladder))
    wanted = request.POST.get("rubric")
    rubric = next((each for each in rubrics_with_regions(ladder) if each["key"] == wanted), None)
    if rubric is None:
        context = eyes_context(staff, ladder) | {"refused": True}
        return render(request, "readiness/eyes/eyes.html", context, status=422)
    return redirect("eyes-twelve", begin(rubric, ladder, staff, now).uuid)


@access.only(access.may_compare_grades)
def twelve(request: HttpRequest, twelve: uuid.UUID) -> HttpResponse:
    one = get_object_or_404(visible_sets(access.staff_of(request)), uuid=twelve)
    form = TwelveForm(request.POST) if request.method == "POST" else None
    if form and form.is_valid():
        if not answer(one, form.grades, timezone.now()):
            messages.info(request, _("These were graded before; those grades stand."))
        return redirect("eyes-twelve", one.uuid)
    status = 422 if form else 200
    return render(request, "readiness/eyes/twelve.html", twelve_context(one, form), status=status)


@access.only(access.may_compare_grades)
def second(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    visible = access.visible_meetings(staff, site_today(now))
    found = get_object_or_404(visible.select_related("group"), uuid=meeting)
    ladder = Ladders().named_on(found.date)
    if request.method != "POST":
        context = second_context(found, ladder, staff, now)
        return render(request, "readiness/eyes/second.html", context)
    form = SecondForm(request.POST)
    drills = list(graded_drills(ladder))
    try:
        turn = turn_of(found, drills, form.turn)
        pair = give_second(turn, form.value_given, staff, now)
    except SecondGradeRefusedError as error:
        context = second_context(found, ladder, staff, now)
        context["refused"] = refusal_text(error.code)
        return render(request, "readiness/eyes/second.html", context, status=409)
    messages.success(request, pair_text(turn.child.called, pair))
    return redirect("second-grade", found.uuid)


@access.only(access.may_direct)
@require_safe
def agreement(request: HttpRequest) -> HttpResponse:
    staff = access.staff_of(request)
    ladder = Ladders().named_on(site_today(timezone.now()))
    return render(request, "readiness/eyes/agreement.html", agreement_context(staff, ladder))
