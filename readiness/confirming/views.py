"""One's own turns that somebody else brought in, and those that came in late."""

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from progression.models import Attempt
from readiness.confirming.forms import ListForm
from readiness.confirming.page import late_lists, own_lists
from readiness.record.proof.confirming import confirm, waiting_for_author, waiting_for_director
from studio import access
from studio.people.today import site_today


@access.only(access.may_confirm_own)
def own_turns(request: HttpRequest) -> HttpResponse:
    staff, today = access.staff_of(request), site_today(timezone.now())
    if request.method == "POST" and _confirmed(request, waiting_for_author(staff)):
        return redirect("own-turns")
    context = {"lists": own_lists(staff, today), "refused": request.method == "POST"}
    status = 422 if context["refused"] else 200
    return render(request, "readiness/confirming/own_turns.html", context, status=status)


@access.only(access.may_confirm_late)
def late_turns(request: HttpRequest) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    today = site_today(now)
    if request.method == "POST" and _confirmed(request, waiting_for_director(staff, today)):
        return redirect("late-turns")
    context = {"lists": late_lists(staff, now, today), "refused": request.method == "POST"}
    status = 422 if context["refused"] else 200
    return render(request, "readiness/confirming/late_turns.html", context, status=status)


def _confirmed(request: HttpRequest, waiting: "QuerySet[Attempt]") -> bool:
    """Confirm the list that the form names; False, and nothing changed, if it names none."""
    form = ListForm(request.POST)
    if not form.is_valid():
        return False
    by = access.staff_of(request)
    turns = confirm(waiting.filter(**form.filters()), by, timezone.now())
    said = ngettext("%(n)d turn is confirmed.", "%(n)d turns are confirmed.", turns)
    messages.success(request, said % {"n": turns} if turns else _("They were confirmed already."))
    return True
