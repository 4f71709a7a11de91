"""Class days for classes.json: the studio's ladder and two that were changed at random, with
children, their turns, and every reading and all support after each turn.

The readings are the server's own (readiness/engine), which its own tests judge: the tablet is
held to them, whatever the numbers of a ladder.
"""

import copy
import random
from collections.abc import Iterator, Sequence
from typing import Any

from readiness.engine import day_start
from readiness.engine.evidence import Evidence
from readiness.engine.gates import ClearGate, Gate
from readiness.engine.ladder import Ladder
from readiness.engine.reading import read_stage, with_todays_events
from readiness.engine.replay.days import replay
from readiness.engine.support import allowed_now
from readiness.engine.tallies import Turn, fault_counts, tally_turns
from tests.support.engine.records import (
    CONTENT,
    HARD,
    LADDER,
    MAT,
    Story,
    day,
    unspotted_walkover,
    with_stage,
)

Data = dict[str, Any]

LAST = 84
ME = 1
# The class's date, by its key.
HERE = 1
SURFACES = (MAT, HARD, LADDER.surfaces[0])
SKILLS = ["back-walkover", "handspring"]
DRILLS = [
    *SKILLS, *SKILLS, "walkover-in-dance", "handspring-in-dance", "two-handsprings",
    "kick-over-block", "barrel", "jump-back", "handstand-hops", "bridge-line", "hollow-hold",
    "safe-fall", "sit-fall", "snap-down",
]  # fmt: skip
FAULTS = (
    "half-hearted", "stalls-over-top", "hands-wide-out", "low-back-only", "stopped-before",
    "arms-give", "feet-move",
)  # fmt: skip


def ladders() -> list[Data]:
    rule_by_rule = [*_rule_by_rule(), *(_invented(number) for number in range(40))]
    return [
        _ladder("the studio's", LADDER, rule_by_rule),
        _ladder("changed, one", _changed(1), [_invented(number) for number in range(40, 55)]),
        _ladder("changed, two", _changed(2), [_invented(number) for number in range(55, 70)]),
    ]


def _ladder(name: str, ladder: Ladder, cases: Sequence[tuple[str, Story, int]]) -> Data:
    return {
        "ladder": name,
        "rules": day_start.rules(ladder),
        "surfaces": list(ladder.surfaces),
        "children": [_class_day(case, story, number, ladder) for case, story, number in cases],
    }


# --- ladders changed at random -------------------------------------------------------

SUPPORTS = ("hands-on", "light-touch", "standing-by", "unspotted")


def _changed(seed: int) -> Ladder:
    """The studio's ladder with other numbers, faults and order of surfaces; the drills stay."""
    draw, content = random.Random(seed), copy.deepcopy(CONTENT)
    content["arithmetic"] |= {
        "memory_days": draw.choice([3, 5, 12]),
        "lately_days": draw.choice([1, 1.5, 3]),
        "memory_time": draw.choice([30, 60, 120]),
        "day_correlation": draw.choice([0, 0.2, 0.4]),
    }
    for stage in content["stage"]:
        for gate in [
            *stage.get("gate", []),
            *(g for r in stage.get("release", []) for g in r["gate"]),
        ]:
            _change(gate, draw)
    for fault in content["fault"]:
        fault["stop"] = draw.choice(["yes", "no", "second", "unheld"])
    draw.shuffle(content["surface"])
    return Ladder.from_content(content)


def _change(gate: Data, draw: random.Random) -> None:
    match gate["kind"]:
        case "clean":
            gate |= {
                "rate": draw.choice([0.5, 0.65, 0.75, 0.9]),
                "certainty": draw.choice([0.7, 0.75, 0.85]),
                "days": draw.randint(1, 3),
                "clean": draw.randint(2, 9),
                "within": draw.choice([21, 42, 60]),
                "fresh": draw.choice([7, 10, 21]),
                "graded": draw.random() < 0.5,
            }
        case "reach":
            gate |= {"days": draw.randint(1, 3), "within": draw.choice([20, 45, 60])}
        case "count":
            gate |= {"clean": draw.randint(1, 6), "within": draw.choice([20, 60])}
        case "seen-by-two" | "first-turn":
            gate |= {"within": draw.choice([7, 14, 40])}
    if "support" in gate:
        gate["support"] = draw.choice(SUPPORTS)


