"""Each kind of letter about the child of a reading, with the facts it tells given by hand.

For what has to be seen in every kind: languages, and how plainly they read.
"""

import datetime

from readiness.engine.levels import Support
from readiness.engine.replay.state import Cause
from readiness.letters.decided import Placed, Signed
from readiness.letters.facts import ChildFacts, ReCheck
from tests.support.cast import TODAY

WEEK = datetime.timedelta(days=7)


class _Facts(ChildFacts):
    """Of a child who begins, has a yes to hands, and has worked on shapes."""

    looking_ahead = True
    evenings_on_record = 12
    is_at_the_beginning = False
    is_at_the_top = False
    paused_since = None
    no_yes_to_hands = False
    placed_lately = None

    @property
    def evenings(self):
        return [TODAY - week * WEEK for week in reversed(range(1, self.evenings_on_record + 1))]

    def new_to_us(self):
        return False

    def hurt_lately(self):
        return None

    @property
    def re_checks(self):
        return []

    def back_since(self):
        return None

    def without_hands(self):
        return []

    def looks_ahead(self):
        return self.looking_ahead

    def at_the_beginning(self):
        return self.is_at_the_beginning

    def at_the_top(self):
        return self.is_at_the_top

    def practised(self):
        return ["wall-handstand", "bridge-rocks", "back-walkover"]

    def help_at(self, drill):
        return {"back-walkover": Support.LIGHT_TOUCH, "handspring": Support.HANDS_ON}.get(drill)

    def opened(self):
        return []

    def reached(self):
        return []

    def begun(self):
        return []


class Beginner(_Facts):
    is_at_the_beginning = True

    def practised(self):
        return ["hollow-hold", "arch-hold", "safe-fall"]

    def begun(self):
        return ["front-support", "safe-fall"]


class GoingOn(_Facts):
    def opened(self):
        return [("3", TODAY - 3 * WEEK)]

    def reached(self):
        return [("bridge-line",), ("kick-over-floor", "kick-over-block")]

    def begun(self):
        return ["back-walkover"]

    def drill_names(self, asked):
        return super().drill_names([*asked])


class ForReview(GoingOn):
    def for_review(self):
        return ["back-walkover"]


class WithoutHands(_Facts):
    def without_hands(self):
        return [(Signed("4", self._floor, TODAY - WEEK, "Petra"), "back-walkover")]

    @property
    def _floor(self):
        return self.now.ladder.engine.surfaces[3]


class HandsAgain(_Facts):
    looking_ahead = False

    @property
    def re_checks(self):
        day, now = TODAY - WEEK, Support.HANDS_ON
        causes = {
            "back-walkover": (Cause("stop-sign", day, ("3",), Support.HANDS_ON), Support.UNSPOTTED),
            "handspring": (Cause("stop-sign", day, ("6",), Support.HANDS_ON), Support.HANDS_ON),
            "jump-back": (Cause("stop-sign", day, ("5",), Support.STANDING_BY), Support.UNSPOTTED),
            "kick-over-floor": (Cause("evidence-changed", day, ("2",), Support.STANDING_BY), None),
        }
        return [
            ReCheck(drill, cause, before, now if before else None)
            for drill, (cause, before) in causes.items()
        ]


class SomethingHurt(_Facts):
    looking_ahead = False

    def hurt_lately(self):
        names = self.now.ladder.pain_names
        return TODAY - WEEK, [self.place_name(place) for place in list(names)[:3]]


class LongAway(_Facts):
    looking_ahead = False

    @property
    def re_checks(self):
        away = Cause("away", TODAY - WEEK, ("3",), Support.HANDS_ON)
        return [ReCheck("back-walkover", away, Support.STANDING_BY, Support.HANDS_ON)]

    def back_since(self):
        return TODAY - WEEK


class PlacedHere(_Facts):
    looking_ahead = False
    placed_lately = Placed("7", TODAY - WEEK, "Petra")


class NoYesToHands(_Facts):
    looking_ahead = False
    no_yes_to_hands = True


class TooLittleToSay(_Facts):
    evenings_on_record = 2


class NothingNew(_Facts):
    pass


class TopOfTheLadder(_Facts):
    is_at_the_top = True

    def highest_stage(self):
        return "9"

    def practised(self):
        return ["handspring-in-dance", "two-handsprings"]


class Paused(_Facts):
    paused_since = TODAY - WEEK


KINDS = (
    Beginner, GoingOn, ForReview, WithoutHands, HandsAgain, SomethingHurt, LongAway, PlacedHere,
    NoYesToHands, TooLittleToSay, NothingNew, TopOfTheLadder, Paused,
)  # fmt: skip
