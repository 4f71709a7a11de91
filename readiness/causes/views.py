"""Where the misses of a class come from, and of all classes."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from readiness.causes.of_class import class_context
from readiness.causes.of_studio import studio_context
from studio import access
from studio.people.told_apart import name_classes


@access.only(access.may_see_records)
@require_safe
def class_causes(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    staff = access.staff_of(request)
    found = get_object_or_404(access.visible_classes(staff).select_related("location"), uuid=group)
    name_classes([found])
    context = class_context(staff, found, timezone.now())
    return render(request, "readiness/causes/of_class.html", context)


@access.only(access.may_see_records)
@require_safe
def causes(request: HttpRequest) -> HttpResponse:
    context = studio_context(access.staff_of(request), timezone.now())
    return render(request, "readiness/causes/of_studio.html", context)
