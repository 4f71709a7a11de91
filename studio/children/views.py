"""The children as the desk keeps them: the list, a child's facts, classes, leaving, coming back."""

import datetime
import uuid

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from studio import access
from studio.children.child_page import child_page
from studio.children.forms import (
    AddForm,
    ClassDayForm,
    ClassesDayForm,
    Contacts,
    DayForm,
    FactsForm,
    FamilyEndForm,
    FamilyForm,
    NewcomerForm,
    SearchForm,
    contact_values,
)
from studio.children.page import children_file, children_page, facts_of, found
from studio.idempotency import new_token, run_once
from studio.lists import csv_answer, wants_file
from studio.models import Child
from studio.people import children as kept
from studio.people.class_lists import classes_of, join, leave
from studio.people.family import end_family, say_family
from studio.people.today import local_today, site_today


@access.only(access.may_keep_children)
@require_http_methods(["GET", "HEAD", "POST"])
def children(request: HttpRequest) -> HttpResponse:
    """The list. What is looked for comes in a POST, which stores nothing."""
    staff, now = access.staff_of(request), timezone.now()
    today, visible = site_today(now), access.visible_children(staff, site_today(now))
    asked = request.POST if request.method == "POST" else request.GET
    form = SearchForm(access.visible_classes(staff), asked)
    fitting = found(visible, form.cleaned_data if form.is_valid() else {}, today)
    if wants_file(request):
        return csv_answer(children_file(fitting, now), "children", today)
    page, rows = children_page(fitting, asked.get("page", ""), now)
    unnamed = access.unknown_children(staff, today).exclude(left_on__lte=today).count()
    context = {"form": form, "page": page, "rows": rows, "unnamed": unnamed}
    return render(request, "studio/children/children.html", context)


@access.only(access.may_keep_children)
@require_http_methods(["GET", "HEAD", "POST"])
def child_add(request: HttpRequest) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    today, groups = site_today(now), access.visible_classes(staff)
    data = request.POST if request.method == "POST" else None
    form = AddForm(today, data, initial={"letter_language": "en", "token": new_token()})
    comes = ClassesDayForm(groups, None, data, initial={"day": today})
    contacts = Contacts(data, prefix="contact")
    if data is None or not all([form.is_valid(), comes.is_valid(), contacts.is_valid()]):
        context = {"form": form, "comes": comes, "contacts": contacts}
        status = 200 if data is None else 422
        return render(request, "studio/children/add.html", context, status=status)

    def add() -> str:
        into = comes.cleaned_data
        child = kept.add_child(form.values(), contact_values(contacts), into["groups"], into["day"])
        return reverse("child-facts", args=[child.uuid])

    token = form.run_once_token()
    address, _done = run_once(token, "child-add", request.path, staff, now, add)
    return redirect(address)


def _kept(request: HttpRequest, child: uuid.UUID) -> Child:
    today = site_today(timezone.now())
    visible = access.visible_children(access.staff_of(request), today)
    result: Child = get_object_or_404(visible, uuid=child)
    return result


def _today_of(child: Child) -> datetime.date:
    """In the child's hall, whose day the page shows."""
    return local_today([child], timezone.now())[child.pk]


def _page(request: HttpRequest, child: Child, **refused: object) -> HttpResponse:
    """The page of a child; with a form that was not taken it is answered with 422."""
    context = child_page(child, access.staff_of(request), timezone.now(), refused)
    status = 422 if refused else 200
    return render(request, "studio/children/child.html", context, status=status)


