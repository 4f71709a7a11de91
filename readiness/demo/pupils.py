"""Who is in the demo: how far each child has come, and what happens in the last weeks."""

import datetime
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

from readiness.demo.calendar import Evening, local_day
from readiness.demo.ids import uuid4
from readiness.demo.learning import CLEAN_AT, REACHES, Curve, Learner, dips, rising
from readiness.demo.names import GROUPS

WEEK = datetime.timedelta(weeks=1)
# By now everybody has reached the height meant for them; gates take some weeks more.
SETTLED_WEEKS = 12
# From here on the skill of a child who is to be for review goes well.
SURE_WEEKS = 9
LATE = -3.8
# Held positions that come sooner than the skill, to a child who is about to be asked for.
HELD = {"bridge-line": 0.4, "block-line-held": 0.7}
# A child with two classes a week came to one for this part of the time.
ONCE_A_WEEK = 0.45


@dataclass(frozen=True)
class Plan:
    """classes: the codes of one or two classes. weeks: since the child joined.
    back, spring: the heights at the beginning and at the end (see learning.py).
    late: a drill that comes late to this child, and holds a stage."""

    classes: str
    age: int
    weeks: int
    back: tuple[float, float]
    spring: tuple[float, float]
    story: str = ""
    late: str = ""


# In the order of names.CHILDREN. The first ones have a story, so that a small studio has all.
PLANS = (
    Plan("SW", 9, 104, (2.2, 4.6), (1.5, 3.1), "asked-4"),
    Plan("PD", 9, 104, (2.2, 4.6), (1.8, 3.2), "unasked-4"),
    Plan("S", 10, 104, (2.6, 4.7), (2.0, 3.3), "stopped"),
    Plan("P", 8, 104, (2.6, 4.4), (1.5, 2.8), "away"),
    Plan("P", 11, 104, (2.8, 4.8), (2.0, 3.4), "shaky"),
    Plan("W", 8, 104, (1.5, 2.7), (1.0, 2.2), "sore"),
    Plan("S", 12, 5, (4.5, 4.7), (6.4, 6.7), "placed"),
    Plan("D", 9, 90, (1.4, 2.8), (1.2, 2.6), "halted"),
    Plan("SW", 13, 104, (3.2, 4.8), (4.6, 8.2), "asked-8"),
    Plan("P", 12, 104, (1.8, 3.1), (4.6, 7.0), "excepted", "snap-down"),
    Plan("W", 8, 104, (1.4, 3.2), (1.0, 2.6), "bold"),
    Plan("SW", 13, 104, (3.0, 4.8), (4.4, 9.8)),
    Plan("PD", 13, 104, (3.2, 4.8), (4.8, 9.8)),
    Plan("SW", 14, 104, (3.4, 4.8), (5.0, 9.8)),
    Plan("PD", 14, 104, (3.0, 4.8), (4.6, 8.4)),
    Plan("SW", 12, 104, (2.8, 4.8), (4.0, 8.0), "", "rebound"),
    Plan("PD", 13, 104, (3.0, 4.8), (4.4, 8.0), "", "rebound"),
    Plan("S", 13, 96, (3.0, 4.8), (4.6, 8.0), "", "rebound"),
    Plan("SW", 12, 91, (2.6, 4.8), (3.8, 7.0), "", "snap-down"),
    Plan("P", 12, 91, (2.8, 4.8), (3.8, 7.1)),
    Plan("S", 11, 96, (2.6, 4.8), (3.6, 7.0), "", "block-line-held"),
    Plan("P", 11, 84, (2.6, 4.8), (3.6, 6.2), "", "handstand-hops"),
    Plan("S", 12, 84, (2.8, 4.8), (3.4, 6.0), "", "handstand-hops"),
    Plan("P", 11, 91, (2.6, 4.7), (3.4, 5.9), "", "wall-shrugs"),
    Plan("S", 10, 84, (2.6, 4.6), (2.8, 5.8), "", "barrel"),
    Plan("P", 10, 88, (2.0, 3.3), (2.4, 5.2)),
    Plan("S", 10, 80, (1.8, 3.2), (2.4, 5.2), "bold"),
    Plan("P", 11, 104, (1.6, 2.4), (2.8, 5.3), "", "bridge-line"),
    Plan("S", 11, 80, (1.8, 2.4), (2.6, 5.2)),
    Plan("P", 9, 91, (2.0, 4.6), (1.6, 3.3)),
    Plan("S", 10, 78, (2.2, 4.6), (1.8, 3.2)),
    Plan("P", 9, 84, (2.2, 4.5), (1.6, 3.0)),
    Plan("D", 9, 78, (1.5, 3.3), (1.2, 2.8)),
    Plan("W", 9, 96, (1.3, 3.3), (1.0, 2.6)),
    Plan("W", 8, 88, (1.2, 3.4), (1.0, 2.8)),
    Plan("D", 8, 78, (1.2, 3.3), (1.0, 2.4), "knee"),
    Plan("W", 7, 70, (1.0, 2.5), (0.8, 2.0)),
    Plan("D", 7, 64, (1.0, 2.4), (0.8, 2.0)),
    Plan("W", 8, 60, (1.0, 2.5), (0.8, 2.2), "", "back-bend-raised"),
    Plan("D", 7, 58, (0.9, 2.4), (0.8, 1.8)),
    Plan("W", 7, 52, (0.9, 2.3), (0.7, 1.8)),
    Plan("P", 9, 40, (1.2, 2.4), (1.0, 2.2)),
    Plan("D", 6, 38, (0.7, 1.6), (0.6, 1.3)),
    Plan("W", 6, 34, (0.7, 1.5), (0.6, 1.2)),
    Plan("W", 7, 20, (0.8, 1.5), (0.6, 1.3)),
    Plan("D", 6, 16, (0.6, 1.3), (0.6, 1.1)),
    Plan("W", 6, 9, (0.6, 1.1), (0.6, 1.0)),
    Plan("D", 7, 5, (0.8, 1.2), (0.7, 1.1)),
)


