"""Pictures from the side: turned on or off in a hall; a family's answer on a child's own page."""

import uuid

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from studio import access
from studio.idempotency import run_once
from studio.models import Child, PictureConsent
from studio.people.consents import NewAnswer, store_answers
from studio.people.today import local_today
from studio.pictures.allowed import turn
from studio.pictures.forms import PictureConsentForm, TurnForm
from studio.pictures.page import answers_now, visible_child
from studio.pictures.words import turned_text


@access.only(access.may_confirm_halls)
@require_POST
def hall_pictures(request: HttpRequest) -> HttpResponse:
    staff = access.staff_of(request)
    form = TurnForm(access.visible_locations(staff), request.POST)
    if not form.is_valid():
        raise BadRequest
    hall, on = form.cleaned_data["hall"], form.cleaned_data["on"] == "yes"
    turn(hall, on, staff, timezone.now())
    messages.success(request, turned_text(hall.name, on))
    return redirect("halls")


@access.only(access.may_change_consent)
@require_http_methods(["GET", "HEAD", "POST"])
def child_pictures(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    visible = visible_child(staff, child, now)
    today = local_today([visible], now)[visible.pk]
    if request.method != "POST":
        known = {"seen_by": staff.called, "seen_on": today, "guardian": visible.guardian}
        return _page(request, visible, PictureConsentForm(today, initial=known))
    form = PictureConsentForm(today, request.POST)
    if not form.is_valid():
        return _page(request, visible, form, 422)
    seen = form.cleaned_data

    def keep() -> str:
        answer = NewAnswer(visible, seen["guardian"], seen["answer"] == "yes")
        store_answers(PictureConsent, [answer], seen["seen_by"], seen["seen_on"], staff, now)
        messages.success(request, _("It is written down."))
        return request.path

    token = str(seen["token"])
    address, _done = run_once(token, "child-pictures", request.path, staff, now, keep)
    return redirect(address)


def _page(
    request: HttpRequest, child: Child, form: PictureConsentForm, status: int = 200
) -> HttpResponse:
    context = {"child": child, "form": form, **answers_now(child, form.today)}
    return render(request, "studio/pictures/child.html", context, status=status)
