"""Rosters that were brought in lately, and undoing one as a whole."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.models import BroughtIn
from studio.roster.undo import KEPT, RestsOnIt, undo, what_rests_on


@require_safe
@access.only(access.may_import)
def roster_lately(request: HttpRequest) -> HttpResponse:
    lately = access.visible_rosters(access.staff_of(request), timezone.now() - KEPT)
    return render(request, "studio/roster/lately.html", {"lately": lately[:20]})


def _undo_page(
    request: HttpRequest, row: BroughtIn, reasons: list[str], status: int = 200
) -> HttpResponse:
    context = {"row": row, "reasons": reasons}
    return render(request, "studio/roster/undo.html", context, status=status)


@require_safe
@access.only(access.may_import)
def roster_undo(request: HttpRequest, roster: uuid.UUID) -> HttpResponse:
    """What would be undone, or what rests on it."""
    row = _own_roster(request, roster)
    return _undo_page(request, row, [] if row.undone_at else what_rests_on(row))


@require_POST
@access.only(access.may_import)
def roster_undone(request: HttpRequest, roster: uuid.UUID) -> HttpResponse:
    """Twice is once."""
    row = _own_roster(request, roster)
    try:
        undo(row, access.staff_of(request), timezone.now())
    except RestsOnIt as error:
        return _undo_page(request, row, error.reasons, status=422)
    messages.success(request, _("The roster is undone: everything is as it was before."))
    return redirect("roster-lately")


def _own_roster(request: HttpRequest, roster: uuid.UUID) -> BroughtIn:
    lately = access.visible_rosters(access.staff_of(request), timezone.now() - KEPT)
    row: BroughtIn = get_object_or_404(lately, uuid=roster)
    return row
