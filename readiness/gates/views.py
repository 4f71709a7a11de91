"""The gates: what each lets through, other values for it, and the versions of the ladder."""

from collections.abc import Mapping
from http import HTTPStatus

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from progression.models import LadderProposal
from readiness.gates.change_words import not_saved_sentence
from readiness.gates.forms import SaveForm
from readiness.gates.list_page import gates_list
from readiness.gates.page import gate_page, values_in
from readiness.gates.saving import NotSaved, save_version
from readiness.gates.versions import version_rows
from readiness.record.ladder_loading import LadderRefused
from readiness.record.ladders import Ladders
from studio import access
from studio.idempotency import run_once

STATUS_OF = {
    "may-not": HTTPStatus.FORBIDDEN,
    "reason-missing": HTTPStatus.UNPROCESSABLE_ENTITY,
    "same": HTTPStatus.UNPROCESSABLE_ENTITY,
    "waits": HTTPStatus.CONFLICT,
    "moved": HTTPStatus.CONFLICT,
    "not-tried": HTTPStatus.CONFLICT,
}


@access.only(access.may_change_gates)
@require_GET
def gates(request: HttpRequest) -> HttpResponse:
    """Every gate of the newest version, or of another one that is asked for by its number."""
    ladders = Ladders()
    number = request.GET.get("version", "")
    ladder = ladders.numbered(number) if number else ladders.newest
    if ladder is None:
        raise Http404
    page = gates_list(ladders, ladder, request.GET.dict(), timezone.now())
    status = HTTPStatus.OK if page.form.is_valid() else HTTPStatus.UNPROCESSABLE_ENTITY
    return render(request, "readiness/gates/gates.html", {"page": page}, status=status)


@access.only(access.may_change_gates)
@require_GET
def gate(request: HttpRequest, code: str) -> HttpResponse:
    """One gate; other values in the address are tried, and nothing is saved."""
    return _gate_page(request, code, request.GET.dict())


def _gate_page(
    request: HttpRequest,
    code: str,
    data: Mapping[str, str],
    status: int = HTTPStatus.OK,
    notice: str = "",
    save: SaveForm | None = None,
) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    page = gate_page(Ladders(), code, data, staff, now, save)
    if page is None:
        raise Http404
    if page.wrong:
        status = HTTPStatus.UNPROCESSABLE_ENTITY
    context = {"page": page, "notice": notice}
    return render(request, "readiness/gates/gate.html", context, status=status)


@access.only(access.may_change_gates)
@require_POST
def save_gate(request: HttpRequest, code: str) -> HttpResponse:
    """Save what was tried as a new version of the ladder, once; or the page again."""
    now, data = timezone.now(), request.POST.dict()
    values, form = values_in(Ladders(), code, data), SaveForm(data)
    if values is None or not form.is_valid():
        notice = _("Nothing was saved.")
        return _gate_page(request, code, data, HTTPStatus.UNPROCESSABLE_ENTITY, notice, form)
    staff, cleaned = access.staff_of(request), form.cleaned_data

    def work() -> str:
        saved = save_version(code, values, form.shown_trial(), staff, now, cleaned["reason"])
        if isinstance(saved, LadderProposal):
            return reverse("ladder-waiting")
        return f"{reverse('gate-versions')}#version-{saved.number}"

    try:
        address, _done = run_once(str(cleaned["token"]), "gates", request.path, staff, now, work)
    except NotSaved as refused:
        status = STATUS_OF[refused.code]
        return _gate_page(request, code, data, status, not_saved_sentence(refused), form)
    except LadderRefused:
        notice = _("Nothing was saved.")
        return _gate_page(request, code, data, HTTPStatus.UNPROCESSABLE_ENTITY, notice, form)
    return redirect(address)


@access.only(access.may_change_gates)
@require_GET
def versions(request: HttpRequest) -> HttpResponse:
    rows = version_rows(timezone.now())
    return render(request, "readiness/gates/versions.html", {"rows": rows})
