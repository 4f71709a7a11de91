"""The children whose families have not answered this season, and what was marked of each."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from studio import access
from studio.lists import csv_text
from studio.models import Child, ClassGroup, Staff
from studio.people.class_lists import classes_of
from studio.people.consent_words import answer_word
from studio.people.consents import NO, NOT_ASKED, YES, Answer, NewAnswer, answer_on, consents_of
from studio.people.today import local_today, site_today


@dataclass(frozen=True)
class Row:
    """``marked``: the answer that stands in the form, or ""; ``last``: the one before it was
    asked again, or None."""

    child: Child
    # None: the birth is not known.
    age: int | None
    classes: list[ClassGroup]
    marked: str
    last: Answer | None


@dataclass(frozen=True)
class ConsentsPage:
    rows: list[Row]
    # How many have said no.
    refused: int


def consents_page(
    staff: Staff, now: datetime.datetime, marks: Mapping[str, str], all_yes: bool = False
) -> ConsentsPage:
    """``marks``: what was marked in the form, by its field's name."""
    today = site_today(now)
    here = access.visible_children(staff, today).exclude(left_on__lte=today)
    children = list(here.order_by("search_key", "pk"))
    classes, answers = classes_of(children), consents_of(children)
    days = local_today(children, now, classes)
    rows, refused = [], 0
    for child in children:
        own, day = answers[child.pk], days[child.pk]
        answer = answer_on(own, day)
        refused += answer == NO
        if answer != NOT_ASKED:
            continue
        last = max(own, key=lambda each: (each.asked_again_on, each.pk), default=None)
        before = answer_on(own, last.asked_again_on - ONE_DAY) if last else None
        marked = marks.get(field_of(child), "") or (YES if all_yes else "")
        rows.append(Row(child, child.age_on(day), classes[child.pk], marked, before))
    return ConsentsPage(rows, refused)


def consents_file(page: ConsentsPage) -> str:
    """The same children for a spreadsheet, with a column to write the answer in."""
    columns = [_("child"), _("age"), _("class"), _("guardian"), _("last season"), _("answer")]
    rows = (
        (
            row.child.name,
            row.age,
            ", ".join(f"{group.name} ({group.location.name})" for group in row.classes),
            row.child.guardian,
            answer_word(row.last) if row.last else "",
            "",
        )
        for row in page.rows
    )
    return csv_text(columns, rows)


ONE_DAY = datetime.timedelta(days=1)


def field_of(child: Child) -> str:
    """The name of a child's two buttons in the form."""
    return f"answer-{child.uuid}"


def marked_answers(page: ConsentsPage) -> list[NewAnswer]:
    """What the form says, of those who are in the list; the others have answered meanwhile."""
    return [
        NewAnswer(row.child, row.child.guardian, row.marked == YES)
        for row in page.rows
        if row.marked in (YES, NO)
    ]
