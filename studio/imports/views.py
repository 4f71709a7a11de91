"""The steps of an import: upload, preview, options and answers, confirmation, lines left out.

Written once for all kinds; an address brings its own kind (urls.py).
"""

import uuid

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from studio import access
from studio.bodies import takes
from studio.idempotency import new_token, run_once
from studio.imports import drafts
from studio.imports.bring_in import ImportKind, NotBroughtIn, PlanChanged
from studio.imports.file_text import TableFileError
from studio.imports.forms import (
    MOST_SENT,
    ConfirmForm,
    FileOptionsForm,
    TableUploadForm,
    file_options_shown,
)
from studio.imports.refused_file import kinds_of
from studio.lists import csv_answer
from studio.models import ImportDraft


@takes(MOST_SENT)
@access.only(access.may_import)
def upload(request: HttpRequest, kind: ImportKind) -> HttpResponse:
    """Choose a file; one that cannot be read at all is refused here and not stored."""
    form = TableUploadForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        name, data = form.cleaned_data["file"]
        draft = drafts.start(access.staff_of(request), kind, name, data, timezone.now())
        return redirect(f"{kind.name}-preview", draft.uuid)
    context = {"kind": kind, "form": form}
    status = 422 if request.method == "POST" else 200
    return render(request, f"{kind.templates}/import.html", context, status=status)


@require_GET
@access.only(access.may_import)
def preview(request: HttpRequest, kind: ImportKind, draft: uuid.UUID) -> HttpResponse:
    """What would be stored; once done, what was."""
    own, now = _own_draft(request, kind, draft), timezone.now()
    context: dict[str, object] = {"kind": kind, "draft": own}
    if own.done_at is not None:
        return render(request, f"{kind.templates}/result.html", context)
    scope = kind.scope(access.staff_of(request), now)
    shown = file_options_shown(own.options)
    try:
        reading = drafts.read(own, kind, scope, now)
    except TableFileError as error:
        context["fault"] = str(error)
    else:
        shown = file_options_shown(own.options, reading.table, reading.parsed.dates.order)
        context |= {"reading": reading, "fault": reading.parsed.fault}
        context |= {"columns": drafts.columns(own, kind, reading)}
        if reading.readable:
            form = ConfirmForm(initial={"token": new_token(), "shown": reading.digest})
            context |= {"confirm": form, "kinds": kinds_of(reading.left_out)}
            context |= {"answered": own.options.get("choices") or own.options.get("words")}
    context["options"] = FileOptionsForm(kind, scope, now, initial=shown)
    return render(request, f"{kind.templates}/preview.html", context)


@require_POST
@access.only(access.may_import)
def options(request: HttpRequest, kind: ImportKind, draft: uuid.UUID) -> HttpResponse:
    """Store the options and the answers, and show the preview again."""
    own = _own_draft(request, kind, draft)
    _save_options(request, kind, own)
    return redirect(f"{kind.name}-preview", own.uuid)


@require_POST
@access.only(access.may_import)
def confirm(request: HttpRequest, kind: ImportKind, draft: uuid.UUID) -> HttpResponse:
    """Store what the preview shows, once.

    Answers and options that were chosen but not shown yet are stored first: if they change what
    would be brought in, that is shown before.
    """
    own, now = _own_draft(request, kind, draft), timezone.now()
    form = ConfirmForm(request.POST)
    if not form.is_valid():
        raise BadRequest
    if own.done_at is None and "encoding" in request.POST:
        _save_options(request, kind, own)
    page, staff = reverse(f"{kind.name}-preview", args=[own.uuid]), access.staff_of(request)

    def bring_in() -> str:
        drafts.confirm(own, kind, kind.scope(staff, now), now, **form.confirmed())
        return page

    try:
        run_once(form.run_once_token, kind.name, request.path, staff, now, bring_in)
    except NotBroughtIn:
        messages.error(request, _("Nothing was stored, because lines would be left out."))
    except PlanChanged:
        changed = _("Nothing is stored yet: this has changed since it was shown. Look again.")
        messages.error(request, changed)
    return redirect(page)


@require_GET
@access.only(access.may_import)
def left_out(request: HttpRequest, kind: ImportKind, draft: uuid.UUID) -> HttpResponse:
    """The lines left out, as a file to mend and bring in again."""
    own, now = _own_draft(request, kind, draft), timezone.now()
    scope = kind.scope(access.staff_of(request), now)
    try:
        text = drafts.left_out_file(own, kind, scope, now)
    except TableFileError as error:
        raise BadRequest(str(error)) from None
    return csv_answer(text, "lines-left-out")


def _own_draft(request: HttpRequest, kind: ImportKind, draft: uuid.UUID) -> ImportDraft:
    own = drafts.own_drafts(access.staff_of(request), kind)
    result: ImportDraft = get_object_or_404(own, uuid=draft)
    return result


def _save_options(request: HttpRequest, kind: ImportKind, draft: ImportDraft) -> None:
    now = timezone.now()
    scope = kind.scope(access.staff_of(request), now)
    form = FileOptionsForm(kind, scope, now, request.POST)
    if not form.is_valid():
        raise BadRequest
    drafts.save_options(draft, form.options(), request.POST.dict())
