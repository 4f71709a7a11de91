"""Records to try the engine on: gates, turns and whole plays, drawn by hypothesis.

A play is one child's classes: the child does what is allowed, a little more or less of it,
clean or not, and people sign, pause, place and take back. The small ladder has every kind
of rule of the shipped one, so that a play reaches all of them soon.
"""

import copy
import datetime
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any, get_args

from hypothesis import strategies as st

from readiness.engine.evidence import Evidence
from readiness.engine.gates import (
    CleanGate,
    CleanRule,
    ClearGate,
    CountGate,
    FirstTurnGate,
    Gate,
    ReachGate,
    SeenByTwoGate,
)
from readiness.engine.ladder import Drill, Ladder
from readiness.engine.levels import Support
from readiness.engine.reading import FOR_REVIEW, ChildReading, read_child, with_todays_events
from readiness.engine.replay.days import replay
from readiness.engine.replay.events import Event, EventKind
from readiness.engine.replay.state import ChildState
from readiness.engine.support import allowed_at_start, allowed_now, asked_about
from readiness.engine.tallies import Tally, Turn, fault_counts, tally_turns
from tests.support.engine.records import CONTENT, LADDER, at_noon, day, without_new_rules

GRADERS = (1, 2)
ASSISTANT = 9
SURFACES = LADDER.surfaces[2:5]
# One of each kind: a stop sign, the second time only, unheld only, never.
FAULTS = ("half-hearted", "stalls-over-top", "hands-wide-out", "low-back-only")
# By the rules in force now one carries over, one stops before the turn, one ends the evening.
NEW_FAULTS = (*FAULTS, "stopped-before", "arms-give")
NO_STOP = "low-back-only"


# --- gates and the turns they read ---------------------------------------------------


@st.composite
def clean_rules(draw: st.DrawFn) -> CleanRule:
    """Within the bounds that a ladder file must keep."""
    rate = draw(st.sampled_from([0.5, 0.6, 0.7, 0.8, 0.9, 0.95]))
    certainty = draw(st.floats(max(0.5, round(1.2 - rate, 6)), 0.99))
    days = draw(st.integers(1, 4))
    clean = draw(st.integers(days, 12))
    return CleanRule(
        rate, certainty, days, clean, draw(st.integers(7, 90)), draw(st.integers(1, 40))
    )


SHIPPED_RULES = sorted(
    {g.rule for s in LADDER.stages for g in s.gates if isinstance(g, CleanGate)},
    key=lambda rule: rule.rate,
)
SHIPPED_GATES = [gate for stage in LADDER.stages for gate in stage.gates] + [
    gate for drill in LADDER.drills.values() for gate in drill.needs
]


@st.composite
def gates(draw: st.DrawFn) -> Gate:
    """Any gate of the shipped ladder, or one with numbers of its own."""
    if draw(st.booleans()):
        return draw(st.sampled_from(SHIPPED_GATES))
    kind = draw(st.sampled_from(KINDS))
    support, signed = draw(st.sampled_from(list(Support))), draw(st.booleans())
    within = draw(st.integers(7, 90))
    match kind:
        case "clean":
            rule, graded = draw(clean_rules()), draw(st.booleans())
            return CleanGate("g", "back-walkover", rule, support, graded, signed)
        case "reach":
            graded = draw(st.booleans())
            drill = "bridge-line" if graded else "hollow-hold"
            at_least = draw(st.integers(1, 3 if graded else 30))
            either = None if graded else draw(st.sampled_from([None, "arch-hold"]))
            days = draw(st.integers(1, 4))
            return ReachGate("g", drill, at_least, days, within, graded, either)
        case "clear":
            numbers = draw(st.integers(1, 8)), draw(st.integers(1, 30))
            return ClearGate("g", "back-walkover", *numbers, needs_turns=draw(st.booleans()))
        case "count":
            return CountGate("g", "safe-fall", draw(st.integers(1, 8)), within)
        case "seen-by-two":
            return SeenByTwoGate("g", "back-walkover", support, within, signed)
    return FirstTurnGate("g", "back-walkover", support, within, signed)


KINDS = ("clean", "reach", "clear", "count", "seen-by-two", "first-turn")


