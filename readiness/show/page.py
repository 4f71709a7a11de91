"""What the pages of the show list show."""

import datetime
from typing import Any

from django.db.models import QuerySet
from django.http import Http404

from readiness.models import Show, ShowEntry, ShowNumber
from readiness.record.ladders import Ladders
from readiness.record.show.places import Place, in_the_wings, places_of
from readiness.record.standings import read, read_many
from readiness.review.rows import children_in
from readiness.show import forms
from readiness.show.words import (
    HISTORY,
    VERSIONS,
    WHY_NOT,
    missed_text,
    still_asked,
    turns_text,
)
from readiness.words.names import Names
from studio import access
from studio.models import Child, Staff
from studio.people.told_apart import tell_apart, who

ON_THE_DAY = (ShowEntry.Kind.FIRST_TURN, ShowEntry.Kind.OWN_YES)


def visible_shows(staff: Staff) -> "QuerySet[Show]":
    """Those of one's halls: on the evening everybody there may take a yes back."""
    shows = Show.objects.filter(location__in=access.visible_locations(staff))
    return shows.select_related("location", "surface")


def visible_numbers(staff: Staff) -> "QuerySet[ShowNumber]":
    numbers = ShowNumber.objects.filter(show__in=visible_shows(staff).values("pk"))
    return numbers.select_related("group", "drill", "show__location", "show__surface")


def shows_page(staff: Staff, ladders: Ladders, today: datetime.date) -> dict[str, Any]:
    """Those to come, the next first, then those that are over."""
    shows = list(visible_shows(staff).order_by("on", "pk"))
    return {
        "coming": [show for show in shows if show.on >= today],
        "over": [show for show in reversed(shows) if show.on < today],
        "form": forms.ShowForm(staff, ladders.named_on(today)),
        "directs": access.may_direct(staff),
    }


def show_page(show: Show, staff: Staff, now: datetime.datetime) -> dict[str, Any]:
    """Each number with its children; their evidence is for those who see them."""
    ladders, day = Ladders(), show.location.day_of(now)
    ladder = ladders.named_on(day)
    about = ("group", "drill", "show__location", "show__surface")
    numbers = list(show.numbers.select_related(*about).order_by("pk"))
    seen = set(access.visible_children(staff, day).values_list("pk", flat=True))
    return {
        "show": show,
        "floor": ladder.surface_names.get(show.surface.key, show.surface.key),
        "numbers": [_number(each, staff, ladders, seen, day) for each in numbers],
        "over": day > show.on,
        "today": day == show.on,
        "directs": access.may_direct(staff) and day < show.on,
        "coaches": access.may_recommend(staff),
        "sees_records": access.may_see_records(staff),
        "number_form": forms.NumberForm(staff, ladder),
    }


def _number(
    number: ShowNumber, staff: Staff, ladders: Ladders, seen: set[int], day: datetime.date
) -> dict[str, Any]:
    children = children_in(number.group, day)
    tell_apart(children)
    wings = in_the_wings(number)
    places = places_of(number, read_many(children, day, ladders))
    ladder = ladders.named_on(day)
    return {
        "number": number,
        "skill": ladder.drills[number.drill.key]["name"],
        "wings": wings,
        "rows": [_row(place, wings, place.child.pk in seen) for place in places],
        "wings_form": forms.WingsForm(staff, auto_id=f"wings-{number.pk}-%s"),
        "run_form": forms.RunThroughForm(auto_id=f"run-{number.pk}-%s"),
    }


def _row(place: Place, wings: Staff | None, sees: bool) -> dict[str, Any]:
    return {
        "child": place.child,
        "version": place.version,
        "words": VERSIONS[place.version],
        "why_not": WHY_NOT.get(place.why_not, ""),
        "still": still_asked(place, wings),
        "asked": place.asked,
        "ready": place.is_ready and place.asked is None and place.version != "yes",
        "sees": sees,
        "easy_form": _put_form(place, "easy"),
    }


def place_in(number: ShowNumber, child: Child, now: datetime.datetime) -> Place:
    """404 for a child of another class."""
    day = number.show.location.day_of(now)
    if child not in children_in(number.group, day):
        raise Http404
    return places_of(number, [read(child, day)])[0]


def _put_form(place: Place, version: str) -> forms.PutForm:
    return forms.PutForm(initial={"seen": place.seen, "version": version}, auto_id=False)


def child_page(place: Place, staff: Staff) -> dict[str, Any]:
    reading, show = place.reading, place.number.show
    names = Names(reading.child.called, reading.ladder, reading.read.day)
    opening = reading.read.state.opened.get(place.stages_to_sign[-1])
    return {
        **_row(place, in_the_wings(place.number), sees=True),
        **_verbs(place, staff),
        "number": place.number,
        "show": show,
        "who": who(place.child, place.day),
        "floor": names.surface(place.phrase.surface),
        "skill": names.drill(place.phrase.drill),
        "signed_for": names.surface(opening.surface) if opening and opening.surface else "",
        "signed": place.signed_stage,
        "turns": turns_text(place),
        "missed": missed_text(names, place),
        "history": [(HISTORY[e.kind], e.by.called, e.day) for e in reversed(place.entries)],
    }


def _verbs(place: Place, staff: Staff) -> dict[str, Any]:
    """What this person may do now, each with its form; None otherwise."""
    on, asked, version = place.number.show.on, place.asked, place.version
    before, coaches = place.day < on, access.may_recommend(staff)
    recommends = place.is_ready and asked is None and version != "yes"
    recommends = recommends and access.may_recommend_for(staff, place.child)
    signs = place.is_ready and asked is not None and asked.by_id != staff.pk
    signs = signs and access.may_decide_on(staff, place.child)
    raises = before and coaches and version == "easy" and place.may_be_there
    seen = forms.SeenForm(initial={"seen": place.seen}, auto_id=False)
    on_the_day = coaches and place.day == on and version == "yes"
    return {
        "recommend": seen if recommends else None,
        "sign": seen if signs else None,
        "beside": _put_form(place, "beside") if raises or version == "yes" else None,
        "takes_back": version != "easy" or asked is not None,
        "today": [_day_form(place, kind) for kind in ON_THE_DAY] if on_the_day else [],
    }


def _day_form(place: Place, kind: str) -> forms.OnTheDayForm:
    return forms.OnTheDayForm(initial={"seen": place.seen, "kind": kind}, auto_id=False)
