"""Who is in the demo: how far each child has come, and what happens in the last weeks."""

import datetime
import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

from readiness.demo.calendar import Evening, local_day
from readiness.demo.ids import uuid4
from readiness.demo.learning import CLEAN_AT, REACHES, Curve, Learner, dips, rising
from readiness.demo.names import GROUPS
from readiness.demo.way_back import HeadTold, full_way, half_way

WEEK = datetime.timedelta(weeks=1)
# Heights are reached so long ago: the gates take some weeks more.
SETTLED_WEEKS = 12
# The skill of a child who is to be for review goes well for so long.
STRONG_WEEKS = 9
LATE_OFFSET = -3.8
# What goes well for a child who rehearses for the show.
DANCED = frozenset(
    {"back-walkover", "walkover-in-dance", "handspring", "two-handsprings", "roundoff-handspring"}
)
# Held positions that come sooner than the skill, for a child who is to be for review.
HELD_OFFSETS = {"bridge-line": 0.4, "block-line-held": 0.7}
# A child with two classes a week began with one, for this part of the time.
ONE_CLASS_SHARE = 0.45


@dataclass(frozen=True)
class Plan:
    """classes: the codes of one or two classes. weeks: since the child joined.
    back, spring: the first and the last height (see learning.py).
    late: a drill that comes late to this child, and holds up a stage."""

    classes: str
    age: int
    weeks: int
    back: tuple[float, float]
    spring: tuple[float, float]
    story: str = ""
    late: str = ""


