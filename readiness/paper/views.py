"""The class sheet, to print before the evening."""

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from readiness.paper.sheet import evening_on, sheet_context
from studio import access


@access.only(access.may_write_letters)
@require_safe
def class_sheet(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    now, staff = timezone.now(), access.staff_of(request)
    classes = access.visible_classes(staff).select_related("location")
    found = get_object_or_404(classes, uuid=group)
    evening = evening_on(found, request.GET.get("day", ""), now)
    if evening is None:
        raise Http404
    return render(request, "readiness/paper/sheet.html", sheet_context(evening, now))
