"""After a restore: that it was looked through; who a child is and which class it was that came
back with a tablet's lines."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.backup.forms import ChildForm, ClassForm, say_which, say_who
from studio.backup.notice import looked_through
from studio.people.today import site_today


@access.only(access.may_answer_for_record)
@require_POST
def restore_looked_through(request: HttpRequest) -> HttpResponse:
    looked_through(access.staff_of(request), timezone.now())
    return redirect("tonight")


@access.only(access.may_answer_for_record)
@require_safe
def sorting(request: HttpRequest) -> HttpResponse:
    return _page(request)


def _page(
    request: HttpRequest, refused: object = None, form: object = None, status: int = 200
) -> HttpResponse:
    """``refused``: the child or the class of which ``form`` was not taken."""
    staff = access.staff_of(request)
    halls = access.visible_locations(staff)
    children = access.unknown_children(staff, site_today(timezone.now())).order_by("pk")
    classes = access.unsorted_classes(staff).order_by("pk")
    context = {
        "children": [
            (child, form if child == refused else ChildForm(auto_id=f"c{child.pk}_%s"))
            for child in children.prefetch_related("classes")
        ],
        "classes": [
            (group, form if group == refused else ClassForm(halls, auto_id=f"g{group.pk}_%s"))
            for group in classes.select_related("location")
        ],
    }
    return render(request, "studio/backup/sorting.html", context, status=status)


@access.only(access.may_answer_for_record)
@require_POST
def child_known(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    today = site_today(timezone.now())
    found = get_object_or_404(access.unknown_children(access.staff_of(request), today), uuid=child)
    form = ChildForm(request.POST, auto_id=f"c{found.pk}_%s")
    if not form.is_valid():
        return _page(request, found, form, status=422)
    say_who(found, **form.cleaned_data)
    return redirect("sorting")


@access.only(access.may_answer_for_record)
@require_POST
def class_known(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    staff = access.staff_of(request)
    found = get_object_or_404(access.unsorted_classes(staff), uuid=group)
    halls = access.visible_locations(staff)
    form = ClassForm(halls, request.POST, auto_id=f"g{found.pk}_%s")
    if not form.is_valid():
        return _page(request, found, form, status=422)
    say_which(found, **form.cleaned_data)
    return redirect("sorting")
