"""What the pages of likely doubles show: pairs, both side by side, what would change."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Max, Min, Sum
from django.utils.translation import gettext as _

from readiness.merging.words import change_sentences
from readiness.models import DayTally
from readiness.record.standings import read
from studio import access
from studio.lists import csv_text
from studio.models import Child, ClassGroup, Merge, NotDouble, Staff
from studio.people.class_lists import classes_of
from studio.people.consent_words import answer_word
from studio.people.consents import answer_on, consents_of
from studio.people.doubles import Double, came_unnamed, doubles_of, likely_doubles
from studio.people.merging import as_if_merged
from studio.people.today import local_today
from studio.people.told_apart import name_classes, tell_apart


@dataclass(frozen=True)
class Side:
    """One of two records as they stand side by side."""

    child: Child
    classes: list[ClassGroup]
    consent: str
    turns: int
    first: datetime.date | None
    last: datetime.date | None


def sides(children: Iterable[Child], now: datetime.datetime) -> list[Side]:
    two = list(children)
    classes, answers, days = classes_of(two), consents_of(two), local_today(two, now)
    name_classes(group for groups in classes.values() for group in groups)
    found = []
    for child in two:
        tallies = DayTally.objects.filter(child__in=child.records)
        logged = tallies.aggregate(turns=Sum("turns"), first=Min("day"), last=Max("day"))
        consent = answer_word(answer_on(answers[child.pk], days[child.pk]))
        turns = logged["turns"] or 0
        found.append(
            Side(child, classes[child.pk], consent, turns, logged["first"], logged["last"])
        )
    return found


def what_changes(loser: Child, survivor: Child, by: Staff, now: datetime.datetime) -> list[str]:
    """What the survivor's record would say otherwise; raises NotMerged."""
    day = local_today([survivor], now)[survivor.pk]
    before = read(survivor, day)
    with as_if_merged(loser, survivor, by, now) as one:
        return change_sentences(before, read(one, day))


@dataclass(frozen=True)
class Doubles:
    likely: list[Double]
    merged: list[Merge]
    two: list[NotDouble]


def doubles_page(staff: Staff, today: datetime.date) -> Doubles:
    children = list(access.visible_children(staff, today).order_by("search_key", "pk"))
    tell_apart(children)
    merges = access.visible_merges(staff, today).select_related("loser", "survivor", "by")
    two = access.visible_not_doubles(staff, today).select_related("one", "other", "by")
    return Doubles(
        [*came_unnamed(children), *likely_doubles(children)],
        list(merges.order_by("-at", "-pk")),
        list(two.order_by("-at", "-pk")),
    )


def doubles_file(page: Doubles) -> str:
    """The likely ones as a file for a spreadsheet."""
    columns = [_("child"), _("born"), _("and"), _("born"), _("what speaks for it")]
    rows = [
        (each.one.name, each.one.born, each.other.name, each.other.born, ", ".join(each.why))
        for each in page.likely
    ]
    return csv_text(columns, rows)


@dataclass(frozen=True)
class Candidates:
    """Whom a child may be the same as: the likely ones, and everybody else of this director."""

    likely: list[Double]
    others: list[Child]


def candidates(child: Child, staff: Staff, today: datetime.date) -> Candidates:
    every = access.visible_children(staff, today).exclude(pk=child.pk)
    others = list(every.order_by("search_key", "pk"))
    tell_apart(others)
    came = [each for each in came_unnamed([child, *others]) if child in (each.one, each.other)]
    turned = [Double(child, d.other if d.one == child else d.one, d.why) for d in came]
    return Candidates([*turned, *doubles_of(child, others)], others)
