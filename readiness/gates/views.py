"""The gates: what each lets through, other values for it, and the versions of the ladder."""

from collections.abc import Mapping
from http import HTTPStatus

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from readiness.gates import page, trial, words
from readiness.gates.forms import SaveForm
from readiness.record.ladder_loading import LadderRefused
from readiness.record.ladders import Ladders
from studio import access
from studio.idempotency import once

NOT_SAVED = {
    "may-not": HTTPStatus.FORBIDDEN,
    "reason-missing": HTTPStatus.UNPROCESSABLE_ENTITY,
    "same": HTTPStatus.UNPROCESSABLE_ENTITY,
    "moved": HTTPStatus.CONFLICT,
    "not-tried": HTTPStatus.CONFLICT,
}


@access.only(access.may_change_gates)
@require_GET
def gates(request: HttpRequest) -> HttpResponse:
    """Every gate of the newest version, or of another one that is asked for by its number."""
    ladders = Ladders()
    asked = request.GET.get("version", "")
    ladder = ladders.numbered(asked) if asked else ladders.newest
    if ladder is None:
        raise Http404
    listed = page.gates_list(ladders, ladder, request.GET.dict(), timezone.now())
    status = HTTPStatus.OK if listed.form.is_valid() else HTTPStatus.UNPROCESSABLE_ENTITY
    return render(request, "readiness/gates/gates.html", {"listed": listed}, status=status)


@access.only(access.may_change_gates)
@require_GET
def gate(request: HttpRequest, code: str) -> HttpResponse:
    """One gate; other values in the address are tried, and nothing is kept."""
    return _page(request, code, request.GET.dict())


def _page(
    request: HttpRequest,
    code: str,
    data: Mapping[str, str],
    status: int = HTTPStatus.OK,
    notice: str = "",
    save: SaveForm | None = None,
) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    shown = page.gate_page(Ladders(), code, data, staff, now, save)
    if shown is None:
        raise Http404
    if shown.wrong:
        status = HTTPStatus.UNPROCESSABLE_ENTITY
    context = {"shown": shown, "notice": notice}
    return render(request, "readiness/gates/gate.html", context, status=status)


@access.only(access.may_change_gates)
@require_POST
def save_gate(request: HttpRequest, code: str) -> HttpResponse:
    """Keep what was tried as a new version of the ladder, once; or the page again."""
    now, data = timezone.now(), request.POST.dict()
    values, form = page.values_in(Ladders(), code, data), SaveForm(data)
    if values is None or not form.is_valid():
        notice = _("Nothing was saved.")
        return _page(request, code, data, HTTPStatus.UNPROCESSABLE_ENTITY, notice, form)
    staff, said = access.staff_of(request), form.cleaned_data

    def work() -> str:
        version = trial.keep(code, values, form.shown(), staff, now, said["reason"])
        return f"{reverse('gate-versions')}#version-{version.number}"

    try:
        address, _done = once(str(said["token"]), "gates", staff, now, work)
    except trial.NotSaved as refused:
        status = NOT_SAVED[refused.code]
        return _page(request, code, data, status, words.refusal(refused), form)
    except LadderRefused:
        notice = _("Nothing was saved.")
        return _page(request, code, data, HTTPStatus.UNPROCESSABLE_ENTITY, notice, form)
    return redirect(address)


@access.only(access.may_change_gates)
@require_GET
def versions(request: HttpRequest) -> HttpResponse:
    rows = page.versions(timezone.now())
    return render(request, "readiness/gates/versions.html", {"rows": rows})