@st.composite
def turns_at(
    draw: st.DrawFn, drill: str, last: int = 60, most: int = 12, long: bool = False
) -> list[Turn]:
    """Some days' turns at a drill, by whoever, at any support and surface."""
    sittings = draw(
        st.lists(
            st.tuples(
                st.integers(0, last),
                st.sampled_from([0, 1, 1, 2, 3]),
                st.sampled_from(SURFACES),
                st.sampled_from([*GRADERS, ASSISTANT]),
                st.lists(outcomes(drill), min_size=1, max_size=15 if long else 5),
                st.sampled_from([(), (), (), *((fault,) for fault in FAULTS)]),
            ),
            max_size=most,
        )
    )
    turns: list[Turn] = []
    for number, support, surface, author, done, faults in sittings:
        for outcome in done:
            missed = outcome is False
            turns.append(
                turn(
                    len(turns),
                    number,
                    drill,
                    outcome,
                    support,
                    surface,
                    author,
                    faults if missed else (),
                )
            )
    return turns


def outcomes(drill: str) -> st.SearchStrategy[bool | float]:
    about = LADDER.drills[drill]
    if about.measure == "clean":
        return st.sampled_from([True, True, True, False])
    return st.integers(0, int(min(about.most, 40))).map(float)


def turn(
    count: int,
    number: int,
    drill: str,
    outcome: bool | float,
    support: int = 3,
    surface: str = SURFACES[1],
    author: int = 1,
    faults: tuple[str, ...] = (),
) -> Turn:
    is_clean = isinstance(outcome, bool)
    return Turn(
        id=f"{count:06}",
        drill=drill,
        surface=surface,
        support=support,
        author=author,
        day=day(number),
        at=at_noon(number, count),
        graded=author != ASSISTANT,
        clean=outcome if is_clean else None,
        value=None if is_clean else float(outcome),
        faults=faults,
    )


def evidence_of(turns: Sequence[Turn], ladder: Ladder = LADDER) -> Evidence:
    return Evidence(tally_turns(turns, ladder.stops), faults=fault_counts(turns))


# --- the small ladder ----------------------------------------------------------------


def _step(stage: int, support: str, **about: Any) -> dict[str, Any]:
    return {"stage": stage, "support": support, **about}


def _drill(key: str, measure: str, stage: int, **about: Any) -> dict[str, Any]:
    return {
        "key": key,
        "measure": measure,
        "stage": stage,
        "support_logged": "allow" in about,
        "most": {"clean": 1, "reps": 10}.get(measure, 60),
        "loads": ["hands"],
        **about,
    }