@dataclass(frozen=True)
class Story:
    """What is laid down for one child in the last weeks; all else is chance.

    sure, shaky: drills that go well, or badly, from a day on. unsigned: stages that nobody
    signs; recommended from ``ask_from`` on, or not at all.
    """

    sure: frozenset[str] = frozenset()
    sure_from: datetime.date = datetime.date.max
    shaky: str = ""
    shaky_from: datetime.date = datetime.date.max
    stop_on: datetime.date | None = None
    away_from: datetime.date = datetime.date.max
    hurts: Mapping[datetime.date, str] = field(default_factory=dict)
    pause_on: datetime.date | None = None
    lift_on: datetime.date | None = None
    place_on: datetime.date | None = None
    place_at: int = 0
    exception: str = ""
    unsigned: frozenset[str] = frozenset()
    ask_from: datetime.date = datetime.date.max
    bold_from: datetime.date = datetime.date.max

    @property
    def told(self) -> bool:
        """True if chance must keep out of this child's last weeks."""
        return self != Story()


@dataclass(frozen=True)
class Pupil:
    """One child of the demo with everything that its walk through two years needs."""

    at: int
    id: uuid.UUID
    plan: Plan
    learner: Learner
    evenings: Sequence[Evening]
    story: Story


def pupils(
    seed: int,
    now: datetime.datetime,
    weeks: int,
    children: int,
    evenings: Mapping[int, list[Evening]],
) -> list[Pupil]:
    """The first so many children of the cast, in a studio that is so many weeks old."""
    return [_pupil(at, PLANS[at], seed, now, weeks, evenings) for at in range(children)]


def _pupil(
    at: int,
    plan: Plan,
    seed: int,
    now: datetime.datetime,
    weeks: int,
    evenings: Mapping[int, list[Evening]],
) -> Pupil:
    chance = Random(f"{seed} child {at}")
    codes = [group.code for group in GROUPS]
    today = local_day(GROUPS[codes.index(plan.classes[0])].hall, now)
    joined = today - min(plan.weeks, weeks) * WEEK
    twice_from = joined + (today - joined) * ONCE_A_WEEK
    own = [
        evening
        for at, code in enumerate(plan.classes)
        for evening in evenings[codes.index(code)]
        if evening.day >= (twice_from if at else joined)
    ]
    own.sort(key=lambda evening: evening.day)
    return Pupil(
        at=at,
        id=uuid4(chance),
        plan=plan,
        learner=_learner(plan, joined, today, chance),
        evenings=own,
        story=_story(plan.story, [e.day for e in own if e.day < today], today),
    )


def _learner(plan: Plan, joined: datetime.date, today: datetime.date, chance: Random) -> Learner:
    settled = today - SETTLED_WEEKS * WEEK
    if settled <= joined:
        settled = today
    back = rising(*plan.back, joined, settled, chance)
    spring = rising(*plan.spring, joined, settled, chance)
    if plan.story in ("asked-4", "unasked-4"):
        back = _late(plan.back, 2.85, joined, settled)
    elif plan.story == "asked-8":
        spring = _late(plan.spring, 6.15, joined, settled)
    told = plan.story in ("asked-4", "unasked-4", "asked-8")
    drills = sorted({*CLEAN_AT, *REACHES})
    usual = {drill: 0.15 if told else chance.gauss(0, 0.12) for drill in drills}
    return Learner(
        back=back,
        spring=spring,
        dips=() if told else dips(joined, today, chance),
        offsets=usual | ({plan.late: LATE} if plan.late else {}) | (HELD if told else {}),
    )


def _late(
    heights: tuple[float, float], rest: float, joined: datetime.date, settled: datetime.date
) -> Curve:
    """A long rest just under what the next stage asks, then the last rise."""
    rested = joined + (settled - joined) * 2 / 3
    return Curve(
        [joined, rested, settled, settled + 3 * WEEK], [heights[0], rest, rest, heights[1]]
    )


def _story(kind: str, days: Sequence[datetime.date], today: datetime.date) -> Story:
    """``days``: the child's class days before today."""
    lately = today - SURE_WEEKS * WEEK
    walkover = frozenset({"back-walkover", "bridge-line"})
    two_weeks = today - 2 * WEEK
    match kind:
        case "asked-4" | "unasked-4":
            ask_from = two_weeks if kind == "asked-4" else datetime.date.max
            return Story(walkover, lately, unsigned=frozenset("4"), ask_from=ask_from)
        case "asked-8":
            handspring = frozenset({"handspring", "block-line-held", "snap-down"})
            return Story(handspring, lately, unsigned=frozenset("8"), ask_from=two_weeks)
        case "stopped":
            return Story(stop_on=days[-1])
        case "shaky":
            return Story(shaky="back-walkover", shaky_from=days[-3])
        case "away":
            return Story(away_from=today - 5 * WEEK)
        case "sore":
            return Story(hurts={days[-3]: "wrist", days[-1]: "wrist"})
        case "knee":
            return Story(hurts={days[-3]: "knee"})
        case "halted":
            return Story(pause_on=days[-5], lift_on=days[-3])
        case "placed":
            return Story(place_on=days[1], place_at=6)
        case "excepted":
            return Story(exception="6")
        case "bold":
            return Story(bold_from=days[-5])
    return Story()
