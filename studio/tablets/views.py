"""Shared tablets: the director's list, one's own PIN, and changing over by PIN."""

import uuid
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.models import Staff, Tablet
from studio.people.today import site_today
from studio.sign_in import pins, throttle
from studio.sign_in.next_page import address_for, own_address
from studio.sign_in.owner_cookie import set_owner_cookie
from studio.tablets.enrolment import (
    COOKIE,
    change_over,
    enrol,
    set_tablet_cookie,
    tablet_of,
    withdraw,
)
from studio.tablets.forms import EnrolForm, SetPinForm, TypePinForm, WhoForm


@access.only(access.may_keep_tablets)
@require_safe
def tablets(request: HttpRequest) -> HttpResponse:
    return _tablets(request, EnrolForm(access.visible_locations(access.staff_of(request))))


def _tablets(request: HttpRequest, form: EnrolForm, status: int = 200) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    listed = access.visible_tablets(staff).select_related("location", "enrolled_by")
    trusted = set(access.trusted_tablets(site_today(now)).values_list("pk", flat=True))
    rows = [
        {
            "tablet": tablet,
            "waiting": throttle.waiting(tablet, now),
            "trusted": tablet.pk in trusted,
        }
        for tablet in listed.order_by("location__name", "name", "pk")
    ]
    context = {
        "form": form,
        "rows": rows,
        "this": tablet_of(request, now),
        "own_pin": pins.pin_of(staff),
    }
    return render(request, "studio/tablets/tablets.html", context, status=status)


@access.only(access.may_keep_tablets)
@require_POST
def tablet_enrol(request: HttpRequest) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    form = EnrolForm(access.visible_locations(staff), request.POST)
    if not form.is_valid():
        return _tablets(request, form, status=422)
    name, location = form.cleaned_data["name"], form.cleaned_data["location"]
    _tablet, secret = enrol(name, location, staff, now, replaces=tablet_of(request, now))
    message = _("This is now %(name)s. Sign out before you leave it.")
    messages.success(request, message % {"name": name})
    response = redirect("tablets")
    set_tablet_cookie(response, secret)
    return response


@access.only(access.may_keep_tablets)
@require_POST
def tablet_withdraw(request: HttpRequest, tablet: uuid.UUID) -> HttpResponse:
    enrolled = _own_tablet(request, tablet)
    withdraw(enrolled, access.staff_of(request), timezone.now())
    message = _("%(name)s is withdrawn: nobody signs in there by PIN any more.")
    messages.success(request, message % {"name": enrolled.name})
    return redirect("tablets")


@access.only(access.may_keep_tablets)
@require_POST
def tablet_unlock(request: HttpRequest, tablet: uuid.UUID) -> HttpResponse:
    enrolled = _own_tablet(request, tablet)
    throttle.unlock(enrolled)
    message = _("Nobody has to wait on %(name)s.")
    messages.success(request, message % {"name": enrolled.name})
    return redirect("tablets")


def _own_tablet(request: HttpRequest, tablet: uuid.UUID) -> Tablet:
    return get_object_or_404(access.visible_tablets(access.staff_of(request)), uuid=tablet)


@access.only(access.may_set_pin)
def pin(request: HttpRequest) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    posted = request.method == "POST"
    form = SetPinForm(request, staff, now, request.POST if posted else None)
    if posted and form.is_valid():
        pins.set_pin(staff, form.cleaned_data["pin"], now)
        messages.success(request, _("Your PIN is set."))
        return redirect("pin")
    context = {"form": form, "own_pin": pins.pin_of(staff)}
    return render(request, "studio/tablets/pin.html", context, status=422 if posted else 200)


# Public: the tablet's own cookie lets one see the names and try a PIN, and nothing else does.
@login_not_required
def change_over_page(request: HttpRequest) -> HttpResponse:
    """Change over by PIN: first the name, then the digits."""
    tablet, posted = tablet_of(request, timezone.now()), request.method == "POST"
    data = request.POST if posted else request.GET
    next_page = own_address(request, data.get("next", ""))
    if tablet is None:
        return redirect(f"{reverse('sign-in')}?{urlencode({'next': next_page})}")
    staff = access.may_change_over(tablet, site_today(timezone.now()))
    who = WhoForm(staff, data)
    if who.is_valid():
        return _type_pin(request, who.cleaned_data["who"], tablet, next_page)
    names = staff.order_by("first_name", "last_name", "username", "pk")
    context = {"tablet": tablet, "staff": names, "next": next_page}
    return render(
        request, "studio/tablets/change_over.html", context, status=422 if posted else 200
    )


def _type_pin(request: HttpRequest, chosen: Staff, tablet: Tablet, next_page: str) -> HttpResponse:
    now, posted = timezone.now(), request.method == "POST"
    form = TypePinForm(chosen, tablet, now, request.POST if posted else None)
    if posted and form.is_valid():
        change_over(request, chosen, tablet, now)
        response = redirect(address_for(chosen, next_page, site_today(now)))
        set_tablet_cookie(response, request.COOKIES[COOKIE])
        set_owner_cookie(response, chosen)
        return response
    context = {"tablet": tablet, "chosen": chosen, "form": form, "next": next_page}
    status = 422 if posted else 200
    return render(request, "studio/tablets/change_over_pin.html", context, status=status)
