"""A director says that what was ended after a backup was looked through."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from studio import access
from studio.backup.notice import looked_through


@access.only(access.may_answer_for_record)
@require_POST
def restore_looked_through(request: HttpRequest) -> HttpResponse:
    looked_through(access.staff_of(request), timezone.now())
    return redirect("tonight")
