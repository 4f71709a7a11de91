"""Consent, to hands-on spotting and to pictures from the side: what a child's answers mean on a
day, and writing them down.

One guardian's no suffices, and no answer is no yes. Each season it is asked again.
Shared: used by the consents page, the child's page, the roster, pictures, the demo and the record.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.utils.module_loading import import_string

from studio.db.prepared import prepared
from studio.models import Child, GuardianAnswer, PictureConsent, SpottingConsent, Staff
from studio.people.names import guardian_key
from studio.people.records import merges_of, of_several, records_of, together_at
from studio.people.today import local_today

Answer = Literal["yes", "no", "not-asked"]
YES: Answer = "yes"
NO: Answer = "no"
NOT_ASKED: Answer = "not-asked"
Given = TypeVar("Given", bound=GuardianAnswer)

# A form that comes in so shortly before a season is for that season (common practice, no source).
ENROLMENT = datetime.timedelta(days=60)


def season_after(day: datetime.date) -> datetime.date:
    """The first day of a season, after ``day``."""
    begins = settings.SEASON_BEGINS.replace(year=day.year)
    return begins if begins > day else begins.replace(year=day.year + 1)


def asked_again_on(day: datetime.date) -> datetime.date:
    """Until when an answer of ``day`` counts: the day from which the next is asked for."""
    begins = season_after(day)
    return begins if begins - day > ENROLMENT else season_after(begins)


def answers_in_force(answers: Iterable[Given], day: datetime.date) -> list[Given]:
    """Each guardian's latest answer up to ``day``, unless its season is over.

    Of a child with several records, on each of them by itself: a no on one is not ended by a yes
    on another, unless that was said after they were merged.
    """
    latest = {
        (record, guardian_key(answer.guardian)): answer
        for answer in sorted(answers, key=lambda answer: (answer.day, answer.at, answer.pk))
        if answer.day <= day
        for record in answer.counts_for or {answer.child_id}
    }
    in_force = {id(answer): answer for answer in latest.values() if answer.asked_again_on > day}
    return list(in_force.values())


def answer_on(answers: Iterable[GuardianAnswer], day: datetime.date) -> Answer:
    """A child's answer on a day, from all that were written down of this child."""
    in_force = answers_in_force(answers, day)
    if any(not answer.yes for answer in in_force):
        return NO
    return YES if in_force else NOT_ASKED


@dataclass(frozen=True)
class Change:
    """The day from which a child's answer is this one; ``at``: when it was written down, or the
    day's beginning where no answer of that day made it so."""

    day: datetime.date
    at: datetime.datetime
    answer: Answer


def changes(answers: Sequence[SpottingConsent], asked_from: datetime.date | None) -> list[Change]:
    """How a child's answer went from the day on from which it is asked for, first to last."""
    first = asked_from or datetime.date.min
    times = {day: _beginning_of(day) for day in [first, *(a.asked_again_on for a in answers)]}
    for answer in sorted(answers, key=lambda answer: answer.at):
        times[answer.day] = answer.at
    found: list[Change] = []
    for day in sorted(day for day in times if day >= first):
        now = answer_on(answers, day)
        if not found or now != found[-1].answer:
            found.append(Change(day, times[day], now))
    return found


def _beginning_of(day: datetime.date) -> datetime.datetime:
    return datetime.datetime.combine(day, datetime.time(), datetime.UTC)


def consent_changes(records: Mapping[int, int]) -> Iterator[tuple[int, list[Change]]]:
    """Of each child how the answer went, in one query; ``records`` as ``records_of`` says them."""
    answers: dict[int, list[SpottingConsent]] = {child: [] for child in records.values()}
    # The first day on which any of a child's records asks for an answer.
    asked: dict[int, datetime.date | None] = {}
    for record, asked_from, *about in _rows_of(list(records)):
        child = records[record]
        known = asked.setdefault(child, asked_from)
        asked[child] = min(known, asked_from) if known and asked_from else None
        if about[0] is not None:
            pk, guardian, yes, day, again, at = about
            answers[child].append(
                SpottingConsent(
                    pk=pk,
                    child_id=record,
                    guardian=guardian,
                    yes=yes,
                    day=day,
                    asked_again_on=again,
                    at=at,
                )
            )
    _say_for_which(answers, records)
    for child, own in answers.items():
        yield child, changes(own, asked.get(child))


@prepared
def _rows_of(children: Sequence[int]) -> "QuerySet[Any, Any]":
    about = ("pk", "guardian", "yes", "day", "asked_again_on", "at")
    columns = (f"spotting_consents__{name}" for name in about)
    rows = Child.objects.filter(pk__in=children)
    return rows.values_list("pk", "consent_asked_from", *columns)


def consents_of(children: Iterable[Child]) -> dict[int, list[SpottingConsent]]:
    """All answers to hands of these children, by child, in two queries."""
    return answers_of(SpottingConsent, children)


def answers_of(kind: type[Given], children: Iterable[Child]) -> dict[int, list[Given]]:
    """The same of either consent."""
    records = records_of([child.pk for child in children])
    found: dict[int, list[Given]] = defaultdict(list)
    for answer in kind._default_manager.filter(child__in=list(records)):
        found[records[answer.child_id]].append(answer)
    _say_for_which(found, records)
    return found


def _say_for_which(
    answers: Mapping[int, Iterable[GuardianAnswer]], records: Mapping[int, int]
) -> None:
    """Set for which records each answer counts, of the children who have several."""
    several = of_several(records)
    merges = merges_of([record for own in several.values() for record in own]) if several else []
    for child, own in several.items():
        for answer in answers.get(child, ()):
            answer.counts_for = together_at(answer.at, answer.child_id, own, merges)


@dataclass(frozen=True)
class NewAnswer:
    child: Child
    guardian: str
    yes: bool
    # Until when it counts, if that is not the season's end; today: it is to be asked again at once.
    until: datetime.date | None = None


def write_down(
    new: Sequence[NewAnswer],
    seen_by: str,
    seen_on: datetime.date,
    by: Staff | None,
    now: datetime.datetime,
) -> None:
    """Store answers to hands; each counts from today in the child's hall."""
    with transaction.atomic():
        days = store_answers(SpottingConsent, new, seen_by, seen_on, by, now)
        import_string(settings.AFTER_CONSENTS)(days)


def store_answers(
    kind: type[SpottingConsent] | type[PictureConsent],
    new: Sequence[NewAnswer],
    seen_by: str,
    seen_on: datetime.date,
    by: Staff | None,
    now: datetime.datetime,
) -> dict[int, datetime.date]:
    """The same of either consent; answers with the day from which each child's counts."""
    days = local_today([each.child for each in new], now)
    rows: list[Any] = [
        kind(
            child=each.child,
            guardian=each.guardian,
            yes=each.yes,
            day=days[each.child.pk],
            asked_again_on=each.until or asked_again_on(days[each.child.pk]),
            seen_by=seen_by,
            seen_on=seen_on,
            by=by,
            at=now,
        )
        for each in new
    ]
    kind._default_manager.bulk_create(rows)
    return days
