"""What the list of children shows, on the page and as a file, and the facts of one child."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from studio.children.forms import LEFT, UNNAMED
from studio.lists import csv_text
from studio.models import Child, ClassGroup, Contact
from studio.people.children import CONTACT_FIELDS, cautions_of, families_of, family_of
from studio.people.class_lists import classes_of, in_class
from studio.people.consent_words import answer_word
from studio.people.consents import answer_on, consents_of
from studio.people.names import fold
from studio.people.today import local_today

ON_A_PAGE = 100


@dataclass(frozen=True)
class Row:
    """``hands``: the family's answer on consent, in a word; ``caution``: that of all records."""

    child: Child
    age: int | None
    classes: list[ClassGroup]
    hands: str
    caution: str


def found(
    children: QuerySet[Child], asked: dict[str, Any], today: datetime.date
) -> QuerySet[Child]:
    """Those with every word in their name or name used, in the order of the names."""
    gone = Q(left_on__lte=today)
    children = children.filter(gone) if asked.get("which") == LEFT else children.exclude(gone)
    if asked.get("which") == UNNAMED:
        children = children.filter(birth_year=None)
    if asked.get("group"):
        children = children.filter(pk__in=in_class(asked["group"].pk))
    for word in fold(asked.get("q") or "").split():
        children = children.filter(search_key__contains=word)
    return children.order_by("search_key", "pk")


def rows_of(children: Sequence[Child], now: datetime.datetime) -> list[Row]:
    """Queries do not grow with the children."""
    classes, answers = classes_of(children), consents_of(children)
    days, cautions = local_today(children, now, classes), cautions_of(children)
    return [
        Row(
            child,
            child.age_on(days[child.pk]),
            classes[child.pk],
            answer_word(answer_on(answers[child.pk], days[child.pk])),
            cautions[child.pk],
        )
        for child in children
    ]


def children_page(
    children: QuerySet[Child], number: str, now: datetime.datetime
) -> tuple[Page[Child], list[Row]]:
    """One page of the list; for the word "all" everybody on one, to print."""
    page = Paginator(children, 10_000 if number == "all" else ON_A_PAGE).get_page(number)
    return page, rows_of(list(page.object_list), now)


def children_file(children: Iterable[Child], now: datetime.datetime) -> str:
    """Everything the desk keeps, a child a line."""
    every = list(children)
    contacts = families_of(every)
    columns = [
        _("name"), _("name used"), _("born"), _("id"), _("class"), _("guardian"),
        _("language of letters"), _("hands"), _("caution"), _("kicks over with"), _("call"),
        _("may collect"), _("must not be told"), _("left on"),
    ]  # fmt: skip
    return csv_text(columns, (_line(row, contacts[row.child.pk]) for row in rows_of(every, now)))


def _line(row: Row, contacts: Sequence[Contact]) -> list[object]:
    child = row.child
    return [
        child.name, child.name_used, child.born, child.list_id,
        ", ".join(f"{group.name} ({group.location.name})" for group in row.classes),
        child.guardian, child.letter_language, row.hands, row.caution,
        child.get_kick_leg_display(),
        *("; ".join(map(reached, (c for c in contacts if getattr(c, name))))
          for name in ("to_call", "may_collect", "not_told")),
        child.left_on,
    ]  # fmt: skip


def reached(contact: Contact) -> str:
    """Who it is, and the telephone."""
    who = f"{contact.name} ({contact.relation})" if contact.relation else contact.name
    return f"{who} {contact.phone}".strip()


def facts_of(child: Child) -> dict[str, Any]:
    """A child's facts as its form shows them."""
    names = ("name", "name_used", "born", "guardian", "letter_language", "caution", "kick_leg")
    return {name: getattr(child, name) for name in names}


def contacts_of(child: Child) -> list[dict[str, Any]]:
    """The same of the child's family."""
    return [
        {name: getattr(contact, name) for name in CONTACT_FIELDS} for contact in family_of(child)
    ]
