"""What was brought in lately, and undoing one file of it as a whole.

Written once for all kinds; an address brings its own kind (urls.py).
"""

import uuid

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.imports.bring_in import ImportKind
from studio.imports.undo import KEPT, RestsOnIt
from studio.models import BroughtIn


@require_safe
@access.only(access.may_import)
def lately(request: HttpRequest, kind: ImportKind) -> HttpResponse:
    context = {"lately": _lately(request, kind)[:20]}
    return render(request, f"{kind.templates}/lately.html", context)


@require_safe
@access.only(access.may_import)
def undo(request: HttpRequest, kind: ImportKind, brought: uuid.UUID) -> HttpResponse:
    """What would be undone, or what rests on it."""
    row = get_object_or_404(_lately(request, kind), uuid=brought)
    return _undo_page(request, kind, row, [] if row.undone_at else kind.rests_on(row))


@require_POST
@access.only(access.may_import)
def undone(request: HttpRequest, kind: ImportKind, brought: uuid.UUID) -> HttpResponse:
    """Twice is once."""
    row = get_object_or_404(_lately(request, kind), uuid=brought)
    try:
        kind.undo(row, access.staff_of(request), timezone.now())
    except RestsOnIt as error:
        return _undo_page(request, kind, row, error.reasons, status=422)
    messages.success(request, str(kind.undone_text))
    return redirect(f"{kind.name}-lately")


def _lately(request: HttpRequest, kind: ImportKind) -> QuerySet[BroughtIn]:
    since = timezone.now() - KEPT
    return access.visible_brought_in(access.staff_of(request), kind.kind, since)


def _undo_page(
    request: HttpRequest, kind: ImportKind, row: BroughtIn, reasons: list[str], status: int = 200
) -> HttpResponse:
    context = {"row": row, "reasons": reasons}
    return render(request, f"{kind.templates}/undo.html", context, status=status)