@access.only(access.may_keep_children)
@require_http_methods(["GET", "HEAD", "POST"])
def child_facts(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    found_child = _kept(request, child)
    if request.method != "POST":
        return _page(request, found_child)
    form = FactsForm(_today_of(found_child), request.POST, initial=facts_of(found_child))
    contacts = Contacts(request.POST, prefix="contact")
    if not form.is_valid() or not contacts.is_valid():
        return _page(request, found_child, facts=form, contacts=contacts)
    kept.change_child(found_child, form.values(), contact_values(contacts))
    messages.success(request, _("%(name)s: kept.") % {"name": found_child.called})
    return redirect("child-facts", child)


@access.only(access.may_keep_children)
@require_POST
def child_join(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    staff, found_child = access.staff_of(request), _kept(request, child)
    form = ClassDayForm(access.visible_classes(staff), None, request.POST, prefix="join")
    if not form.is_valid():
        return _page(request, found_child, join=form)
    join(found_child, form.cleaned_data["group"], form.cleaned_data["day"])
    return redirect("child-facts", child)


@access.only(access.may_keep_children)
@require_POST
def child_leave(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    staff, found_child = access.staff_of(request), _kept(request, child)
    classes = classes_of([found_child])[found_child.pk]
    own = access.visible_classes(staff).filter(pk__in=[group.pk for group in classes])
    form = ClassDayForm(own, _today_of(found_child), request.POST, prefix="out")
    if form.is_valid() and len(classes) < 2:
        form.add_error(
            None,
            _("This is the only class. Join another first, or let the child leave the studio."),
        )
    if not form.is_valid():
        return _page(request, found_child, out=form)
    leave(found_child, form.cleaned_data["group"], form.cleaned_data["day"])
    return redirect("child-facts", child)


@access.only(access.may_keep_children)
@require_POST
def child_gone(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    found_child = _kept(request, child)
    form = DayForm(None, request.POST, prefix="gone")
    if not form.is_valid():
        return _page(request, found_child, gone=form)
    day = form.cleaned_data["day"]
    kept.leave_studio(found_child, day)
    values = {"name": found_child.called, "day": date_format(day, "j F Y")}
    messages.success(request, _("%(name)s leaves from %(day)s on.") % values)
    return redirect("child-facts", child)


@access.only(access.may_keep_children)
@require_POST
def child_back(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    staff, found_child = access.staff_of(request), _kept(request, child)
    form = ClassesDayForm(access.visible_classes(staff), None, request.POST, prefix="back")
    if not form.is_valid():
        return _page(request, found_child, back=form)
    kept.come_back(found_child, form.cleaned_data["groups"], form.cleaned_data["day"])
    return redirect("child-facts", child)


@access.only(access.may_keep_children)
@require_POST
def child_family(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """Somebody of the staff is family of the child."""
    staff, found_child = access.staff_of(request), _kept(request, child)
    form = FamilyForm(access.visible_colleagues(staff), request.POST, prefix="family")
    if not form.is_valid():
        return _page(request, found_child, family=form)
    say_family(found_child, form.cleaned_data["staff"], staff, timezone.now())
    return redirect("child-facts", child)


@access.only(access.may_keep_children)
@require_POST
def child_family_end(request: HttpRequest, child: uuid.UUID) -> HttpResponse:
    """Or is so no more; nobody says that of themselves."""
    staff, found_child = access.staff_of(request), _kept(request, child)
    form = FamilyEndForm(access.family_they_may_end(staff, found_child), request.POST)
    if not form.is_valid():
        raise PermissionDenied
    end_family(form.cleaned_data["row"], staff, timezone.now())
    return redirect("child-facts", child)


@access.only(access.may_add_unnamed)
@require_POST
def newcomer(request: HttpRequest, group: uuid.UUID) -> HttpResponse:
    """Somebody came who is in no list: into the class now, and to the desk to say who it is."""
    staff, now = access.staff_of(request), timezone.now()
    classes = access.visible_classes(staff).select_related("location")
    visible, form = get_object_or_404(classes, uuid=group), NewcomerForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("This name is too long. Nobody was added."))
        return redirect("class", group)

    def add() -> str:
        child = kept.add_unnamed(visible, visible.location.day_of(now), form.cleaned_data["name"])
        added = _("%(name)s is in the class. A director says who it is; nothing is signed before.")
        messages.success(request, added % {"name": child.name})
        return reverse("class", args=[group])

    address, _done = run_once(form.run_once_token(), "newcomer", request.path, staff, now, add)
    return redirect(address)
