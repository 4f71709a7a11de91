"""What may be recommended, signed, sent back or closed, by a record as it is read.

Shared: used by the decisions and by the page that offers them.
"""

import datetime

from readiness.engine.reading import FOR_REVIEW, OPEN
from readiness.models import Decision
from readiness.record.list_facts import is_signed_on
from readiness.record.standings import Reading

# Whoever signs saw the child do it, so many days ago at most (common practice, no source).
SEEN_WITHIN_DAYS = 28


def surfaces_met(reading: Reading, code: str) -> list[str]:
    """The surfaces, easiest first, for which a stage could be signed on this record.

    Of a stage that is signed already, only harder ones. A stage whose gates ask for no
    surface takes those that the stages before it were signed for.
    """
    ladder, read_on = reading.ladder.engine, reading.read.day
    opened, stage = reading.read.state.opened, ladder.stage[code]
    signed = opened[code].surface if code in opened else None
    possible = list(ladder.surfaces)
    if signed is not None:
        possible = [each for each in possible if ladder.rank(each) > ladder.rank(signed)]
    if not any(gate.asks_surface for gate in stage.gates):
        before = [opened[need].surface for need in stage.needs if need in opened]
        highest = max((ladder.rank(each) for each in before if each), default=0)
        possible = [each for each in possible if ladder.rank(each) <= highest]
    return [
        surface
        for surface in possible
        if all(
            gate.read_for_entry(reading.evidence, read_on, ladder, surface).met
            for gate in stage.gates
        )
    ]


def is_for_review(reading: Reading, code: str) -> bool:
    """All gates met and a signature asked for; or open, and met on a harder surface too."""
    found = reading.read.stage(code)
    if not found.stage.sign_off or found.state not in (FOR_REVIEW, OPEN):
        return False
    return bool(surfaces_met(reading, code))


def seen_lately(seen_on: datetime.date, day: datetime.date) -> bool:
    return 0 <= (day - seen_on).days <= SEEN_WITHIN_DAYS


def signed_today(reading: Reading, last: Decision | None) -> bool:
    """Signed on this very day: what allows less counts from the next one."""
    return last is not None and is_signed_on(last.kind, last.day, reading.read.day)


def may_be_sent_back(reading: Reading, stage: str, last: Decision | None) -> bool:
    """A recommendation waits; or a stage is for review that nobody has signed yet."""
    if last is not None and last.kind == Decision.Kind.RECOMMEND:
        return True
    is_open = reading.read.stage(stage).opening is not None
    return is_for_review(reading, stage) and not is_open and not signed_today(reading, last)


def may_be_closed(reading: Reading, stage: str, last: Decision | None) -> bool:
    opening = reading.read.stage(stage).opening
    return signed_today(reading, last) or (opening is not None and opening.how == "signature")