# --- children ------------------------------------------------------------------------


def _rule_by_rule() -> Iterator[tuple[str, Story, int]]:
    """What the rules say of a class day, one by one."""
    bad = unspotted_walkover().did(35, "back-walkover", "111", support=1)
    yield "the first turn of the day is standing by", bad.did(42, "back-walkover", "1"), 42
    signed = unspotted_walkover()
    for week in range(35, 77, 7):
        signed.did(week, "back-walkover", "111", support=1)
    missed = signed.did(77, "back-walkover", "00000000", support=1)
    yield "misses in a row are a fall", missed, 77
    yield (
        "a stop sign is hands-on, a second one the end for tonight",
        unspotted_walkover()
        .did(35, "back-walkover", "1", support=1)
        .did(35, "back-walkover", "0", support=1, caught=True)
        .did(35, "back-walkover", "1", support=3)
        .did(35, "back-walkover", "0", support=3, faults=("half-hearted",))
        .did(35, "back-walkover", "1", support=3),
        35,
    )
    yield (
        "a fault that stops when nobody holds, and one that stops the second time",
        with_stage(3)
        .did(7, "back-walkover", "0", support=3, faults=("hands-wide-out",))
        .did(7, "back-walkover", "0", support=3, faults=("stalls-over-top",))
        .did(7, "back-walkover", "0", support=3, faults=("stalls-over-top",))
        .did(7, "back-walkover", "0", support=1, faults=("hands-wide-out",)),
        7,
    )
    yield (
        "a stop sign in a skill counts for the skill in a dance",
        unspotted_walkover()
        .did(35, "walkover-in-dance", "1", support=1)
        .did(35, "back-walkover", "1", support=1)
        .did(35, "back-walkover", "0", support=1, caught=True)
        .did(35, "walkover-in-dance", "1", support=3),
        35,
    )
    yield (
        "a skill in a dance that was signed asks for no less than the skill",
        _signed_dance()
        .did(70, "walkover-in-dance", "1", support=1)
        .did(70, "back-walkover", "1", support=1)
        .did(70, "walkover-in-dance", "1", support=0)
        .did(70, "back-walkover", "00", support=0, faults=("stopped-before",))
        .did(70, "walkover-in-dance", "1", support=1)
        .did(70, "walkover-in-dance", "0", support=1, faults=("arms-give",)),
        70,
    )
    yield (
        "an assistant's turns are not graded, and a stop sign is everybody's",
        unspotted_walkover()
        .did(35, "back-walkover", "111", support=1, author=9, graded=False)
        .did(35, "back-walkover", "0", support=1, author=9, graded=False, caught=True),
        35,
    )
    yield (
        "finished for tonight stays so, whatever falls after it",
        with_stage(7)
        .did(7, "handspring", "111", support=3)
        .did(14, "handspring", "00", support=3, caught=True)
        .did(14, "handspring", "00000000", support=3),
        14,
    )
    yield (
        "seen by two in one class: three turns each, on the surface or a harder one",
        with_stage(3)
        .did(7, "back-walkover", "1", support=3)
        .did(14, "back-walkover", "111", support=1, surface=HARD)
        .did(14, "back-walkover", "11", support=1, author=2, surface=HARD)
        .did(14, "back-walkover", "1", support=1, author=2),
        14,
    )
    yield (
        "seen by two on two days, and a first turn that was not clean",
        with_stage(3)
        .did(7, "back-walkover", "1", support=1, surface=HARD)
        .did(14, "back-walkover", "0", support=1)
        .did(14, "back-walkover", "1", support=1, author=2, surface=LADDER.surfaces[0])
        .did(14, "back-walkover", "1", support=1, author=2),
        14,
    )
    signed = unspotted_walkover()
    for number in (30, 32, 34):
        signed.did(number, "back-walkover", "111", support=1)
    yield (
        "two stops before the turn are no turns, and ask for one step more",
        signed.did(35, "back-walkover", "01", support=1, faults=("stopped-before",)).did(
            35, "back-walkover", "0", support=0, faults=("stopped-before",)
        ),
        35,
    )
    yield (
        "doubt at one skill asks for more at the other, on that day and the next",
        unspotted_walkover()
        .happened(28, "place", stage="6", surface=MAT)
        .did(29, "handspring", "0", faults=("half-hearted",))
        .did(35, "back-walkover", "1", support=1)
        .did(35, "handspring", "0", faults=("feet-move",))
        .did(35, "back-walkover", "1", support=1),
        35,
    )
    doubted = with_stage(6)
    for number in (0, 7, 14, 21):
        doubted.did(number, "back-walkover", "1111", support=2)
    yield (
        "a stop before the turn is not the first turn after doubt",
        doubted.happened(21, "step", drill="back-walkover", support=1)
        .did(22, "handspring", "0", faults=("half-hearted",))
        .did(29, "back-walkover", "0", support=2, faults=("stopped-before",))
        .did(29, "back-walkover", "1", support=2),
        29,
    )
    yield (
        "a second class on one day has a first turn of its own",
        unspotted_walkover()
        .did(35, "back-walkover", "1", support=1, meeting=3)
        .did(35, "back-walkover", "1", support=1),
        35,
    )
    yield (
        "growing fast: one step more on the first turn",
        unspotted_walkover()
        .happened(33, "growing")
        .did(35, "back-walkover", "11", support=1)
        .did(35, "barrel", "1", support=3),
        35,
    )
    knocked = with_stage(3).happened(35, "head-knock").happened(40, "head-clearance")
    for number in (0, 7, 14, 21, 28):
        knocked.did(number, "kick-over-block", "1111", support=1)
    for number, step in ((36, 1), (37, 2), (38, 3), (51, 4), (52, 5)):
        knocked.happened(number, "head-step", step=step, on=day(number))
    yield (
        "at step 5 after a head knock what leads up to it is hands-on",
        knocked.did(53, "kick-over-block", "11"),
        53,
    )
    yield (
        "away too long",
        unspotted_walkover().did(70, "back-walkover", "101", support=3),
        70,
    )