def small_content(
    practice: CleanRule, unspotted: CleanRule, clear: tuple[int, int], correlation: float = 0.1
) -> dict[str, Any]:
    """Five stages: to start, swing (taught by hand), swing with less, unspotted, and a pair
    that starts hands-on again. The pair and the swing in a dance have a release each."""
    signed = {"surface": "signed"}
    last_step = {**signed, "first_turn": "standing-by"}
    rules = {"practice": vars(practice), "unspotted": vars(unspotted)}

    def clean(code: str, drill: str, support: str, rule: str, **about: Any) -> dict[str, Any]:
        graded = rule == "unspotted"
        head = {"code": code, "kind": "clean", "drill": drill, "support": support}
        return {**head, **rules[rule], "graded": graded, **about}

    def signature_gates(code: str, drill: str) -> list[dict[str, Any]]:
        head = {"drill": drill, "support": "standing-by", **signed}
        return [
            clean(f"{code}.clean", drill, "standing-by", "unspotted", **signed),
            {
                "code": f"{code}.clear",
                "kind": "clear",
                "drill": drill,
                "clean": clear[0],
                "days": clear[1],
            },
            {"code": f"{code}.seen", "kind": "seen-by-two", "within": 84, **head},
            {"code": f"{code}.first", "kind": "first-turn", "within": 28, **head},
        ]

    drills = [
        _drill("roll", "clean", 1),
        _drill("hold", "seconds", 1, loads=[]),
        _drill("kick", "clean", 1, allow=[_step(1, "unspotted")]),
        _drill("hop", "reps", 2, allow=[_step(2, "standing-by")]),
        _drill(
            "swing",
            "clean",
            2,
            skill=True,
            allow=[
                _step(2, "hands-on"),
                _step(2, "light-touch", steady="hands-on"),
                _step(3, "standing-by", steady="light-touch", tap=True),
                _step(4, "unspotted", **last_step),
            ],
        ),
        _drill(
            "swing-in-dance",
            "clean",
            4,
            skill=True,
            allow=[
                _step(4, "hands-on"),
                _step(4, "standing-by", steady="hands-on"),
                _step(4, "unspotted", release=True, **last_step),
            ],
        ),
        _drill(
            "leap", "clean", 3, allow=[_step(3, "hands-on"), _step(3, "light-touch", after_days=2)]
        ),
        _drill(
            "pair",
            "clean",
            5,
            skill=True,
            needs=[{"code": "pair.kick", "kind": "count", "drill": "kick", "clean": 2}],
            allow=[
                _step(5, "hands-on"),
                _step(5, "light-touch", steady="hands-on"),
                _step(5, "standing-by", steady="light-touch"),
                _step(5, "unspotted", release=True, **last_step),
            ],
        ),
    ]
    stages = [
        {"number": 1, "needs": [], "sign_off": False},
        {
            "number": 2,
            "needs": [1],
            "sign_off": False,
            "skills": ["swing"],
            "gate": [
                {"code": "2.hold", "kind": "reach", "drill": "hold", "at_least": 20},
                {"code": "2.roll", "kind": "count", "drill": "roll", "clean": 3},
            ],
        },
        {
            "number": 3,
            "needs": [2],
            "sign_off": False,
            "skills": ["swing"],
            "gate": [
                clean("3.swing", "swing", "hands-on", "practice"),
                {
                    "code": "3.clear",
                    "kind": "clear",
                    "drill": "swing",
                    "clean": clear[0],
                    "days": clear[1],
                },
                {"code": "3.hop", "kind": "reach", "drill": "hop", "at_least": 3},
            ],
        },
        {
            "number": 4,
            "needs": [3],
            "sign_off": True,
            "skills": ["swing"],
            "gate": signature_gates("4", "swing"),
            "release": [
                {
                    "code": "4/swing-in-dance",
                    "drill": "swing-in-dance",
                    "gate": signature_gates("4/swing-in-dance", "swing-in-dance"),
                }
            ],
        },
        {
            "number": 5,
            "needs": [2, 4],
            "exception_for": [4],
            "sign_off": True,
            "skills": ["pair"],
            "gate": [clean("5.swing", "swing", "unspotted", "unspotted")],
            "release": [
                {"code": "5/pair", "drill": "pair", "gate": signature_gates("5/pair", "pair")}
            ],
        },
    ]
    arithmetic = {**CONTENT["arithmetic"], "day_correlation": correlation}
    return {
        **without_new_rules(CONTENT),
        "arithmetic": arithmetic,
        "practice": vars(practice),
        "drill": drills,
        "stage": stages,
    }


def with_new_rules(content: dict[str, Any]) -> dict[str, Any]:
    """The same with every rule that older ladders do not have."""
    changed = copy.deepcopy(content)
    changed |= {
        "first_turn": {"misses": 2},
        "new_surface": {"clean": 3},
        "stop_sign": {"finishes": True},
        "tap": {
            "rate": 0.6, "certainty": 0.7, "days": 2, "clean": 4, "turns": 6, "held_within": 28,
        },
    }  # fmt: skip
    changed["way_back"] = {**changed["way_back"], "re_checks": 3, "re_checks_within": 120}
    drills = {drill["key"]: drill for drill in changed["drill"]}
    for key in ("swing", "swing-in-dance", "pair", "roll"):
        drills[key]["goes"] = ["backward"]
    drills["pair"]["hands_leave"] = "tap"
    for step in drills["pair"]["allow"][1:3]:
        step["tap"] = True
    drills["leap"]["allow"][1] |= {"clean_each": 3, "tap": True}
    faults = {fault["key"]: fault for fault in changed["fault"]}
    faults["half-hearted"]["carries"] = True
    faults["stopped-before"] |= {"carries": True, "before_turn": True, "stop": "no"}
    faults["arms-give"]["ends_backward"] = True
    return changed


MILD = CleanRule(rate=0.6, certainty=0.7, days=2, clean=4)
SMALL_CONTENT = small_content(MILD, CleanRule(rate=0.8, certainty=0.6, days=2, clean=6), (4, 10))
OLD = Ladder.from_content(SMALL_CONTENT)
SMALL = Ladder.from_content(with_new_rules(SMALL_CONTENT))


