"""The page “Roster in”: upload, preview, answers, confirmation, result."""

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
from studio.idempotency import new_token, run_once
from studio.imports import uploads
from studio.imports.file_text import TableFileError
from studio.imports.forms import (
    ConfirmForm,
    FileOptionsForm,
    UploadForm,
    file_options_shown,
    refused_answer,
)
from studio.imports.table_file import read_table
from studio.imports.unchanged import NotBroughtIn, PlanChanged
from studio.models import ImportDraft
from studio.roster import drafts
from studio.roster.bring_in import RosterOptions, Scope


@access.only(access.may_import)
def roster_import(request: HttpRequest) -> HttpResponse:
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
            return redirect("roster-preview", draft.uuid)
    status = 422 if request.method == "POST" else 200
    return render(request, "studio/roster/import.html", {"form": form}, status=status)


@require_GET
@access.only(access.may_import)
def roster_preview(request: HttpRequest, draft: uuid.UUID) -> HttpResponse:
    """What would change; once done, what was."""
    found = _own_draft(request, draft)
    if found.done_at is not None:
        return render(request, "studio/roster/result.html", {"draft": found})
    scope = _scope(request)
    context: dict[str, object] = {"draft": found, "answered": found.options.get("choices")}
    shown = file_options_shown(found.options)
    try:
        reading = drafts.read(found, scope, timezone.localdate())
    except TableFileError as error:
        context["fault"] = str(error)
    else:
        shown = file_options_shown(found.options, reading.table, reading.parsed.dates.order)
        context |= {"reading": reading, "plan": reading.plan, "fault": reading.parsed.fault}
        if reading.plan is not None:
            shown_plan = {"token": new_token(), "shown": reading.plan.digest}
            context["confirm"] = ConfirmForm(initial=shown_plan)
    context["options"] = _options_form(scope, initial=shown)
    return render(request, "studio/roster/preview.html", context)


@require_POST
@access.only(access.may_import)
def roster_options(request: HttpRequest, draft: uuid.UUID) -> HttpResponse:
    """Store the options and the answers, and show the preview again."""
    found = _own_draft(request, draft)
    _store_options(request, found)
    return redirect("roster-preview", found.uuid)


@require_POST
@access.only(access.may_import)
def roster_confirm(request: HttpRequest, draft: uuid.UUID) -> HttpResponse:
    """Store what the preview shows, once.

    Answers and options that were chosen but not shown yet are stored: if they change what
    would be stored, it is shown first.
    """
    found = _own_draft(request, draft)
    form = ConfirmForm(request.POST)
    if not form.is_valid():
        raise BadRequest
    if found.done_at is None and "encoding" in request.POST:
        _store_options(request, found)
    page = reverse("roster-preview", args=[found.uuid])
    now, today = timezone.now(), timezone.localdate()

    def bring_in() -> str:
        drafts.confirm(found, _scope(request), now, today, **form.confirmed())
        return page

    try:
        run_once(form.run_once_token, "roster", access.staff_of(request), now, bring_in)
    except NotBroughtIn:
        messages.error(request, _("Nothing was stored, because lines would be left out."))
    except PlanChanged:
        messages.error(
            request, _("Nothing is stored yet: this has changed since it was shown. Look again.")
        )
    return redirect(page)


@require_GET
@access.only(access.may_import)
def roster_refused(request: HttpRequest, draft: uuid.UUID) -> HttpResponse:
    """The lines left out, as a file to mend and bring in again."""
    found = _own_draft(request, draft)
    try:
        text = drafts.left_out_file(found, _scope(request), timezone.localdate())
    except TableFileError as error:
        raise BadRequest(str(error)) from None
    return refused_answer(text)


def _own_draft(request: HttpRequest, draft: uuid.UUID) -> ImportDraft:
    own = uploads.own_drafts(access.staff_of(request), drafts.KIND)
    found: ImportDraft = get_object_or_404(own, uuid=draft)
    return found


def _scope(request: HttpRequest) -> Scope:
    return Scope.of(access.staff_of(request), timezone.localdate())


def _store_options(request: HttpRequest, draft: ImportDraft) -> None:
    form = _options_form(_scope(request), request.POST)
    if not form.is_valid():
        raise BadRequest
    answers = drafts.answers_in(request.POST.dict())
    if "forget" not in request.POST:
        answers = {**drafts.options_of(draft).choices, **answers}
    drafts.store_options(draft, RosterOptions(**form.options(), choices=answers))


def _options_form(
    scope: Scope,
    data: dict[str, str] | None = None,
    initial: dict[str, str] | None = None,
) -> FileOptionsForm:
    names = [(name, name) for name in scope.class_names()]
    label = _("Class of lines that name none")
    return FileOptionsForm(data, initial=initial, usual_label=label, usual_choices=names)