def _signed_dance() -> Story:
    """Stage 4 is signed, and since day 63 the walkover in a dance."""
    story = unspotted_walkover()
    for number in (35, 42, 49, 56, 63):
        story.did(number, "back-walkover", "1", support=1)
        story.did(number, "walkover-in-dance", "11111" if number == 35 else "", support=3)
        story.did(number, "walkover-in-dance", "111", support=1)
        story.did(number, "walkover-in-dance", "111", support=1, author=2)
        story.happened(number, "step", drill="walkover-in-dance", support=1)
    code = "4/walkover-in-dance"
    return story.happened(63, "sign", stage=code, surface=MAT, director=True)


def _invented(number: int) -> tuple[str, Story, int]:
    """A child with a term of classes, by one fixed throw of the dice."""
    draw = random.Random(7000 + number)
    story = Story()
    stage = draw.choice([2, 3, 3, 5, 6, 7, 7])
    story.happened(-1, "place", stage=str(stage), surface=MAT, director=True)
    rate = draw.choice([0.7, 0.85, 0.97])
    for week in range(2, LAST, 7):
        _invented_class(draw, story, week, rate)
        if draw.random() < 0.15:
            signed = draw.choice(["4", "4/walkover-in-dance", "8", "9", "9/two-handsprings"])
            surface = draw.choice(SURFACES)
            story.happened(week, "sign", stage=signed, surface=surface, director=True)
    _invented_class(draw, story, LAST, rate)
    return f"invented {number}", story, LAST


