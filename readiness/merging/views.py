"""Two records of one child: found, looked at side by side, merged, and parted again."""

import datetime
import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from readiness.child.lookup import visible_child
from readiness.merging.page import candidates, doubles_file, doubles_page, sides, what_changes
from readiness.merging.words import NOT_MERGED
from studio import access
from studio.lists import csv_answer, wants_file
from studio.models import Child
from studio.people.doubles import ask_again, say_two
from studio.people.merging import NotMerged, merge, undo
from studio.people.today import site_today


@access.only(access.may_merge)
@require_safe
def doubles(request: HttpRequest) -> HttpResponse:
    """The likely doubles, and what was merged."""
    today = site_today(timezone.now())
    page = doubles_page(access.staff_of(request), today)
    if wants_file(request):
        return csv_answer(doubles_file(page), "doubles", today)
    return render(request, "readiness/merging/doubles.html", {"page": page})


@access.only(access.may_merge)
@require_safe
def same_as(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """Whom a child may be the same as; chosen (``with``), on to both side by side."""
    now, staff = timezone.now(), access.staff_of(request)
    one = visible_child(request, child, now)
    page = candidates(one, staff, site_today(now))
    chosen = next((o for o in page.others if str(o.uuid) == request.GET.get("with")), None)
    if chosen is not None:
        return redirect("merge", one.uuid, chosen.uuid)
    return render(request, "readiness/merging/same_as.html", {"child": one, "page": page})


@access.only(access.may_merge)
@require_http_methods(["GET", "HEAD", "POST"])
def merge_two(request: HttpRequest, child: uuid.UUID, other: uuid.UUID) -> HttpResponse:
    """Both side by side, and what would change; a POST merges ``child`` into ``other``."""
    now, staff = timezone.now(), access.staff_of(request)
    loser, survivor = visible_child(request, child, now), visible_child(request, other, now)
    if request.method != "POST":
        return _side_by_side(request, loser, survivor, now)
    try:
        merge(loser, survivor, staff, now)
    except NotMerged as refused:
        return _side_by_side(request, loser, survivor, now, refused.code)
    messages.success(request, _("%(child)s: one record now.") % {"child": survivor.name})
    return redirect("child", survivor.uuid)


def _side_by_side(
    request: HttpRequest, loser: Child, survivor: Child, now: datetime.datetime, code: str = ""
) -> HttpResponse:
    changes: list[str] = []
    try:
        changes = what_changes(loser, survivor, access.staff_of(request), now)
    except NotMerged as refused:
        code = code or refused.code
    context = {
        "loser": loser,
        "survivor": survivor,
        "sides": sides([loser, survivor], now),
        "changes": changes,
        "notice": NOT_MERGED[code] if code else "",
    }
    status = 409 if code else 200
    return render(request, "readiness/merging/merge.html", context, status=status)


@access.only(access.may_merge)
@require_POST
def two_children(request: HttpRequest, child: uuid.UUID, other: uuid.UUID) -> HttpResponse:
    """Somebody has looked at both: they are two, and are listed no more as likely one."""
    now = timezone.now()
    one, two = visible_child(request, child, now), visible_child(request, other, now)
    if one.pk == two.pk:
        raise Http404
    say_two(one, two, access.staff_of(request), now)
    said = _("%(one)s and %(other)s: two children. They are listed no more.")
    messages.success(request, said % {"one": one.name, "other": two.name})
    return redirect("doubles")


@access.only(access.may_merge)
@require_POST
def ask_about_again(request: HttpRequest, pair: uuid.UUID) -> HttpResponse:
    """What was said of the two is taken back."""
    now, staff = timezone.now(), access.staff_of(request)
    pairs = access.visible_not_doubles(staff, site_today(now)).select_related("one", "other")
    ask_again(get_object_or_404(pairs, uuid=pair), staff, now)
    messages.success(request, _("Taken back: where the two are alike, they are listed again."))
    return redirect("doubles")


@access.only(access.may_merge)
@require_POST
def merge_undo(request: HttpRequest, merge: uuid.UUID) -> HttpResponse:
    """Both are again what they were."""
    now, staff = timezone.now(), access.staff_of(request)
    merges = access.visible_merges(staff, site_today(now)).select_related("loser", "survivor")
    found = get_object_or_404(merges, uuid=merge)
    undo(found, staff, now)
    said = _("%(one)s and %(other)s are two again.")
    messages.success(request, said % {"one": found.loser.name, "other": found.survivor.name})
    return redirect("doubles")
