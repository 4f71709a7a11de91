"""The page of the change that waits, and the two answers to it."""

import uuid
from collections.abc import Callable
from http import HTTPStatus

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from progression.models import LadderProposal
from readiness.gates.version_words import differences
from readiness.gates.versions import counts_from, latest_today
from readiness.proposals.words import NOT_ANSWERED
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.two_people.second_yes import NotAnswered, why_not_yet
from readiness.record.two_people.waiting import put_in_force, take_back, waiting
from studio import access

STATUS_OF = {
    "may-not": HTTPStatus.FORBIDDEN,
    "unknown": HTTPStatus.NOT_FOUND,
    "answered": HTTPStatus.CONFLICT,
    "moved": HTTPStatus.CONFLICT,
}


@access.only(access.may_change_gates)
@require_GET
def waiting_change(request: HttpRequest) -> HttpResponse:
    return _page(request)


def _page(request: HttpRequest, notice: str = "", status: int = HTTPStatus.OK) -> HttpResponse:
    staff, now, proposal = access.staff_of(request), timezone.now(), waiting()
    context: dict[str, object] = {"proposal": proposal, "notice": notice}
    if proposal is not None:
        why = why_not_yet(proposal, staff, now)
        context |= {"changes": _changes(proposal), "why_not": str(NOT_ANSWERED[why]) if why else ""}
        context["day"] = counts_from(Ladders(), now)
    return render(request, "readiness/proposals/waiting.html", context, status=status)


def _changes(proposal: LadderProposal) -> list[str]:
    before = NamedLadder(proposal.base.number, proposal.base.content)
    after = NamedLadder(proposal.base.number + 1, proposal.content)
    return differences(before, after, latest_today(timezone.now()))


@access.only(access.may_change_gates)
@require_POST
def say_yes(request: HttpRequest, proposal: uuid.UUID) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()

    def work() -> str:
        version = put_in_force(proposal, staff, now, counts_from(Ladders(), now))
        return _("Version %(number)s of the ladder counts from its day on.") % {
            "number": version.number
        }

    return _answered(request, work)


@access.only(access.may_change_gates)
@require_POST
def take_it_back(request: HttpRequest, proposal: uuid.UUID) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()

    def work() -> str:
        take_back(proposal, staff, now)
        return _("The change is taken back. The ladder stays as it was.")

    return _answered(request, work)


def _answered(request: HttpRequest, work: Callable[[], str]) -> HttpResponse:
    try:
        messages.success(request, work())
    except NotAnswered as refused:
        status = STATUS_OF.get(refused.code, HTTPStatus.UNPROCESSABLE_ENTITY)
        return _page(request, str(NOT_ANSWERED[refused.code]), status)
    return redirect("gate-versions")
