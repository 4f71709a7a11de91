"""Newcomers: the stage of each in one list, kept in one tap."""

import datetime
import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from readiness.child.decision_forms import surface_choices
from readiness.placing.forms import PlacingForm, chosen, field_of
from readiness.placing.page import NoNewcomer, Seen, place_all, stages_to_choose
from readiness.placing.page import newcomers as found_newcomers
from readiness.record.decisions import DecisionRefused
from readiness.record.ladders import Ladders
from readiness.words.refusals import refusal
from studio import access
from studio.idempotency import run_once
from studio.people.family import children_of_family
from studio.people.today import site_today
from studio.people.told_apart import full_names


@access.only(access.may_direct)
@require_http_methods(["GET", "HEAD", "POST"])
def newcomers(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request, PlacingForm())
    form, staff, now = PlacingForm(request.POST), access.staff_of(request), timezone.now()
    today = site_today(now)
    stages, notice = _stages(request, today)
    if not form.is_valid() or not stages:
        return _page(request, form, notice, 422)

    def work() -> str:
        surface, reason = form.cleaned_data["surface"], form.cleaned_data["reason"]
        place_all(found_newcomers(staff, today), stages, Seen(staff, now, surface, reason))
        return reverse("newcomers")

    try:
        token = str(form.cleaned_data["token"])
        address, done = run_once(token, form.name, request.path, staff, now, work)
    except NoNewcomer:
        sentence = _("One of them is no newcomer any more. Nothing was kept: look again.")
        return _page(request, form, sentence, 409)
    except DecisionRefused as refused:
        return _page(request, form, refusal(refused.code, refused.details), 409)
    if done:
        n = len(stages)
        kept = ngettext("%(n)s child is placed.", "%(n)s children are placed.", n)
        messages.success(request, kept % {"n": n})
    return redirect(address)


def _stages(request: HttpRequest, today: datetime.date) -> tuple[dict[uuid.UUID, int], str]:
    """What was chosen, and what is wrong with it."""
    try:
        stages = chosen(request.POST, stages_to_choose(Ladders().named_on(today)))
    except ValueError:
        return {}, _("A stage was none of those to choose from. Nothing was kept.")
    return stages, "" if stages else _("No child was given a stage. Nothing was kept.")


def _page(
    request: HttpRequest, form: PlacingForm, notice: str = "", status: int = 200
) -> HttpResponse:
    today = site_today(timezone.now())
    ladder = Ladders().named_on(today)
    form.offer(surface_choices(ladder))
    staff = access.staff_of(request)
    children = list(found_newcomers(staff, today).prefetch_related("classes"))
    names, sent, family = full_names(children), request.POST, children_of_family(staff)
    rows = [
        (child, names[child.pk], sent.get(field_of(child), ""), child.pk in family)
        for child in children
    ]
    context = {"form": form, "rows": rows, "stages": stages_to_choose(ladder), "notice": notice}
    return render(request, "readiness/placing/newcomers.html", context, status=status)