@st.composite
def small_ladders(draw: st.DrawFn) -> Ladder:
    """The small ladder with numbers of its own, mild enough to be climbed in some weeks."""
    if draw(st.booleans()):
        return draw(st.sampled_from([SMALL, SMALL, OLD]))
    practice_rate = draw(st.sampled_from([0.5, 0.6, 0.7]))
    practice = CleanRule(
        practice_rate, draw(st.sampled_from([0.7, 0.8])), draw(st.integers(1, 3)), 4
    )
    unspotted_rate = draw(st.sampled_from([0.7, 0.8, 0.85]))
    unspotted = CleanRule(unspotted_rate, draw(st.sampled_from([0.5, 0.7, 0.8])), 2, 6)
    clear = draw(st.integers(1, 5)), draw(st.integers(1, 20))
    content = small_content(practice, unspotted, clear, draw(st.sampled_from([0.0, 0.1, 0.4])))
    return Ladder.from_content(with_new_rules(content) if draw(st.booleans()) else content)


# --- plays ---------------------------------------------------------------------------


@dataclass
class Play:
    """One child's turns and events, class by class."""

    ladder: Ladder
    turns: list[Turn] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    number: int = 0
    _folded: dict[datetime.date, tuple[int, list[Tally]]] = field(
        default_factory=dict, repr=False, compare=False
    )

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        """For hypothesis: the play as told, class by class."""
        printer.text(self.reported())

    def reported(self) -> str:
        lines = [
            f"{(each.day - day(0)).days}: {each.drill} "
            f"{'.'.join(str(int(t.clean if t.value is None else t.value)) for t in group)} "
            f"at {each.support} on {each.surface} by {each.author} {each.faults} {each.caught}"
            for each, group in _runs(self.turns)
        ]
        lines += [
            f"{(e.day - day(0)).days}: {e.kind} {e.stage}{e.drill}{e.place} {e.surface} "
            f"{int(e.support)} {e.director}"
            for e in self.events
        ]
        return "\n".join(sorted(lines, key=lambda line: int(line.split(":")[0])))

    def ladder_on(self, _: datetime.date) -> Ladder:
        return self.ladder

    @property
    def evidence(self) -> Evidence:
        """Each day is folded once; plays only ever add turns."""
        by_day: dict[datetime.date, list[Turn]] = defaultdict(list)
        for each in self.turns:
            by_day[each.day].append(each)
        for on, turns in by_day.items():
            if self._folded.get(on, (0, []))[0] != len(turns):
                self._folded[on] = len(turns), tally_turns(turns, self.ladder.stops)
        tallies = [tally for _, tallies in self._folded.values() for tally in tallies]
        return Evidence(tallies, faults=fault_counts(self.turns))

    def state(self, number: int) -> ChildState:
        """At the start of a day."""
        return replay(self.evidence, self.events, day(number), self.ladder_on)

    def read(self, number: int) -> ChildReading:
        today = [turn for turn in self.turns if turn.day == day(number)]
        return read_child(self.evidence, self.events, today, day(number), self.ladder_on)

    def do(self, drill: str, outcome: bool | float, *about: Any) -> None:
        self.turns.append(turn(len(self.turns), self.number, drill, outcome, *about))

    def happen(self, kind: str, **about: Any) -> None:
        """After the turns so far, before the next one."""
        count = len(self.events)
        at = at_noon(self.number, len(self.turns)) - datetime.timedelta(milliseconds=500)
        self.events.append(Event(kind, day(self.number), at, f"e{count:04}", **about))  # type: ignore[arg-type]

    def copy(self) -> "Play":
        return Play(
            self.ladder, list(self.turns), list(self.events), self.number, dict(self._folded)
        )


def _runs(turns: Sequence[Turn]) -> Iterator[tuple[Turn, list[Turn]]]:
    """Turns that differ only in time, outcome and grader, together."""

    def alike(each: Turn) -> tuple[object, ...]:
        return (each.day, each.drill, each.surface, each.support, each.graded)

    for _, group in groupby(turns, key=alike):
        together = list(group)
        yield together[-1], together


