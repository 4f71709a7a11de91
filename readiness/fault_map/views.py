"""The map of faults, and a change of one fault on it. No child is named there."""

from http import HTTPStatus

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST, require_safe

from progression.ladder.file import LadderFault
from progression.models import LadderProposal
from readiness.causes.of_studio import handspring_sentence
from readiness.fault_map import saving
from readiness.fault_map.forms import FaultForm
from readiness.fault_map.page import fault_context, map_file, map_page
from readiness.fault_map.words import not_saved_sentence, not_valid_sentence
from readiness.gates.saving import NotSaved
from readiness.record.ladder_loading import LadderRefused
from readiness.record.ladders import Ladders, NamedLadder
from studio import access
from studio.idempotency import run_once
from studio.lists import csv_answer, wants_file
from studio.people.today import site_today

STATUS_OF = {
    "may-not": HTTPStatus.FORBIDDEN,
    "waits": HTTPStatus.CONFLICT,
    "moved": HTTPStatus.CONFLICT,
}


@require_safe
def fault_map(request: HttpRequest) -> HttpResponse:
    """The whole map, or the part of the drill that is asked for."""
    today = site_today(timezone.now())
    ladder, key = Ladders().named_on(today), request.GET.get("drill", "")
    if wants_file(request):
        return csv_answer(map_file(ladder), "fault-map", today)
    if key and key not in ladder.drills:
        raise Http404
    staff = access.staff_of(request)
    sees = access.may_see_records(staff)
    own = handspring_sentence(staff, today, ladder) if sees else ""
    context = {"page": map_page(ladder, key), "own": own}
    return render(request, "readiness/fault_map/map.html", context)


@access.only(access.may_change_gates)
@require_GET
def fault(request: HttpRequest, fault: str) -> HttpResponse:
    """One fault of the newest version, to be changed."""
    ladder = _newest_with(fault)
    return _fault_page(request, ladder, fault, FaultForm(ladder, ladder.faults[fault]))


@access.only(access.may_change_gates)
@require_POST
def save_fault(request: HttpRequest, fault: str) -> HttpResponse:
    """Save the change once; or the form again, with what was wrong."""
    ladder, staff, now = _newest_with(fault), access.staff_of(request), timezone.now()
    form = FaultForm(ladder, ladder.faults[fault], request.POST.dict())
    if not form.is_valid():
        return _fault_page(request, ladder, fault, form, notice=not_valid_sentence(form.errors))
    values, sent = form.changed_fault(), form.cleaned_data

    def work() -> str:
        saved = saving.save_fault(fault, values, sent["base"], staff, now, sent["reason"])
        waits = isinstance(saved, LadderProposal)
        return reverse("ladder-waiting") if waits else reverse("gate-versions")

    try:
        address, _done = run_once(str(sent["token"]), "faults", request.path, staff, now, work)
    except NotSaved as refused:
        status, notice = STATUS_OF.get(refused.code), not_saved_sentence(refused)
        return _fault_page(request, ladder, fault, form, status, notice)
    except LadderRefused as refused:
        notice = _("With this the ladder would be refused. Nothing was saved.")
        return _fault_page(request, ladder, fault, form, notice=notice, wrong=refused.faults)
    return redirect(address)


def _fault_page(
    request: HttpRequest,
    ladder: NamedLadder,
    key: str,
    form: FaultForm,
    status: int | None = None,
    notice: str = "",
    wrong: list[LadderFault] | None = None,
) -> HttpResponse:
    if form.is_bound:
        status = status or HTTPStatus.UNPROCESSABLE_ENTITY
        form = form.again(ladder, ladder.faults[key])
    context = fault_context(ladder, key) | {"form": form, "notice": notice, "wrong": wrong or []}
    return render(request, "readiness/fault_map/fault.html", context, status=status)


def _newest_with(fault: str) -> NamedLadder:
    ladder = Ladders().newest
    if fault not in ladder.faults:
        raise Http404
    return ladder
