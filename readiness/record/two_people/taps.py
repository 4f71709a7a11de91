"""The taps that give a step of less support: which are open, and whose they are."""

import datetime

from readiness.engine.ladder import Ladder, TapRule
from readiness.engine.replay.next_step import Tap, untapped_steps
from readiness.models import DayTally
from readiness.record.standings import Reading
from studio.access import may_direct, may_recommend
from studio.models import Child, Staff


def taps_to_make_up(reading: Reading) -> list[Tap]:
    """For steps that were given before a tap was asked for; not while the drill is on its way
    back, where a tap would be one on that way."""
    state, ladder = reading.read.state, reading.ladder.engine
    untapped = untapped_steps(state, ladder, reading.record.events)
    return [tap for tap in untapped if state.way_back(tap.drill) is None]


def may_tap(by: Staff, tap: Tap, child: Child, ladder: Ladder, day: datetime.date) -> bool:
    """A director's yes where the way back asks for one; else that of a coach who, by the ladder's
    rule, has lately given this child more support at this drill than the step leaves."""
    if tap.director:
        return may_direct(by)
    return may_recommend(by) and (ladder.tap is None or _held(by, tap, child, ladder.tap, day))


def _held(by: Staff, tap: Tap, child: Child, rule: TapRule, day: datetime.date) -> bool:
    since = day - datetime.timedelta(days=rule.held_within)
    turns = DayTally.objects.filter(
        child__in=child.records, day__gte=since, author=by, drill__key=tap.drill
    )
    return turns.filter(support__gt=tap.support).exists()
