"""The ladder as the engine reads it: frozen, with every name resolved.

``Ladder.from_content`` builds it from the checked content of a ladder file.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from readiness.engine.clean_rate import Decay
from readiness.engine.evidence import LoggedAs
from readiness.engine.gates import CleanGate, CleanRule, Gate, gate_from
from readiness.engine.head_steps import LAST_STEP, HeadRule
from readiness.engine.levels import SUPPORT_BY_CODE, Support


@dataclass(frozen=True)
class Allowance:
    """One step of the support a drill is allowed, with what it waits for."""

    stage: str
    support: Support
    steady: Support | None = None
    after_days: int = 0
    # How many clean turns each of these days must have; 0: any turn will do.
    clean_each: int = 0
    tap: bool = False
    signed_surface: bool = False
    first_turn: Support | None = None

    @cached_property
    def code(self) -> str:
        return f"{self.stage}:{self.support.code}"

    @property
    def waits(self) -> bool:
        """True if the open stage alone does not give it."""
        return self.steady is not None or self.after_days > 0 or self.tap


@dataclass(frozen=True)
class Drill:
    key: str
    measure: str
    stage: str
    support_logged: bool
    needs: tuple[Gate, ...]
    allow: tuple[Allowance, ...]
    loads: frozenset[str]
    most: float
    # The skill itself, or the skill in a dance; the others only lead to it.
    skill: bool = False
    # How many times both hands take the weight with an impact: a turn, or of reps drills a rep.
    landing: int = 0
    # "backward", "upside-down".
    goes: frozenset[str] = frozenset()
    # The step after a head knock from which on it may be done again, 3 to 6.
    after_head: int = LAST_STEP
    # Taught with a spotter, on all days or on the first ones.
    spotted: bool = False
    # Each step of less support on the way back is a coach's tap, too.
    hands_leave_by_tap: bool = False
    # The drill that its turns were logged as before it was a drill of its own.
    formerly: str | None = None

    @property
    def taught_by_hand(self) -> bool:
        """True if its first turns are hands-on, so that the way back applies to it."""
        return bool(self.allow) and self.allow[0].support is Support.HANDS_ON


@dataclass(frozen=True)
class Stage:
    """A rung. A release (``part_of`` set) is one skill of a stage, or the dance of one, going to
    unspotted."""

    code: str
    number: int
    needs: tuple[str, ...]
    exception_for: tuple[str, ...]
    sign_off: bool
    skills: tuple[str, ...]
    gates: tuple[Gate, ...]
    part_of: str | None = None


@dataclass(frozen=True)
class Pain:
    place: str
    bars: frozenset[str]
    pause: bool

    def bars_drill(self, drill: Drill) -> bool:
        return "everything" in self.bars or bool(self.bars & drill.loads)


@dataclass(frozen=True)
class Fault:
    key: str
    stop: str
    mend: tuple[str, ...]
    # The strand where it comes from.
    root: str = ""
    # Seen at one skill, it asks for more support at the others.
    carries: bool = False
    # The child stopped before leaving the floor: no turn, and no stop sign.
    before_turn: bool = False
    # Nothing backward or upside down for the rest of the day.
    ends_backward: bool = False
    # It may have been a blow to the head: the tablet asks.
    asks_head: bool = False


@dataclass(frozen=True)
class WayBackRule:
    clean: int
    lately: float
    away_days: int
    away_review_days: int
    stops: int
    stops_within: int
    # So many falls at a drill in so many days: the director gives the last step. 0: no such rule.
    re_checks: int = 0
    re_checks_within: int = 0


@dataclass(frozen=True)
class GrowingRule:
    """How long a child counts as growing fast once it is told, and the drill graded anew."""

    weeks: int
    drill: str

    @property
    def time(self) -> datetime.timedelta:
        return datetime.timedelta(weeks=self.weeks)


@dataclass(frozen=True)
class LeadInRule:
    """From which age on, in whole years, and for how many years a child works toward a stage
    (common practice, no source)."""

    from_age: int = 7
    years: int = 3
    stage: str = "6"

    @property
    def until_age(self) -> int:
        return self.from_age + self.years


@dataclass(frozen=True)
class TapRule:
    """What a coach's tap asks of the record at the support being left.

    clean: the clean rule. turns: over the newest days that together hold so many turns, as far
    back as that rule looks, the clean share is at least its rate, and there is no stop sign.
    held_within: for so many days a coach who held the child may tap.
    """

    clean: CleanRule
    turns: int
    held_within: int


@dataclass(frozen=True)
class Ladder:
    surfaces: tuple[str, ...]
    drills: Mapping[str, Drill]
    stages: tuple[Stage, ...]
    faults: Mapping[str, Fault]
    pains: Mapping[str, Pain]
    # When a step of support inside a stage is steady.
    practice: CleanRule
    way_back: WayBackRule
    pain_again_days: int
    memory_days: float
    lately_days: float
    memory_time: float
    day_correlation: float
    # Where the roots of faults lie.
    strands: tuple[str, ...] = ()
    # What older ladders do not have.
    # So many first turns that were not clean keep their support for the class; 0: the support of a
    # day's first turn is that of one turn, whatever came of it.
    first_turn_misses: int = 0
    tap: TapRule | None = None
    # Clean turns on a surface after which it is no longer new; 0: none is.
    new_surface_clean: int = 0
    # A stop sign at a drill of which support is not logged ends it for the day.
    stop_sign_finishes: bool = False
    # A place that hurt stays out until somebody says that it is gone.
    pain_ask: bool = False
    growing: GrowingRule | None = None
    head: HeadRule = field(default_factory=HeadRule)
    lead_in: LeadInRule = field(default_factory=LeadInRule)
    # Since when each drill with ``formerly`` has been a drill of its own; without one: always.
    split_on: Mapping[str, datetime.date] = field(default_factory=dict)

    @cached_property
    def surface_rank(self) -> dict[str, int]:
        """Place of each surface, easiest first; one that is no longer listed ranks easiest."""
        return {key: rank for rank, key in enumerate(self.surfaces)}

    @cached_property
    def stage(self) -> dict[str, Stage]:
        return {stage.code: stage for stage in self.stages}

    @cached_property
    def stops(self) -> dict[str, str]:
        """How each fault counts as a stop sign: yes, no, second, unheld; before: it is no turn."""
        return {
            fault.key: "before" if fault.before_turn else fault.stop
            for fault in self.faults.values()
        }

    @cached_property
    def carrying(self) -> dict[str, int]:
        """How often each fault that carries must be seen on one day to do so."""
        carrying = [fault for fault in self.faults.values() if fault.carries]
        return {fault.key: 2 if fault.before_turn else 1 for fault in carrying}

    @cached_property
    def own_rules(self) -> dict[str, list[tuple[Stage, CleanGate]]]:
        """Of each skill: the stages it is the skill of, with their clean gates for it."""
        rules: dict[str, list[tuple[Stage, CleanGate]]] = {}
        for stage in self.stages:
            for gate in stage.gates:
                if isinstance(gate, CleanGate) and gate.drill in stage.skills:
                    rules.setdefault(gate.drill, []).append((stage, gate))
        return rules

    @cached_property
    def _logged_as(self) -> dict[str, tuple[LoggedAs, ...]]:
        spans: dict[str, tuple[LoggedAs, ...]] = {}
        for key, day in self.split_on.items():
            formerly = self.drills[key].formerly
            if formerly is not None:
                until = day - datetime.timedelta(days=1)
                spans[key] = LoggedAs(formerly, last=until), LoggedAs(key, first=day)
                spans[formerly] = (LoggedAs(formerly, first=day),)
        return spans

    def logged_as(self, drill: str) -> tuple[LoggedAs, ...]:
        """Under which drills, on which days, the turns stand that count for this one."""
        return self._logged_as.get(drill) or (LoggedAs(drill),)

    @cached_property
    def looked_back(self) -> dict[str, int]:
        """Of each drill under which turns stand that a gate counts: the most days that any of
        them looks back."""
        stages = [gate for stage in self.stages for gate in stage.gates]
        needs = [gate for drill in self.drills.values() for gate in drill.needs]
        days: dict[str, int] = {}
        for gate in [*stages, *needs]:
            for drill in {as_.drill for own in gate.drills for as_ in self.logged_as(own)}:
                days[drill] = max(gate.looks_back, days.get(drill, 0))
        return days

    @cached_property
    def decay(self) -> Decay:
        return Decay(self.memory_days, self.memory_time, self.day_correlation)

    @cached_property
    def short_decay(self) -> Decay:
        """For lately."""
        return Decay(self.lately_days, self.memory_time, self.day_correlation)

    def rank(self, surface: str | None) -> int:
        return 0 if surface is None else self.surface_rank.get(surface, 0)

    @classmethod
    def from_content(
        cls, content: Mapping[str, Any], split_on: Mapping[str, datetime.date] | None = None
    ) -> "Ladder":
        """Build from the content of a checked ladder file; KeyError for one that is not."""
        arithmetic, drills = content["arithmetic"], content["drill"]
        measures = {drill["key"]: drill["measure"] for drill in drills}
        return cls(
            surfaces=tuple(surface["key"] for surface in content["surface"]),
            drills={drill["key"]: _drill(drill, measures) for drill in drills},
            stages=tuple(s for stage in content["stage"] for s in _stages(stage, measures)),
            faults={fault["key"]: _fault(fault) for fault in content["fault"]},
            pains={pain["place"]: _pain(pain) for pain in content["pain"]},
            practice=CleanRule(**content["practice"]),
            way_back=WayBackRule(**content["way_back"]),
            pain_again_days=content["pain_rule"]["again_days"],
            memory_days=arithmetic["memory_days"],
            lately_days=arithmetic["lately_days"],
            memory_time=arithmetic["memory_time"],
            day_correlation=arithmetic["day_correlation"],
            strands=tuple(strand["key"] for strand in content["strand"]),
            first_turn_misses=content.get("first_turn", {}).get("misses", 0),
            tap=_tap(content["tap"]) if "tap" in content else None,
            new_surface_clean=content.get("new_surface", {}).get("clean", 0),
            stop_sign_finishes=content.get("stop_sign", {}).get("finishes", False),
            pain_ask=content["pain_rule"].get("ask", False),
            growing=GrowingRule(**content["growing"]) if "growing" in content else None,
            head=HeadRule(**content.get("head_knock", {})),
            lead_in=_lead_in(content["lead_in"]) if "lead_in" in content else LeadInRule(),
            split_on=split_on or {},
        )


def _lead_in(data: Mapping[str, Any]) -> LeadInRule:
    return LeadInRule(data["from_age"], data["years"], str(data["stage"]))


def _tap(data: Mapping[str, Any]) -> TapRule:
    rule = {name: data[name] for name in data if name not in ("turns", "held_within")}
    return TapRule(CleanRule(**rule), data["turns"], data["held_within"])


def _drill(data: Mapping[str, Any], measures: Mapping[str, str]) -> Drill:
    return Drill(
        key=data["key"],
        measure=data["measure"],
        stage=str(data["stage"]),
        support_logged=data["support_logged"],
        needs=tuple(
            gate_from({"code": f"{data['key']}.needs.{at}", **need}, measures[need["drill"]])
            for at, need in enumerate(data.get("needs", []), start=1)
        ),
        allow=tuple(_allowance(step, data["key"]) for step in data.get("allow", [])),
        loads=frozenset(data.get("loads", [])),
        most=data.get("most", 1),
        skill=data.get("skill", False),
        landing=data.get("landing", 0),
        goes=frozenset(data.get("goes", [])),
        after_head=data.get("after_head", LAST_STEP),
        hands_leave_by_tap=data.get("hands_leave") == "tap",
        formerly=data.get("formerly"),
        spotted=_is_spotted(data),
    )


def _is_spotted(data: Mapping[str, Any]) -> bool:
    by_hand = any(step["support"] == Support.HANDS_ON.code for step in data.get("allow", []))
    return by_hand or data.get("spotters", 0) > 0 or "first_days_spotters" in data


def _allowance(data: Mapping[str, Any], drill: str) -> Allowance:
    steady, first_turn = data.get("steady"), data.get("first_turn")
    stage = str(data["stage"])
    return Allowance(
        stage=f"{stage}/{drill}" if data.get("release") else stage,
        support=SUPPORT_BY_CODE[data["support"]],
        steady=SUPPORT_BY_CODE[steady] if steady else None,
        after_days=data.get("after_days", 0),
        clean_each=data.get("clean_each", 0),
        tap=data.get("tap", False),
        signed_surface=data.get("surface") == "signed",
        first_turn=SUPPORT_BY_CODE[first_turn] if first_turn else None,
    )


def _stages(data: Mapping[str, Any], measures: Mapping[str, str]) -> list[Stage]:
    number = data["number"]
    stage = Stage(
        code=str(number),
        number=number,
        needs=tuple(str(need) for need in data.get("needs", [])),
        exception_for=tuple(str(need) for need in data.get("exception_for", [])),
        sign_off=data["sign_off"],
        skills=tuple(data.get("skills", [])),
        gates=tuple(gate_from(gate, measures[gate["drill"]]) for gate in data.get("gate", [])),
    )
    releases = [
        Stage(
            code=release["code"],
            number=number,
            needs=(str(number),),
            exception_for=(),
            sign_off=True,
            skills=(release["drill"],),
            gates=tuple(gate_from(gate, measures[gate["drill"]]) for gate in release["gate"]),
            part_of=str(number),
        )
        for release in data.get("release", [])
    ]
    return [stage, *releases]


def _fault(data: Mapping[str, Any]) -> Fault:
    return Fault(
        data["key"],
        data["stop"],
        tuple(mend["drill"] for mend in data["mend"]),
        data["root"],
        carries=data.get("carries", False),
        before_turn=data.get("before_turn", False),
        ends_backward=data.get("ends_backward", False),
        asks_head=data.get("asks_head", False),
    )


def _pain(data: Mapping[str, Any]) -> Pain:
    return Pain(data["place"], frozenset(data.get("bars", [])), data.get("pause", False))
