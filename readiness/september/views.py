"""The September sheet, and a row of it signed."""

import datetime
import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from readiness.child.decision_answer import decide_and_go
from readiness.child.lookup import visible_child
from readiness.record import decisions
from readiness.september.forms import SeenStepForm
from readiness.september.sheet import sheets
from studio import access
from studio.access import only
from studio.people.today import local_today


@only(access.may_plan)
@require_safe
def september(request: HttpRequest) -> HttpResponse:
    return _page(request, timezone.now())


def _page(
    request: HttpRequest,
    now: datetime.datetime,
    refused: SeenStepForm | None = None,
    notice: str = "",
    status: int = 200,
) -> HttpResponse:
    context = {"sheets": sheets(access.staff_of(request), now, refused), "notice": notice}
    return render(request, "readiness/september/sheet.html", context, status=status)


@only(access.may_plan)
@require_POST
def september_sign(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """The step is given, with who saw it and when."""
    now, staff = timezone.now(), access.staff_of(request)
    visible = visible_child(request, child, now)
    form = SeenStepForm(local_today([visible], now)[visible.pk], request.POST)
    form.child = str(visible.uuid)

    def work() -> None:
        said = form.cleaned_data
        decisions.give_step(
            visible, said["drill"], said["support"], staff, form.snapshot(), now, form.reason()
        )

    def draw(form: object, notice: str, status: int) -> HttpResponse:
        again = form if isinstance(form, SeenStepForm) else None
        return _page(request, now, again, notice, status)

    return decide_and_go(request, form, now, work, reverse("september"), draw)
