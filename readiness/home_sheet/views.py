"""A child's home sheet, to print."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from readiness.child.lookup import read_now, visible_child
from readiness.home_sheet.page import home_context
from studio import access


@access.only(access.may_write_letters)
@require_safe
def home_sheet(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    now = timezone.now()
    context = home_context(read_now(visible_child(request, child, now), now))
    return render(request, "readiness/home_sheet/sheet.html", context)
