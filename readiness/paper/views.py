"""The page “Paper log in”: upload, preview, confirmation, result."""

import uuid

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from readiness.paper import drafts
from readiness.paper.bring_in import LogScope, PaperOptions
from readiness.paper.forms import paper_options_form
from studio import access
from studio.idempotency import new_token, run_once
from studio.imports import uploads
from studio.imports.file_text import TableFileError
from studio.imports.forms import (
    ConfirmForm,
    UploadForm,
    file_options_shown,
    refused_answer,
)
from studio.imports.table_file import read_table
from studio.imports.unchanged import NotBroughtIn, PlanChanged
from studio.models import ImportDraft


@access.only(access.may_import)
def paper_import(request: HttpRequest) -> HttpResponse:
    """Choose a file; one that cannot be read at all is refused here and not stored."""
    form = UploadForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        data = file.read()
        try:
            read_table(data)
        except TableFileError as error:
            form.add_error("file", str(error))
        else:
            staff = access.staff_of(request)
            draft = uploads.start(staff, drafts.KIND, file.name, data, timezone.now())
            return redirect("paper-preview", draft.uuid)
    status = 422 if request.method == "POST" else 200
    return render(request, "readiness/paper/import.html", {"form": form}, status=status)


@require_GET
@access.only(access.may_import)
def paper_preview(request: HttpRequest, draft: uuid.UUID) -> HttpResponse:
    """What the file would add; once done, what it did."""
    own = _own_draft(request, draft)
    if own.done_at is not None:
        return render(request, "readiness/paper/result.html", {"draft": own})
    context: dict[str, object] = {"draft": own}
    shown = file_options_shown(own.options)
    try:
        reading = drafts.read(own, _scope(request), timezone.now())
    except TableFileError as error:
        context["fault"] = str(error)
    else:
        shown = file_options_shown(own.options, reading.table, reading.log.dates.order)
        context |= {"reading": reading, "fault": reading.log.fault}
        if reading.readable:
            shown_reading = {"token": new_token(), "shown": reading.digest}
            context["confirm"] = ConfirmForm(initial=shown_reading)
    context["options"] = paper_options_form(timezone.now(), initial=shown)
    return render(request, "readiness/paper/preview.html", context)


@require_POST
@access.only(access.may_import)
def paper_options(request: HttpRequest, draft: uuid.UUID) -> HttpResponse:
    """Save how the file is to be read, and show it again."""
    own = _own_draft(request, draft)
    _save_options(request, own)
    return redirect("paper-preview", own.uuid)


@require_POST
@access.only(access.may_import)
def paper_confirm(request: HttpRequest, draft: uuid.UUID) -> HttpResponse:
    """Store what the preview shows, once.

    Options that were chosen but not shown yet are saved: if they change what would be
    stored, it is shown first.
    """
    own = _own_draft(request, draft)
    form = ConfirmForm(request.POST)
    if not form.is_valid():
        raise BadRequest
    if own.done_at is None and "encoding" in request.POST:
        _save_options(request, own)
    page = reverse("paper-preview", args=[own.uuid])
    now = timezone.now()

    def bring_in() -> str:
        drafts.confirm(own, _scope(request), now, **form.confirmed())
        return page

    try:
        run_once(form.run_once_token, "paper", access.staff_of(request), now, bring_in)
    except NotBroughtIn:
        messages.error(request, _("Nothing was stored, because lines would be left out."))
    except PlanChanged:
        messages.error(
            request, _("Nothing is stored yet: this has changed since it was shown. Look again.")
        )
    return redirect(page)


@require_GET
@access.only(access.may_import)
def paper_refused(request: HttpRequest, draft: uuid.UUID) -> HttpResponse:
    """The lines left out, as a file to mend and bring in again."""
    own = _own_draft(request, draft)
    try:
        text = drafts.left_out_file(own, _scope(request), timezone.now())
    except TableFileError as error:
        raise BadRequest(str(error)) from None
    return refused_answer(text)


def _own_draft(request: HttpRequest, draft: uuid.UUID) -> ImportDraft:
    own = uploads.own_drafts(access.staff_of(request), drafts.KIND)
    result: ImportDraft = get_object_or_404(own, uuid=draft)
    return result


def _scope(request: HttpRequest) -> LogScope:
    return LogScope.of(access.staff_of(request), timezone.localdate())


def _save_options(request: HttpRequest, draft: ImportDraft) -> None:
    form = paper_options_form(timezone.now(), request.POST)
    if not form.is_valid():
        raise BadRequest
    drafts.save_options(draft, PaperOptions(**form.options()))
