"""The first turn of a day at a drill: which it is, and until when its own support is asked for."""

from collections.abc import Sequence

from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.tallies import Turn, in_order, is_no_turn


def has_begun(drill: str, today: Sequence[Turn], ladder: Ladder) -> bool:
    """True after the day's first turn at the drill; a stop before a turn is none."""
    return any(turn.drill == drill and not is_no_turn(turn, ladder.stops) for turn in today)


def is_done(
    drill: str,
    today: Sequence[Turn],
    support: Support,
    surface: str,
    meeting: int | None,
    ladder: Ladder,
) -> bool:
    """True if the first turn's ``support`` is no longer asked for.

    With the ladder's rule: once a turn with just that support, on this surface, in this class,
    was clean and logged by somebody who may grade, before too many that were not clean.
    """
    if not ladder.first_turn_misses:
        return has_begun(drill, today, ladder)
    missed = 0
    for turn in in_order(today):
        elsewhere = meeting is not None and turn.meeting != meeting
        if elsewhere or (turn.drill, turn.surface) != (drill, surface):
            continue
        if turn.clean and turn.graded and turn.support == support:
            return missed < ladder.first_turn_misses
        missed += turn.clean is False and not is_no_turn(turn, ladder.stops)
    return False
