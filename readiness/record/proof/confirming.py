"""Turns that wait for somebody's word before they are graded, and that word.

The author says of lines that came in under her name without a proof that she saw them; a director
who is neither their author nor brought them in says so of late ones.
"""

import datetime
import logging

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from progression.models import Attempt, AttemptProof, AttemptQuerySet, Confirmation
from readiness.record import day_tallies
from readiness.record.ladders import Ladders
from readiness.record.standings import lock, make_stale
from studio.access import visible_children
from studio.db import bulk
from studio.models import Child, Staff
from studio.people.records import all_records, root_of

log = logging.getLogger("ladder.confirming")

Awaits = AttemptProof.Awaits
FOR_AUTHOR, FOR_DIRECTOR = (Awaits.AUTHOR, Awaits.BOTH), (Awaits.DIRECTOR, Awaits.BOTH)

# Of a confirmation of an attempt that is asked about: by neither its author nor who brought it in.
OTHERS = ~Q(by=OuterRef("author")) & ~Q(by=OuterRef("sender"))


def waiting_for_author(staff: Staff) -> "QuerySet[Attempt]":
    """Turns under this name that nothing proves to be of this person."""
    said = Confirmation.objects.filter(attempt=OuterRef("pk"), by=staff)
    return _waiting(FOR_AUTHOR).filter(~Exists(said), author=staff).unstruck()


def waiting_for_director(staff: Staff, today: datetime.date) -> "QuerySet[Attempt]":
    """Late turns of this director's children that are not hers and that she did not bring in."""
    said = Confirmation.objects.filter(OTHERS, attempt=OuterRef("pk"))
    waiting = _waiting(FOR_DIRECTOR).filter(child__in=all_records(visible_children(staff, today)))
    return waiting.exclude(Q(author=staff) | Q(sender=staff)).filter(~Exists(said)).unstruck()


def _waiting(awaits: tuple[str, ...]) -> AttemptQuerySet:
    """Found from the few that wait for anybody, of which the index proof_awaits knows."""
    proofs = AttemptProof.objects.filter(~Q(awaits=""), awaits__in=awaits)
    return Attempt.objects.filter(pk__in=proofs.values("attempt"))


def confirm(waiting: "QuerySet[Attempt]", by: Staff, now: datetime.datetime) -> int:
    """Store this person's word for these turns, and fold their days again; returns how many.

    ``waiting``: some of the turns that one of the functions above finds for this person.
    """
    with transaction.atomic():
        children = Child.objects.filter(pk__in=waiting.values(root=root_of("child")))
        list(lock(children))
        attempts = list(waiting.select_related("proof", "drill").prefetch_related("confirmations"))
        rows = [(each.pk, by.pk, now, _completes(each, by)) for each in attempts]
        bulk.insert(Confirmation, ("attempt_id", "by_id", "at", "completes"), rows)
        _fold_again(attempts)
    log.info("confirmed by=%s turns=%d", by.uuid, len(attempts))
    return len(attempts)


def _completes(attempt: Attempt, by: Staff) -> bool:
    """Whether nobody's word is missing once this person's is there."""
    words = {by.pk, *(each.by_id for each in attempt.confirmations.all())}
    others = words - {attempt.author_id, attempt.sender_id}
    awaits = attempt.proof.awaits
    by_author = awaits not in FOR_AUTHOR or attempt.author_id in words
    return by_author and (awaits not in FOR_DIRECTOR or bool(others))


def _fold_again(attempts: list[Attempt]) -> None:
    ladders = Ladders()
    touched = {(each.child_id, each.drill.key, each.day) for each in attempts}
    if not touched:
        return
    turns = day_tallies.stored_turns(touched)
    day_tallies.write(turns, day_tallies.tallies_of(turns, ladders), ladders.keys)
    first: dict[int, datetime.date] = {}
    for child, _drill, day in touched:
        first[child] = min(day, first.get(child, day))
    make_stale(first, {})