def _invented_class(draw: random.Random, story: Story, number: int, rate: float) -> None:
    for drill in draw.sample(DRILLS, 4 if number == LAST else 5):
        about = LADDER.drills[drill]
        for _turn in range(draw.randint(1, 3)):
            author = draw.choice([ME, ME, 2, 9])
            clean = about.measure == "clean"
            value = draw.randint(0, min(3, int(about.most))) * (15 if about.most > 100 else 1)
            fault = draw.random() < 0.2
            story.did(
                number,
                drill,
                str(int(draw.random() < rate)) if clean else [float(value)],
                support=draw.choice([0, 1, 1, 2, 3]),
                surface=draw.choice(SURFACES),
                author=author,
                graded=author != 9,
                faults=(draw.choice(FAULTS),) if fault else (),
                caught=draw.random() < 0.05,
                meeting=draw.choice([HERE, HERE, HERE, 3]),
            )


def _class_day(name: str, story: Story, number: int, ladder: Ladder) -> Data:
    today = day(number)
    earlier = [turn for turn in story.turns if turn.day < today]
    turns = [turn for turn in story.turns if turn.day == today]
    before = Evidence(tally_turns(earlier, ladder.stops), faults=fault_counts(earlier))
    events = [event for event in story.events if event.day < today]
    state = with_todays_events(replay(before, events, today, lambda _: ladder), [], ladder)
    drills = sorted({turn.drill for turn in turns})
    behind = [ladder.stage[ladder.drills[drill].stage].skills for drill in drills]
    near = sorted({*drills, *(skill for skills in behind for skill in skills)})
    starts = {
        drill: day_start.support_start(ladder.drills[drill], state, before, ladder)
        for drill in near
    }
    watched = [drill for drill in drills if starts[drill] is not None]
    shown = [
        (stage, gate)
        for stage in ladder.stages
        for gate in stage.gates
        if not isinstance(gate, ClearGate) and not set(drills).isdisjoint(gate.drills)
    ]

    def gates_after(done: Sequence[Turn]) -> Data:
        evidence = Evidence(tally_turns(done, ladder.stops))
        readings = {s.code: read_stage(s, state, evidence, today, ladder) for s, _ in shown}
        return {
            gate.code: [read.value, read.met, round(read.progress, 9)]
            for stage, gate in shown
            for read in readings[stage.code].gates
            if read.gate.code == gate.code
        }

    def support_after(done: Sequence[Turn]) -> Data:
        return {drill: _support(drill, state, before, done, ladder) for drill in watched}

    def gate_of(stage: Any, gate: Gate) -> Data:
        reading = read_stage(stage, state, before, today, ladder)
        return day_start.gate_start(gate, reading, before, today, ladder, lambda author: author)

    return {
        "name": name,
        "starts": starts,
        "gates": {gate.code: gate_of(stage, gate) for stage, gate in shown},
        "turns": [_turn(turn, ladder) for turn in turns],
        "after": [
            {
                "support": support_after(turns[:count]),
                "gates": gates_after([*earlier, *turns[:count]]),
            }
            for count in range(len(turns) + 1)
        ],
    }


def _support(
    drill: str, state: Any, before: Evidence, done: Sequence[Turn], ladder: Ladder
) -> Data:
    by_surface = {}
    for surface in SURFACES:
        allowed = allowed_now(ladder.drills[drill], state, before, ladder, surface, done, HERE)
        by_surface[surface] = {
            "support": None if allowed.support is None else int(allowed.support),
            "causes": list(allowed.causes),
            "falls": [[fall.code, list(fall.stages), int(fall.asks)] for fall in allowed.falls],
        }
    return by_surface


def _turn(turn: Turn, ladder: Ladder) -> Data:
    outcome = {"clean": turn.clean} if turn.value is None else {"value": turn.value}
    return {
        "id": turn.id,
        "drill": turn.drill,
        **outcome,
        "support": turn.support,
        "surface": turn.surface,
        "here": turn.meeting == HERE,
        "rank": ladder.rank(turn.surface),
        "graded": turn.graded,
        "author": turn.author,
        "faults": list(turn.faults),
        "caught": turn.caught,
    }
