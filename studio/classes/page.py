"""What the pages of the classes show."""

import datetime
from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _

from studio import access
from studio.classes.changing import class_mark
from studio.classes.dates import evening_mark
from studio.classes.forms import (
    ClassForm,
    EveningForm,
    HolidayForm,
    MoveForm,
    StandInForm,
    VisitForm,
)
from studio.lists import csv_text
from studio.models import ClassGroup, Holiday, Staff
from studio.people.class_dates import Evening, evenings
from studio.people.class_lists import in_class
from studio.people.told_apart import name_classes

# So many weeks of evenings are listed.
WEEKS = datetime.timedelta(weeks=10)


def classes_page(
    by: Staff, today: datetime.date, holiday: HolidayForm | None = None
) -> dict[str, Any]:
    visible = access.visible_classes(by).select_related("location").prefetch_related("staff")
    groups = list(visible.order_by("location__name", "weekday", "starts_at", "pk"))
    name_classes(groups)
    halls = access.visible_locations(by)
    coming = Holiday.objects.filter(location__in=halls, last_day__gte=today)
    return {
        "groups": groups,
        "keeps": access.may_keep_classes(by),
        "holidays": coming.select_related("location").order_by("first_day", "pk"),
        "holiday": holiday or HolidayForm(by, auto_id="holiday_%s"),
    }


def classes_file(groups: Iterable[ClassGroup]) -> str:
    """The classes for a spreadsheet."""
    columns = [_("class"), _("hall"), _("day"), _("begins at"), _("minutes"), _("staff")]
    rows = (
        (
            group.name,
            group.location.name,
            group.get_weekday_display(),
            f"{group.starts_at:%H:%M}",
            group.minutes,
            ", ".join(each.called for each in group.staff.all()),
        )
        for group in groups
    )
    return csv_text(columns, rows)


def plan_page(
    group: ClassGroup,
    by: Staff,
    today: datetime.date,
    change: ClassForm | None = None,
    move: MoveForm | None = None,
) -> dict[str, Any]:
    seen = class_mark(group)
    staff = list(group.staff.values_list("pk", flat=True))
    about = {"name": group.name, "staff": staff, "seen": seen}
    plan = {
        "location": group.location_id,
        "weekday": group.weekday,
        "starts_at": group.starts_at,
        "minutes": group.minutes,
        "seen": seen,
    }
    name_classes([group])
    return {
        "group": group,
        "keeps": access.may_keep_classes(by),
        "evenings": evenings([group], today, today + WEEKS),
        "moves": group.moves.filter(done=False).select_related("location").order_by("from_day"),
        "change": change or ClassForm(group, by, today, initial=about),
        "move": move or MoveForm(group, by, today, initial=plan, auto_id="move_%s"),
    }


def evening_page(
    evening: Evening,
    by: Staff,
    today: datetime.date,
    move: EveningForm | None = None,
    stand_in: StandInForm | None = None,
    visit: VisitForm | None = None,
) -> dict[str, Any]:
    group, meeting, seen = evening.group, evening.meeting, evening_mark(evening)
    there = list(meeting.staff.values_list("pk", flat=True)) if meeting else []
    when = {"day": evening.day, "starts_at": evening.starts_at, "seen": seen}
    when["location"] = evening.hall.pk
    others = access.visible_children(by, today).filter(left_on=None)
    others = others.exclude(pk__in=in_class(group.pk))
    name_classes([group])
    visits = meeting.visits.select_related("child").order_by("pk") if meeting else []
    return {
        "evening": evening,
        "group": group,
        "seen": seen,
        "keeps": access.may_keep_classes(by),
        "visits": visits,
        "move": move or EveningForm(by, today, initial=when, auto_id="move_%s"),
        "stand_in": stand_in
        or StandInForm(group, by, today, initial={"staff": there, "seen": seen}),
        "visit": visit or VisitForm(others, auto_id="visit_%s"),
    }
