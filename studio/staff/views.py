"""The staff of a director's halls: inviting, changing, handing over a link, the end of access."""

import uuid

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studio import access
from studio.as_seen import ChangedMeanwhile
from studio.lists import csv_answer, wants_file
from studio.models import Staff
from studio.people.today import site_today
from studio.staff.accounts import told_to
from studio.staff.changing import change, invite, set_papers
from studio.staff.forms import ChangeForm, InviteForm, LeaveForm, PapersForm
from studio.staff.leaving import leave, let_back, take_pin_away
from studio.staff.links import GOOD_FOR, make_link
from studio.staff.page import Forms, member_page, running_out, staff_file


@access.only(access.may_end_access)
@require_safe
def staff(request: HttpRequest) -> HttpResponse:
    if wants_file(request):
        today = site_today(timezone.now())
        return csv_answer(staff_file(_listed(access.staff_of(request)), today), "staff", today)
    return _staff(request)


def _listed(me: Staff) -> QuerySet[Staff]:
    listed = access.visible_colleagues(me).prefetch_related("locations", "papers")
    return listed.order_by("first_name", "last_name", "username", "pk")


def _staff(
    request: HttpRequest, posted: LeaveForm | None = None, status: int = 200
) -> HttpResponse:
    me, today = access.staff_of(request), site_today(timezone.now())
    may_leave = access.whose_access_they_may_end(me)
    rows = []
    ids = set(may_leave.values_list("pk", flat=True))
    for each in _listed(me):
        refused = posted is not None and str(posted["who"].value()) == str(each.pk)
        initial = {"who": each.pk, "left_on": each.left_on or today}
        fresh = LeaveForm(may_leave, initial=initial, auto_id=f"id_{each.pk}_%s")
        form = (posted if refused else fresh) if each.pk in ids else None
        gone = not access.may_sign_in(each, today)
        about = {"mine": each.pk in ids, "papers": running_out(each.papers.all(), today)}
        rows.append({"staff": each, "form": None if gone else form, "gone": gone, **about})
    context = {"rows": rows, "told": told_to(me, timezone.now())}
    return render(request, "studio/staff/staff.html", context, status=status)


@access.only(access.may_end_access)
@require_POST
def staff_end(request: HttpRequest) -> HttpResponse:
    me = access.staff_of(request)
    form = LeaveForm(access.whose_access_they_may_end(me), request.POST)
    if not form.is_valid():
        return _staff(request, form, status=422)
    who, day = form.cleaned_data["who"], form.cleaned_data["left_on"]
    leave(who, day, me, timezone.now())
    sentence = _("%(name)s cannot sign in from %(day)s on.")
    values = {"name": who.called, "day": date_format(day, "j F Y")}
    messages.success(request, sentence % values)
    return redirect("staff")


@access.only(access.may_end_access)
@require_http_methods(["GET", "HEAD", "POST"])
def staff_invite(request: HttpRequest) -> HttpResponse:
    me, posted = access.staff_of(request), request.method == "POST"
    form = InviteForm(me, request.POST if posted else None)
    if posted and form.is_valid():
        made = invite(form.cleaned_data, me, timezone.now())
        sentence = _("%(name)s’s account is there. Make the link now and hand it over.")
        messages.success(request, sentence % {"name": made.called})
        return redirect("staff-member", made.uuid)
    status = 422 if posted else 200
    return render(request, "studio/staff/invite.html", {"form": form}, status=status)


def _member(request: HttpRequest, member: uuid.UUID) -> Staff:
    """One whose account this director may change, or 404."""
    mine = access.whose_access_they_may_end(access.staff_of(request))
    return get_object_or_404(mine, uuid=member)


def _shown(
    request: HttpRequest, found: Staff, status: int = 200, link: str = "", **posted: object
) -> HttpResponse:
    me, today = access.staff_of(request), site_today(timezone.now())
    context = member_page(found, me, today, Forms(**posted))  # type: ignore[arg-type]
    hours = int(GOOD_FOR.total_seconds() // 3600)
    context |= {"link": link, "hours": hours}
    return render(request, "studio/staff/member.html", context, status=status)


def _changed_meanwhile(request: HttpRequest, found: Staff) -> HttpResponse:
    sentence = _(
        "Somebody else changed this meanwhile. Nothing of yours was stored; this is how it stands "
        "now."
    )
    messages.error(request, sentence)
    return _shown(request, found, status=409)


@access.only(access.may_end_access)
@require_safe
def staff_member(request: HttpRequest, member: uuid.UUID) -> HttpResponse:
    return _shown(request, _member(request, member))


@access.only(access.may_end_access)
@require_POST
def staff_change(request: HttpRequest, member: uuid.UUID) -> HttpResponse:
    me, found = access.staff_of(request), _member(request, member)
    form = ChangeForm(me, found, request.POST)
    if not form.is_valid():
        return _shown(request, found, status=422, change=form)
    said = form.cleaned_data
    try:
        change(found, said, said["seen"], me, timezone.now())
    except ChangedMeanwhile:
        return _changed_meanwhile(request, found)
    messages.success(request, _("%(name)s: kept.") % {"name": found.called})
    return redirect("staff-member", found.uuid)


@access.only(access.may_end_access)
@require_POST
def staff_papers(request: HttpRequest, member: uuid.UUID) -> HttpResponse:
    found = _member(request, member)
    form = PapersForm(request.POST, auto_id="paper_%s")
    if not form.is_valid():
        return _shown(request, found, status=422, papers=form)
    said = form.cleaned_data
    try:
        set_papers(found, said, said["seen"], access.staff_of(request))
    except ChangedMeanwhile:
        return _changed_meanwhile(request, found)
    messages.success(request, _("%(name)s’s papers: kept.") % {"name": found.called})
    return redirect("staff-member", found.uuid)


# It answers with the page itself: a redirect would have to keep the link somewhere on the way.
@access.only(access.may_end_access)
@require_POST
def staff_link(request: HttpRequest, member: uuid.UUID) -> HttpResponse:
    found = _member(request, member)
    if found.left_on is not None:
        return _shown(request, found, status=422)
    code = make_link(found, access.staff_of(request), timezone.now())
    link = f"{request.build_absolute_uri(reverse('new-password'))}#{code}"
    return _shown(request, found, link=link)


@access.only(access.may_end_access)
@require_POST
def staff_pin(request: HttpRequest, member: uuid.UUID) -> HttpResponse:
    found = _member(request, member)
    take_pin_away(found, access.staff_of(request), timezone.now())
    sentence = _("%(name)s’s PIN is gone. They set another one under “Your PIN”.")
    messages.success(request, sentence % {"name": found.called})
    return redirect("staff-member", found.uuid)


@access.only(access.may_end_access)
@require_POST
def staff_back(request: HttpRequest, member: uuid.UUID) -> HttpResponse:
    found = _member(request, member)
    if found.left_on is not None:
        let_back(found, access.staff_of(request), timezone.now())
        sentence = _("%(name)s is back. Make a link now: with it they choose a password.")
        messages.success(request, sentence % {"name": found.called})
    return redirect("staff-member", found.uuid)
