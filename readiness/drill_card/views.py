"""The drills: all of them, one drill's card, and cards for stations. No child is named there."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from readiness.drill_card.page import by_stage, card_context, drills_file
from readiness.drill_card.station import station_cards
from readiness.record.ladders import Ladders, NamedLadder
from studio import access
from studio.lists import csv_answer, wants_file
from studio.people.today import site_today


@require_safe
def drills(request: HttpRequest) -> HttpResponse:
    stages = by_stage(_ladder())
    if wants_file(request):
        return csv_answer(drills_file(stages), "drills", site_today(timezone.now()))
    compares = access.may_compare_grades(access.staff_of(request))
    context = {"stages": stages, "compares_grades": compares}
    return render(request, "readiness/drill_card/drills.html", context)


@require_safe
def drill(request: HttpRequest, drill: str) -> HttpResponse:
    ladder = _ladder()
    if drill not in ladder.drills:
        raise Http404
    return render(request, "readiness/drill_card/drill.html", card_context(ladder, drill))


@require_safe
def station_card_list(request: HttpRequest) -> HttpResponse:
    """Which cards are to be printed."""
    context = {"stages": by_stage(_ladder())}
    return render(request, "readiness/drill_card/station_list.html", context)


@require_safe
def station_card_sheets(request: HttpRequest) -> HttpResponse:
    context = {"cards": station_cards(_ladder(), request.GET.getlist("drill"))}
    return render(request, "readiness/drill_card/station_cards.html", context)


def _ladder() -> NamedLadder:
    return Ladders().named_on(site_today(timezone.now()))