@dataclass(frozen=True)
class Sitting:
    """Some turns at one drill: with as much support as allowed, or that much more or less."""

    drill: int
    outcomes: tuple[bool, ...]
    more: int
    surface: str
    author: int
    fault: str | None


@dataclass(frozen=True)
class ClassDay:
    """One class, after some perfect ones."""

    perfect: int
    gap: int
    sittings: tuple[Sitting, ...]
    event: tuple[str, int] | None
    decides: bool


# The place of "swing" in the small ladder.
SWING = 4
SITTINGS = st.builds(
    Sitting,
    drill=st.just(SWING) | st.integers(0, 40),
    outcomes=st.just((True, True, True))
    | st.lists(st.sampled_from([True, True, False]), min_size=1, max_size=4).map(tuple),
    more=st.sampled_from([0, 0, 0, 0, 1, -1, -2]),
    surface=st.sampled_from(SURFACES),
    author=st.sampled_from([1, 2, 2, ASSISTANT]),
    fault=st.sampled_from([None, None, *NEW_FAULTS, "caught"]),
)
EVENTS = st.tuples(
    # A yes twice as often: without one most drills are closed.
    st.sampled_from([*get_args(EventKind), "consent-yes"]),
    st.integers(0, 40),
)
CLASS_DAYS = st.builds(
    ClassDay,
    perfect=st.sampled_from([0, 0, 0, 0, 0, 1, 3]),
    gap=st.sampled_from([1] * 2 + [3] * 8 + [7] * 10 + [14] * 2 + [28, 29, 57]),
    sittings=st.lists(SITTINGS, max_size=4).map(tuple),
    event=st.none() | EVENTS,
    decides=st.sampled_from([True, True, True, False]),
)


@st.composite
def plays(draw: st.DrawFn, ladder: Ladder | None = None, most: int = 8) -> Play:
    """Some perfect weeks first, so that the play also starts high up; then anything."""
    chosen = ladder or draw(small_ladders())
    play = climbed(chosen, draw(st.sampled_from([0, 3, 6, 9, 12, 16])))
    for class_day in draw(st.lists(CLASS_DAYS, max_size=most)):
        add_class(play, class_day)
    return play


_CLIMBED: dict[tuple[int, int], Play] = {}
_KEPT: list[Ladder] = []


def climbed(ladder: Ladder, classes: int) -> Play:
    """A perfect child after so many classes."""
    known = _CLIMBED.get((id(ladder), classes))
    if known is None:
        known = Play(ladder)
        for _ in range(classes):
            perfect_class(known)
        if ladder in (SMALL, OLD, LADDER):
            _CLIMBED[id(ladder), classes] = known
            _KEPT.append(ladder)
    return known.copy()


def add_class(play: Play, class_day: ClassDay) -> None:
    for _ in range(class_day.perfect):
        perfect_class(play)
    play.number += class_day.gap
    if class_day.event is not None:
        _happen(play, *class_day.event)
    state, evidence, today = play.state(play.number), play.evidence, _today(play)
    for sitting in class_day.sittings:
        drills = list(play.ladder.drills.values())
        drill = drills[sitting.drill % len(drills)]
        for outcome in sitting.outcomes:
            allowed = allowed_now(drill, state, evidence, play.ladder, sitting.surface, today)
            if allowed.support is None and sitting.more >= 0:
                continue
            least = Support.HANDS_ON if allowed.support is None else allowed.support
            support = min(max(least + sitting.more, 0), 3) if drill.allow else 0
            _do(play, drill, outcome, support, sitting)
            today.append(play.turns[-1])
    if class_day.decides:
        decide(play, play.read(play.number))


def _today(play: Play) -> list[Turn]:
    return [turn for turn in play.turns if turn.day == day(play.number)]


def _do(play: Play, drill: Drill, outcome: bool, support: int, sitting: Sitting) -> None:
    done: bool | float = outcome if drill.measure == "clean" else drill.most * outcome
    faults = () if outcome or sitting.fault in (None, "caught") else (sitting.fault,)
    play.do(drill.key, done, support, sitting.surface, sitting.author, faults)
    if sitting.fault == "caught" and not outcome:
        play.turns[-1] = play.turns[-1]._replace(caught=True)


