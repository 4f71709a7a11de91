"""What the planner's page and a grader's sheet show."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from readiness.hour.candidates import TURNS, Candidate, candidates, left_in_peace
from readiness.hour.forms import PlanForm, SeenForm, SheetForm, evening_choices, key_of
from readiness.hour.plan import CAUGHT, TURNS_EACH, Seen, grades, hours_of, turns_left
from readiness.hour.words import CAUGHT_TEXT, chance_text
from readiness.models import HourChild
from readiness.record.ladders import Ladders, NamedLadder
from studio import access
from studio.models import Meeting, Staff
from studio.people.class_dates import Evening, evenings
from studio.people.class_lists import in_hall
from studio.people.today import site_today
from studio.people.told_apart import name_classes, tell_apart

# So far ahead an hour is planned.
AHEAD = datetime.timedelta(days=14)


@dataclass(frozen=True)
class Planner:
    """What stands on the planner's page; ``hidden``: the planner grades soon, and sees nothing."""

    evenings: list[Evening]
    evening: Evening | None
    candidates: list[Candidate]
    hidden: bool

    @property
    def open_to(self) -> list[Candidate]:
        return [each for each in self.candidates if not each.why_not]

    @property
    def left_out(self) -> list[Candidate]:
        return [each for each in self.candidates if each.why_not]


def planner(staff: Staff, now: datetime.datetime, chosen: str) -> Planner:
    """``chosen``: an evening's key, else the next one is taken."""
    today = site_today(now)
    groups = list(access.visible_classes(staff).select_related("location").order_by("pk"))
    name_classes(groups)
    coming = [each for each in evenings(groups, today, today + AHEAD) if not each.state]
    evening = next((each for each in coming if key_of(each) == chosen), None)
    evening = evening or next(iter(coming), None)
    hidden = grades(staff, today)
    if evening is None or hidden:
        return Planner(coming, evening, [], hidden)
    visible = access.visible_children(staff, today).exclude(left_on__lte=today)
    children = list(visible.filter(pk__in=in_hall(evening.hall.pk)).order_by("pk"))
    tell_apart(children)
    return Planner(coming, evening, candidates(children, now, evening.day), hidden)


def plan_form(shown: Planner, staff: Staff, today: datetime.date, data: Any = None) -> PlanForm:
    """Who may grade: all who may, but for the planner."""
    others = access.visible_colleagues(staff).exclude(pk=staff.pk)
    graders = others.filter(access.may_grade_hours_rows(today)).order_by("first_name", "pk")
    return PlanForm(shown.open_to, graders, data)


def planner_context(
    shown: Planner, form: PlanForm, staff: Staff, today: datetime.date
) -> dict[str, Any]:
    named = Ladders().named_on(today)
    return {
        "shown": shown,
        "choices": evening_choices(shown.evenings),
        "chosen": key_of(shown.evening) if shown.evening else "",
        "rows": [(each, chance_text(each.chance), _where(each, named)) for each in shown.open_to],
        "form": form,
        "turns": TURNS,
        "hours": _hours(hours_of(staff, today)) if not shown.hidden else [],
    }


def _where(each: Candidate, named: NamedLadder) -> str:
    return named.surface_names.get(each.surface, each.surface)


@dataclass(frozen=True)
class Hour:
    """An hour to come: where its children and graders are named."""

    meeting: Meeting
    rows: list[HourChild]


def _hours(rows: Iterable[HourChild]) -> list[Hour]:
    found: dict[int, Hour] = {}
    for row in rows:
        found.setdefault(row.meeting_id, Hour(row.meeting, [])).rows.append(row)
    return list(found.values())


@dataclass(frozen=True)
class SheetRow:
    """A child on a grader's sheet: what to do, and a form for each turn not yet in the log.

    in_peace: not tonight, after all; what was done before that was known is still written down.
    """

    row: HourChild
    drill: str
    surface: str
    in_peace: bool
    forms: list[SeenForm]


@dataclass(frozen=True)
class Sheet:
    """grades: it is the reader's own; else the planner's, who prints one for each of graders.
    today: the hour is held today, so turns may be written down."""

    meeting: Meeting
    rows: list[SheetRow]
    token: SheetForm
    graders: list[Staff]
    grades: bool
    today: bool

    def is_valid(self) -> bool:
        forms = [self.token, *(form for row in self.rows for form in row.forms)]
        valid = [form.is_valid() for form in forms]
        return all(valid)

    def seen(self) -> dict[HourChild, list[Seen]]:
        turns = {row.row: [form.seen() for form in row.forms] for row in self.rows}
        return {row: [each for each in seen if each] for row, seen in turns.items()}


def sheet_of(
    rows: Sequence[HourChild], staff: Staff, now: datetime.datetime, data: Any = None
) -> Sheet:
    """Of one hour; on it stands no chance, no gate, and nobody else's grade."""
    first = rows[0]
    meeting, graders = first.meeting, [first.first, first.second]
    named, grades = Ladders().named_on(meeting.date), staff in graders
    left = turns_left(rows, staff) if grades else {}
    today = meeting.hall.day_of(now)
    standing = [row.child.merged_into or row.child for row in rows]
    in_peace = left_in_peace(standing, today) if meeting.date >= today else set()
    tell_apart([row.child for row in rows])
    made = [
        SheetRow(
            row,
            named.drills[row.drill.key]["name"],
            named.surface_names[row.surface.key],
            row.child.root in in_peace,
            [
                SeenForm(row, number + 1, _faults(named, row.drill.key), data)
                for number in range(left.get(row.pk, TURNS_EACH))
            ],
        )
        for row in rows
    ]
    of_whom, is_today = [staff] if grades else graders, meeting.date == today
    return Sheet(meeting, made, SheetForm(data), of_whom, grades, is_today)


def _faults(named: NamedLadder, drill: str) -> list[tuple[str, str]]:
    own = [(key, each["sees"]) for key, each in named.faults.items() if drill in each["belongs"]]
    return [(CAUGHT, str(CAUGHT_TEXT)), *(each for each in own if each[0] != CAUGHT)]
