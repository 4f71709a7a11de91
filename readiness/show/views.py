"""The show list: shows, one show's list, and one child in a number."""

import datetime
import uuid
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from readiness.child.decision_answer import decide, decide_and_go
from readiness.child.decision_forms import RunOnceForm
from readiness.child.lookup import visible_child
from readiness.models import Show, ShowEntry, ShowNumber
from readiness.record.ladders import Ladders
from readiness.record.show import deciding
from readiness.show import forms
from readiness.show.page import (
    child_page,
    place_in,
    show_page,
    shows_page,
    visible_numbers,
    visible_shows,
)
from studio import access
from studio.access import only
from studio.models import Child
from studio.people.today import site_today


def _show(request: HttpRequest, show: uuid.UUID) -> Show:
    found: Show = get_object_or_404(visible_shows(access.staff_of(request)), uuid=show)
    return found


def _number(request: HttpRequest, number: uuid.UUID) -> ShowNumber:
    numbers = visible_numbers(access.staff_of(request))
    found: ShowNumber = get_object_or_404(numbers, uuid=number)
    return found


@require_safe
def shows(request: HttpRequest) -> HttpResponse:
    return _shows(request, timezone.now())


def _shows(
    request: HttpRequest, now: datetime.datetime, form: object = None, notice: str = "",
    status: int = 200,
) -> HttpResponse:  # fmt: skip
    context = shows_page(access.staff_of(request), Ladders(), site_today(now))
    context |= {"notice": notice} | ({"form": form} if form else {})
    return render(request, "readiness/show/shows.html", context, status=status)


@only(access.may_direct)
@require_POST
def add(request: HttpRequest) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    form = forms.ShowForm(staff, Ladders().named_on(site_today(now)), request.POST)

    def work() -> str:
        about = form.cleaned_data
        place = about["location"], staff, now
        made = deciding.add_show(
            *place, about["called"], about["on"], about["surface"], about["shoes"]
        )
        return reverse("show", args=[made.uuid])

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _shows(request, now, form, notice, status)

    return decide(request, form, form.name, now, work, draw)


@require_safe
def show_list(request: HttpRequest, show: uuid.UUID) -> HttpResponse:
    """Who does the skill in which way, to be printed: for all the staff of the hall."""
    return _list(request, _show(request, show), timezone.now())


def _list(
    request: HttpRequest, show: Show, now: datetime.datetime, notice: str = "", status: int = 200,
    **refused: object,
) -> HttpResponse:  # fmt: skip
    context = show_page(show, access.staff_of(request), now) | {"notice": notice} | refused
    return render(request, "readiness/show/show.html", context, status=status)


def _answer_on_list(
    request: HttpRequest,
    show: Show,
    form: RunOnceForm,
    now: datetime.datetime,
    work: Callable[[], object],
) -> HttpResponse:
    """Done once and on to the list, or the list again with the reason why not."""

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        kept = {"number_form": form} if isinstance(form, forms.NumberForm) else {}
        return _list(request, show, now, notice, status, **kept)

    return decide_and_go(request, form, now, work, reverse("show", args=[show.uuid]), draw)


@only(access.may_direct)
@require_POST
def add_number(request: HttpRequest, show: uuid.UUID) -> HttpResponse:
    now, staff, found = timezone.now(), access.staff_of(request), _show(request, show)
    ladder = Ladders().named_on(found.location.day_of(now))
    form = forms.NumberForm(staff, ladder, request.POST)

    def work() -> None:
        about = form.cleaned_data
        what = about["called"], about["group"], about["drill"], about["easy"]
        deciding.add_number(found, staff, now, *what)

    return _answer_on_list(request, found, form, now, work)


@only(access.may_recommend)
@require_POST
def wings(request: HttpRequest, number: uuid.UUID) -> HttpResponse:
    now, staff, found = timezone.now(), access.staff_of(request), _number(request, number)
    form = forms.WingsForm(staff, request.POST)

    def work() -> None:
        deciding.put_in_the_wings(found, staff, now, form.cleaned_data["adult"])

    return _answer_on_list(request, found.show, form, now, work)


@only(access.may_recommend)
@require_POST
def run_through(request: HttpRequest, number: uuid.UUID) -> HttpResponse:
    now, staff, found = timezone.now(), access.staff_of(request), _number(request, number)
    form = forms.RunThroughForm(request.POST)

    def work() -> None:
        deciding.tell_run_through(found, staff, now, form.cleaned_data["ended"])

    return _answer_on_list(request, found.show, form, now, work)


@only(access.may_see_records)
@require_safe
def child_in_show(request: HttpRequest, number: uuid.UUID, child: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    return _page(request, _number(request, number), visible_child(request, child, now), now)


def _page(
    request: HttpRequest, number: ShowNumber, child: Child, now: datetime.datetime,
    notice: str = "", status: int = 200,
) -> HttpResponse:  # fmt: skip
    context = child_page(place_in(number, child, now), access.staff_of(request))
    return render(request, "readiness/show/child.html", context | {"notice": notice}, status=status)


def _answer(
    request: HttpRequest,
    about: tuple[ShowNumber, Child],
    form: RunOnceForm,
    now: datetime.datetime,
    work: Callable[[], object],
) -> HttpResponse:
    """Done once and back to the list, or the child's page with the reason why not."""
    number, child = about
    place_in(number, child, now)

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        return _page(request, number, child, now, notice, status)

    return decide_and_go(request, form, now, work, reverse("show", args=[number.show.uuid]), draw)


@only(access.may_recommend)
@require_POST
def recommend(request: HttpRequest, number: uuid.UUID, child: uuid.UUID) -> HttpResponse:
    now, form = timezone.now(), forms.SeenForm(request.POST)
    about = _number(request, number), visible_child(request, child, now)

    def work() -> None:
        deciding.recommend(*about, access.staff_of(request), now, form.cleaned_data["seen"])

    return _answer(request, about, form, now, work)


@only(access.may_decide)
@require_POST
def sign(request: HttpRequest, number: uuid.UUID, child: uuid.UUID) -> HttpResponse:
    now, form = timezone.now(), forms.SeenForm(request.POST)
    about = _number(request, number), visible_child(request, child, now)

    def work() -> None:
        deciding.sign(*about, access.staff_of(request), now, form.cleaned_data["seen"])

    return _answer(request, about, form, now, work)


@require_POST
def put(request: HttpRequest, number: uuid.UUID, child: uuid.UUID) -> HttpResponse:
    """Somebody beside, or the easy version: less than there was may be given by all the staff of
    the hall."""
    now, form = timezone.now(), forms.PutForm(request.POST)
    found = _number(request, number)
    about = found, get_object_or_404(Child, uuid=child, merged_into=None)
    place_in(*about, now)

    def work() -> None:
        what = form.cleaned_data["seen"], form.cleaned_data["version"]
        deciding.put(*about, access.staff_of(request), now, *what)

    return _answer_on_list(request, found.show, form, now, work)


@only(access.may_recommend)
@require_POST
def today(request: HttpRequest, number: uuid.UUID, child: uuid.UUID) -> HttpResponse:
    """What a yes asks for on the day itself."""
    now, form = timezone.now(), forms.OnTheDayForm(request.POST)
    about = _number(request, number), visible_child(request, child, now)

    def work() -> None:
        kind = ShowEntry.Kind(form.cleaned_data["kind"])
        deciding.say_on_the_day(*about, access.staff_of(request), now, kind)

    return _answer(request, about, form, now, work)
