"""The staff of a director's halls, and the end of somebody's access."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.people.today import site_today
from studio.staff.accounts import told_to
from studio.staff.forms import LeaveForm
from studio.staff.leaving import leave


@access.only(access.may_end_access)
@require_safe
def staff(request: HttpRequest) -> HttpResponse:
    return _staff(request)


def _staff(
    request: HttpRequest, posted: LeaveForm | None = None, status: int = 200
) -> HttpResponse:
    me, today = access.staff_of(request), site_today(timezone.now())
    may_leave = access.whose_access_they_may_end(me)
    rows = []
    listed = access.visible_colleagues(me).prefetch_related("locations")
    ids = set(may_leave.values_list("pk", flat=True))
    for each in listed.order_by("first_name", "last_name", "username", "pk"):
        refused = posted is not None and str(posted["who"].value()) == str(each.pk)
        initial = {"who": each.pk, "left_on": each.left_on or today}
        fresh = LeaveForm(may_leave, initial=initial, auto_id=f"id_{each.pk}_%s")
        form = (posted if refused else fresh) if each.pk in ids else None
        gone = not access.may_sign_in(each, today)
        rows.append({"staff": each, "form": None if gone else form, "gone": gone})
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
