"""Who is trained to spot what: the list, and what a director writes down there."""

import datetime
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from readiness.child.decision_answer import decide_and_go
from readiness.child.decision_forms import RunOnceForm
from readiness.record.ladders import Ladders
from readiness.spotters import forms
from readiness.spotters.page import spotters_page
from readiness.spotters.trained import set_most_to_an_adult, set_youngest, write_down
from studio import access
from studio.access import only
from studio.people.today import site_today


@only(access.may_direct)
@require_safe
def spotters(request: HttpRequest) -> HttpResponse:
    return _page(request, timezone.now())


def _page(
    request: HttpRequest, now: datetime.datetime, refused: object = None, notice: str = "",
    status: int = 200,
) -> HttpResponse:  # fmt: skip
    today = site_today(now)
    ladder = Ladders().named_on(today)
    context = spotters_page(access.staff_of(request), ladder, today, refused)
    return render(
        request, "readiness/spotters/spotters.html", context | {"notice": notice}, status=status
    )


def _answer(
    request: HttpRequest,
    form: RunOnceForm,
    now: datetime.datetime,
    work: Callable[[], object],
) -> HttpResponse:
    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, now, form, notice, status)

    return decide_and_go(request, form, now, work, reverse("spotters"), draw)


@only(access.may_direct)
@require_POST
def add(request: HttpRequest) -> HttpResponse:
    now, by = timezone.now(), access.staff_of(request)
    today = site_today(now)
    form = forms.TrainingForm(by, Ladders().named_on(today), request.POST)

    def work() -> None:
        about = form.cleaned_data
        said = about["trained_by"], about["until"], about["age"]
        write_down(about["staff"], about["drills"], by, now, today, *said)

    return _answer(request, form, now, work)


@only(access.may_direct)
@require_POST
def youngest(request: HttpRequest) -> HttpResponse:
    now, by = timezone.now(), access.staff_of(request)
    form = forms.YoungestForm(Ladders().named_on(site_today(now)), request.POST)

    def work() -> None:
        set_youngest(form.cleaned_data["drill"], form.cleaned_data["years"], by, now)

    return _answer(request, form, now, work)


@only(access.may_direct)
@require_POST
def numbers(request: HttpRequest) -> HttpResponse:
    now, by = timezone.now(), access.staff_of(request)
    form = forms.NumbersForm(request.POST)

    def work() -> None:
        names = ("usual", "handsprings", "small")
        set_most_to_an_adult({name: form.cleaned_data[name] for name in names}, by, now)

    return _answer(request, form, now, work)