def _happen(play: Play, kind: str, which: int) -> None:
    stages = [stage for stage in play.ladder.stages if stage.part_of is None]
    signed = [stage.code for stage in play.ladder.stages if stage.sign_off]
    unsigned = [stage.code for stage in stages if not stage.sign_off]
    drills = [drill.key for drill in play.ladder.drills.values() if drill.allow]
    places = sorted(play.ladder.pains)
    match kind:
        case "sign" | "send-back":
            surface = SURFACES[which % len(SURFACES)]
            play.happen(kind, stage=signed[which % len(signed)], surface=surface, director=True)
        case "place":
            surface = SURFACES[which % len(SURFACES)]
            play.happen(kind, stage=unsigned[which % len(unsigned)], surface=surface)
        case "exception":
            excepting = [stage.code for stage in stages if stage.exception_for]
            play.happen(kind, stage=excepting[which % len(excepting)], director=True)
        case "step":
            drill = drills[which % len(drills)]
            play.happen(kind, drill=drill, support=which % 2, director=which % 3 == 0)
        case "pain" | "pain-gone":
            play.happen(kind, place=places[which % len(places)])
        case _:
            play.happen(kind)


# --- the perfect child, and people who say yes ---------------------------------------

DAYS_BETWEEN = 3


def perfect_class(play: Play) -> ChildReading:
    """Every drill that is allowed, six clean turns, seen by two, with as much support as
    allowed, where least is allowed; then everybody decides what waits for them. The reading
    is the one they decided on."""
    play.number += DAYS_BETWEEN
    evidence = play.evidence
    state = replay(evidence, play.events, day(play.number), play.ladder_on)
    for drill in play.ladder.drills.values():
        surface = _best_surface(play, drill, state)
        today: list[Turn] = []
        for at in range(6):
            allowed = allowed_now(drill, state, evidence, play.ladder, surface, today)
            if allowed.support is None:
                break
            outcome: bool | float = True if drill.measure == "clean" else drill.most
            support = allowed.support if drill.allow else 0
            play.do(drill.key, outcome, support, surface, GRADERS[at % 2])
            today.append(play.turns[-1])
    evidence.add(tally_turns(_today(play), play.ladder.stops))
    reading = read_child(evidence, play.events, _today(play), day(play.number), play.ladder_on)
    decide(play, reading)
    return reading


def _best_surface(play: Play, drill: Drill, state: ChildState) -> str:
    """Of those where least is allowed, leaving the first turn aside, the hardest."""

    def worth(surface: str) -> tuple[int, int]:
        allowed = allowed_at_start(drill, state, play.ladder, surface)
        return -allowed.amount, play.ladder.rank(surface)

    return max(play.ladder.surfaces, key=worth)


def decide(play: Play, reading: ChildReading) -> None:
    """Whatever is shown as waiting for a person gets that person's yes."""
    if reading.state.paused_since is not None:
        play.happen("lift", director=True)
    if reading.state.consent in ("no", "not-asked"):
        play.happen("consent-yes")
    for each in reading.stages:
        if each.state == FOR_REVIEW:
            surface = each.surface or play.ladder.surfaces[-1]
            play.happen("sign", stage=each.stage.code, surface=surface, director=True)
    for tap in reading.taps:
        play.happen("step", drill=tap.drill, support=tap.support, director=True)
    for place in asked_about(reading.state, play.ladder):
        play.happen("pain-gone", place=place)


def named_waits(reading: ChildReading) -> Iterator[str]:
    """What waits for a named person: a lift, a signature, a tap."""
    if reading.state.paused_since is not None:
        yield "lift"
    if reading.state.consent in ("no", "not-asked"):
        yield "consent-yes"
    yield from (f"sign {each.stage.code}" for each in reading.stages if each.state == FOR_REVIEW)
    yield from (f"tap {tap.drill}" for tap in reading.taps)


def at_start(number):
    return datetime.datetime.combine(day(number), datetime.time(), datetime.UTC)


def during_day(play: Play, number: int, until: datetime.datetime) -> ChildState:
    """The state during a day, with its events so far."""
    today = [event for event in play.events if event.day == day(number) and event.at <= until]
    return with_todays_events(play.state(number), today, play.ladder)


LAST = 60


days_of_turns = st.lists(
    st.tuples(st.integers(0, LAST), st.integers(1, 15), st.integers(0, 15)), max_size=12
).map(lambda days: [(day(number), n, min(k, n)) for number, n, k in days])
