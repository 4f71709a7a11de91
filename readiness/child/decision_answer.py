"""How a decision's form is answered: done once and on to a page, or the page again.

Shared: used by the child's page and the evidence page. Who may decide is said in studio/access.py,
when a decision is refused in readiness/record/decisions.py.
"""

import datetime
from collections.abc import Callable
from http import HTTPStatus
from typing import Protocol

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from readiness.child.decision_forms import RunOnceForm
from readiness.record.decisions import DecisionRefused
from readiness.words.decisions import WAS_DECIDED
from readiness.words.refusals import refusal
from studio.access import staff_of
from studio.idempotency import run_once

# What the others have in common: something has changed, or somebody was first.
STATUS = {
    "may-not": HTTPStatus.FORBIDDEN,
    "same-person": HTTPStatus.FORBIDDEN,
    "family": HTTPStatus.FORBIDDEN,
    "new-account": HTTPStatus.FORBIDDEN,
    "new-grader": HTTPStatus.FORBIDDEN,
    "one-person": HTTPStatus.FORBIDDEN,
    "grader-in-hand": HTTPStatus.FORBIDDEN,
    "reason-missing": HTTPStatus.UNPROCESSABLE_ENTITY,
    "surface-not-met": HTTPStatus.UNPROCESSABLE_ENTITY,
    "not-seen-lately": HTTPStatus.UNPROCESSABLE_ENTITY,
    "stage-too-high": HTTPStatus.UNPROCESSABLE_ENTITY,
    "signed-stage": HTTPStatus.UNPROCESSABLE_ENTITY,
}


class Redraw(Protocol):
    """Draws the page again: with the form as it was sent, or with a new one for None."""

    def __call__(self, form: object, notice: str, status: int) -> HttpResponse: ...


def decide(
    request: HttpRequest,
    form: forms.Form,
    job: str,
    now: datetime.datetime,
    work: Callable[[], str],
    redraw: Redraw,
) -> HttpResponse:
    """Do ``work`` once and go where it says; draw the page again if it is refused."""
    if not form.is_valid():
        hidden = any(field.is_hidden and field.errors for field in form)
        notice = _("This form was not complete. Nothing was decided.") if hidden else ""
        return redraw(None if hidden else form, notice, HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        address, _done = run_once(
            str(form.cleaned_data["token"]), job, request.path, staff_of(request), now, work
        )
    except DecisionRefused as refused:
        status = STATUS.get(refused.code, HTTPStatus.CONFLICT)
        return redraw(None, refusal(refused.code, _sentence_values(refused, now)), status)
    return redirect(address)


def decide_and_go(
    request: HttpRequest,
    form: RunOnceForm,
    now: datetime.datetime,
    work: Callable[[], object],
    address: str,
    redraw: Redraw,
) -> HttpResponse:
    """``decide`` where the page to go to is known before."""

    def done() -> str:
        work()
        return address

    return decide(request, form, form.name, now, done, redraw)


def _sentence_values(refused: DecisionRefused, now: datetime.datetime) -> dict[str, object]:
    """What the sentence names; a time is given by the clock of the child's hall."""
    values = dict(refused.details)
    moment = values.pop("at", None)
    if isinstance(moment, datetime.datetime):
        today = now.astimezone(moment.tzinfo).date()
        values["time"] = date_format(moment, "H:i" if moment.date() == today else "j M Y, H:i")
    earliest = values.get("earliest")
    if isinstance(earliest, datetime.date):
        values["earliest"] = date_format(earliest, "j M Y")
    if isinstance(values.get("what"), str):
        values["what"] = WAS_DECIDED[str(values["what"])]
    return values
