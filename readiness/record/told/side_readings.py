"""What was read off pictures from the side, stored beside the turns that came with it."""

import datetime
import math
from collections.abc import Sequence

from progression.log.lines import NewTurn
from readiness.models import AttemptAngles
from studio.pictures.allowed import may_be_pictured

# How far one tap on a joint scatters where the studio has not shown its own: a centimetre on a shin
# of 25 (common practice, no source).
USUAL_SPREAD = 0.04
# Of pictures tapped twice in so many days, if there are so many.
LATELY = datetime.timedelta(days=365)
ENOUGH = 5


def studio_spread(now: datetime.datetime) -> float:
    """The standard deviation of one tap in this studio, in lengths of the shin, pooled over
    pictures on which each point was tapped twice: the middle of two has half of its variance."""
    twice = AttemptAngles.objects.filter(twice=True, received_at__gt=now - LATELY)
    spreads = list(twice.values_list("spread", flat=True))
    if len(spreads) < ENOUGH:
        return USUAL_SPREAD
    return round(math.sqrt(sum(2 * spread**2 for spread in spreads) / len(spreads)), 4)


def store_side_readings(turns: Sequence[NewTurn], now: datetime.datetime) -> None:
    """The turns are in the log already. Of a child whose family has not said yes for that day,
    perhaps not known on the tablet, the turn alone is kept."""
    read = [(turn, turn.side) for turn in turns if turn.side is not None]
    if not read:
        return
    asked = {turn.child.pk: turn.child for turn, _ in read}
    allowed = {day: may_be_pictured(asked.values(), day) for day in {turn.day for turn, _ in read}}
    AttemptAngles.objects.bulk_create(
        AttemptAngles(
            attempt_id=turn.id,
            picture=side.picture,
            angles=side.angles,
            joints=side.joints,
            spread=side.spread,
            twice=side.twice,
            suggests=side.suggests,
            chances=side.chances,
            received_at=now,
        )
        for turn, side in read
        if turn.child.pk in allowed[turn.day]
    )