# In the order of names.CHILDREN. The first ones have a story, so that a small studio has them all.
PLANS = (
    Plan("SW", 9, 104, (2.2, 4.6), (1.5, 3.1), "recommended-4"),
    Plan("PD", 9, 104, (2.2, 4.6), (1.8, 3.2), "ready-4"),
    Plan("S", 10, 104, (2.6, 4.7), (2.0, 3.3), "stop-sign"),
    Plan("P", 8, 104, (2.6, 4.4), (1.5, 2.8), "away"),
    Plan("P", 11, 104, (2.8, 4.8), (2.0, 3.4), "lately"),
    Plan("W", 8, 104, (1.5, 2.7), (1.0, 2.2), "two-pains"),
    Plan("S", 12, 5, (4.5, 4.7), (6.4, 6.7), "placing"),
    Plan("D", 9, 90, (1.4, 2.8), (1.2, 2.6), "pause"),
    Plan("SW", 13, 104, (3.2, 4.8), (4.6, 8.2), "recommended-8"),
    Plan("P", 12, 104, (1.8, 3.1), (4.6, 7.0), "exception", "snap-down"),
    Plan("W", 8, 104, (1.4, 3.2), (1.0, 2.6), "less-support"),
    Plan("SW", 13, 104, (3.0, 4.8), (4.4, 9.8)),
    Plan("PD", 13, 104, (3.2, 4.8), (4.8, 9.8), "head-knock"),
    Plan("SW", 14, 104, (3.4, 4.8), (5.0, 9.8), "show"),
    Plan("PD", 14, 104, (3.0, 4.8), (4.6, 8.4), "head-knock-over"),
    Plan("SW", 12, 104, (2.8, 4.8), (4.0, 8.0), "show", "rebound"),
    Plan("PD", 13, 104, (3.0, 4.8), (4.4, 8.0), "", "rebound"),
    Plan("S", 13, 96, (3.0, 4.8), (4.6, 8.0), "nearly-8", "rebound"),
    Plan("SW", 12, 91, (2.6, 4.8), (3.8, 7.0), "", "snap-down"),
    Plan("P", 12, 91, (2.8, 4.8), (3.8, 7.1)),
    Plan("S", 11, 96, (2.6, 4.8), (3.6, 7.0), "", "block-line-held"),
    Plan("P", 11, 84, (2.6, 4.8), (3.6, 6.2), "", "handstand-hops"),
    Plan("S", 12, 84, (2.8, 4.8), (3.4, 6.0), "", "handstand-hops"),
    Plan("P", 11, 91, (2.6, 4.7), (3.4, 5.9), "", "wall-shrugs"),
    Plan("S", 10, 84, (2.6, 4.6), (2.8, 5.8), "", "barrel"),
    Plan("P", 10, 88, (2.0, 3.3), (2.4, 5.2)),
    Plan("S", 10, 80, (1.8, 3.2), (2.4, 5.2), "less-support"),
    Plan("P", 11, 104, (1.6, 2.4), (2.8, 5.3), "", "bridge-line"),
    Plan("S", 11, 80, (1.8, 2.4), (2.6, 5.2)),
    Plan("P", 9, 91, (2.0, 4.6), (1.6, 3.3)),
    Plan("S", 10, 78, (2.2, 4.6), (1.8, 3.2)),
    Plan("P", 9, 84, (2.2, 4.5), (1.6, 3.0)),
    Plan("D", 9, 78, (1.5, 3.3), (1.2, 2.8)),
    Plan("W", 9, 96, (1.3, 3.3), (1.0, 2.6)),
    Plan("W", 8, 88, (1.2, 3.4), (1.0, 2.8)),
    Plan("D", 8, 78, (1.2, 3.3), (1.0, 2.4), "one-pain"),
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
    """What is laid down for one child in the last weeks; all else is random.

    strong, weak: drills that go well, or badly, from a day on. unsigned: a stage that nobody
    signs; recommended from ``recommend_from`` on, or never. rehearses: a skill in a dance, done
    at every class from the day on from which it goes well. head: what was told and given after a
    knock on the head; last_step_waits: nobody gives the last step of the way back to less support.
    """

    strong: frozenset[str] = frozenset()
    strong_from: datetime.date = datetime.date.max
    weak: str = ""
    weak_from: datetime.date = datetime.date.max
    stop_on: datetime.date | None = None
    away_from: datetime.date = datetime.date.max
    pains: Mapping[datetime.date, str] = field(default_factory=dict)
    pause_on: datetime.date | None = None
    lift_on: datetime.date | None = None
    place_on: datetime.date | None = None
    place_stage: int = 0
    exception: str = ""
    unsigned: str = ""
    recommend_from: datetime.date = datetime.date.max
    less_support_from: datetime.date = datetime.date.max
    rehearses: str = ""
    head: tuple[HeadTold, ...] = ()
    last_step_waits: bool = False


@dataclass(frozen=True)
class Pupil:
    """One child of the demo. index: in PLANS and names.CHILDREN."""

    index: int
    id: uuid.UUID
    plan: Plan
    learner: Learner
    evenings: Sequence[Evening]
    story: Story


def make_pupils(
    seed: int,
    now: datetime.datetime,
    weeks: int,
    children: int,
    evenings: Mapping[int, list[Evening]],
) -> list[Pupil]:
    """The first so many children, in a studio that is so many weeks old."""
    return [_make_pupil(index, seed, now, weeks, evenings) for index in range(children)]


def _make_pupil(
    index: int,
    seed: int,
    now: datetime.datetime,
    weeks: int,
    evenings: Mapping[int, list[Evening]],
) -> Pupil:
    plan, rng = PLANS[index], Random(f"{seed} child {index}")
    codes = [group.code for group in GROUPS]
    groups = [codes.index(code) for code in plan.classes]
    today = local_day(GROUPS[groups[0]].hall, now)
    joined = today - min(plan.weeks, weeks) * WEEK
    second_from = joined + (today - joined) * ONE_CLASS_SHARE
    own = [evening for evening in evenings[groups[0]] if evening.day >= joined]
    for group in groups[1:]:
        own += [evening for evening in evenings[group] if evening.day >= second_from]
    own.sort(key=lambda evening: evening.day)
    return Pupil(
        index=index,
        id=uuid4(rng),
        plan=plan,
        learner=_make_learner(plan, joined, today, rng),
        evenings=own,
        story=_story(plan.story, [e.day for e in own if e.day < today], today),
    )


def _make_learner(plan: Plan, joined: datetime.date, today: datetime.date, rng: Random) -> Learner:
    settled = today - SETTLED_WEEKS * WEEK
    if settled <= joined:
        settled = today
    back = rising(*plan.back, joined, settled, rng)
    spring = rising(*plan.spring, joined, settled, rng)
    kind, _, stage = plan.story.rpartition("-")
    for_review = kind in ("recommended", "ready", "nearly")
    if for_review and stage == "8":
        spring = _late_rise(plan.spring, 6.15, joined, settled)
    elif for_review:
        back = _late_rise(plan.back, 2.85, joined, settled)
    drills = sorted({*CLEAN_AT, *REACHES})
    offsets = {drill: 0.15 if for_review else rng.gauss(0, 0.12) for drill in drills}
    if plan.late:
        offsets[plan.late] = LATE_OFFSET
    if for_review:
        offsets |= HELD_OFFSETS
    return Learner(back, spring, () if for_review else dips(joined, today, rng), offsets)


def _late_rise(
    heights: tuple[float, float], rest: float, joined: datetime.date, settled: datetime.date
) -> Curve:
    """A long rest just under what the next stage asks, then the last rise."""
    rested = joined + (settled - joined) * 2 / 3
    return Curve(
        [joined, rested, settled, settled + 3 * WEEK], [heights[0], rest, rest, heights[1]]
    )


def _story(kind: str, days: Sequence[datetime.date], today: datetime.date) -> Story:
    """``days``: the child's class days before today."""
    strong_from, two_weeks_ago = today - STRONG_WEEKS * WEEK, today - 2 * WEEK
    strong = {
        "4": frozenset({"back-walkover", "bridge-line"}),
        "8": frozenset({"handspring", "block-line-held", "snap-down"}),
    }
    match kind.rpartition("-"):
        case "recommended", _, stage:
            return Story(strong[stage], strong_from, unsigned=stage, recommend_from=two_weeks_ago)
        case "ready", _, stage:
            return Story(strong[stage], strong_from, unsigned=stage)
        case "nearly", _, stage:
            return Story(strong[stage], strong_from)
    stories: Mapping[str, Callable[[], Story]] = {
        "stop-sign": lambda: Story(stop_on=days[-1]),
        "lately": lambda: Story(weak="back-walkover", weak_from=days[-3]),
        "away": lambda: Story(away_from=today - 5 * WEEK),
        "two-pains": lambda: Story(pains={days[-3]: "wrist", days[-1]: "wrist"}),
        "one-pain": lambda: Story(pains={days[-3]: "knee"}),
        "pause": lambda: Story(pause_on=days[-5], lift_on=days[-3]),
        "placing": lambda: Story(place_on=days[1], place_stage=6),
        "show": lambda: Story(DANCED, strong_from, rehearses="walkover-in-dance"),
        "head-knock": lambda: Story(head=half_way(today)),
        "head-knock-over": lambda: Story(head=full_way(today), last_step_waits=True),
        "exception": lambda: Story(exception="6"),
        "less-support": lambda: Story(less_support_from=days[-5]),
    }
    return stories.get(kind, Story)()
