"""The ladder as the engine reads it: frozen, with every name resolved.

``Ladder.from_content`` builds it from the checked content of a ladder file.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import Any


class Support(IntEnum):
    """How much hands help; more is more support."""

    UNSPOTTED = 0
    STANDING_BY = 1
    LIGHT_TOUCH = 2
    HANDS_ON = 3

    @property
    def code(self) -> str:
        return self.name.lower().replace("_", "-")


SUPPORT_BY_CODE = {support.code: support for support in Support}


@dataclass(frozen=True)
class CleanRule:
    """When a record of clean and not clean turns is enough.

    rate: the true clean rate asked for (0 to 1). certainty: how sure the record must be.
    days, clean: different days with clean turns, and clean turns, within ``within`` days.
    fresh: the newest clean turn is at most so many days old.
    """

    rate: float
    certainty: float
    days: int
    clean: int
    within: int = 84
    fresh: int = 28


@dataclass(frozen=True)
class Gate:
    """One requirement, met or not on the record of one drill."""

    code: str
    kind: str
    drill: str


@dataclass(frozen=True)
class CleanGate(Gate):
    """Steady: sure enough that turns at ``support`` or less are clean often enough."""

    rule: CleanRule
    support: Support
    graded: bool
    signed_surface: bool


@dataclass(frozen=True)
class ReachGate(Gate):
    """A value reached on ``days`` different days within ``within`` days."""

    at_least: float
    days: int
    within: int
    graded: bool


@dataclass(frozen=True)
class ClearGate(Gate):
    """``clean`` clean turns on later days and ``days`` days since the last stop sign."""

    clean: int
    days: int


@dataclass(frozen=True)
class CountGate(Gate):
    """``clean`` clean turns within ``within`` days, on any days."""

    clean: int
    within: int


@dataclass(frozen=True)
class SeenByTwoGate(Gate):
    """Two graders saw clean turns at ``support`` or less within ``within`` days."""

    support: Support
    within: int
    signed_surface: bool


@dataclass(frozen=True)
class FirstTurnGate(Gate):
    """The first turn of the latest day was clean and graded, at ``support`` or less."""

    support: Support
    within: int
    signed_surface: bool


@dataclass(frozen=True)
class Allowance:
    """One step of the support a drill is allowed, with what it waits for."""

    stage: str
    support: Support
    steady: Support | None = None
    after_days: int = 0
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

    @property
    def taught_by_hand(self) -> bool:
        """True if its first turns are hands-on, so that the way back applies to it."""
        return bool(self.allow) and self.allow[0].support is Support.HANDS_ON


@dataclass(frozen=True)
class Stage:
    """A rung. A release (``part_of`` set) is one skill of a stage going to unspotted."""

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


@dataclass(frozen=True)
class Fault:
    key: str
    stop: str
    mend: tuple[str, ...]


@dataclass(frozen=True)
class WayBackRule:
    clean: int
    lately: float
    away_days: int
    away_review_days: int
    stops: int
    stops_within: int


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

    @cached_property
    def surface_rank(self) -> dict[str, int]:
        """Place of each surface, easiest first; one that is no longer listed ranks easiest."""
        return {key: rank for rank, key in enumerate(self.surfaces)}

    @cached_property
    def stage(self) -> dict[str, Stage]:
        return {stage.code: stage for stage in self.stages}

    @cached_property
    def stops(self) -> dict[str, str]:
        """How each fault counts as a stop sign: yes, no, second, unheld."""
        return {fault.key: fault.stop for fault in self.faults.values()}

    @cached_property
    def own_rules(self) -> dict[str, list[tuple[Stage, CleanGate]]]:
        """Of each skill: the stages it is the skill of, with their clean gates for it."""
        rules: dict[str, list[tuple[Stage, CleanGate]]] = {}
        for stage in self.stages:
            for gate in stage.gates:
                if isinstance(gate, CleanGate) and gate.drill in stage.skills:
                    rules.setdefault(gate.drill, []).append((stage, gate))
        return rules

    def rank(self, surface: str) -> int:
        return self.surface_rank.get(surface, 0)

    @classmethod
    def from_content(cls, content: Mapping[str, Any]) -> "Ladder":
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
        )


def _drill(data: Mapping[str, Any], measures: Mapping[str, str]) -> Drill:
    return Drill(
        key=data["key"],
        measure=data["measure"],
        stage=str(data["stage"]),
        support_logged=data["support_logged"],
        needs=tuple(
            _gate({"code": f"{data['key']}.needs.{at}", **need}, measures)
            for at, need in enumerate(data.get("needs", []), start=1)
        ),
        allow=tuple(_allowance(step, data["key"]) for step in data.get("allow", [])),
        loads=frozenset(data.get("loads", [])),
        most=data.get("most", 1),
        skill=data.get("skill", False),
        landing=data.get("landing", 0),
    )


def _allowance(data: Mapping[str, Any], drill: str) -> Allowance:
    steady, first_turn = data.get("steady"), data.get("first_turn")
    stage = str(data["stage"])
    return Allowance(
        stage=f"{stage}/{drill}" if data.get("release") else stage,
        support=SUPPORT_BY_CODE[data["support"]],
        steady=SUPPORT_BY_CODE[steady] if steady else None,
        after_days=data.get("after_days", 0),
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
        gates=tuple(_gate(gate, measures) for gate in data.get("gate", [])),
    )
    releases = [
        Stage(
            code=release["code"],
            number=number,
            needs=(str(number),),
            exception_for=(),
            sign_off=True,
            skills=(release["drill"],),
            gates=tuple(_gate(gate, measures) for gate in release["gate"]),
            part_of=str(number),
        )
        for release in data.get("release", [])
    ]
    return [stage, *releases]


def _fault(data: Mapping[str, Any]) -> Fault:
    return Fault(data["key"], data["stop"], tuple(mend["drill"] for mend in data["mend"]))


def _pain(data: Mapping[str, Any]) -> Pain:
    return Pain(data["place"], frozenset(data.get("bars", [])), data.get("pause", False))


def _gate(data: Mapping[str, Any], measures: Mapping[str, str]) -> Gate:
    name = {"code": data["code"], "kind": data["kind"], "drill": data["drill"]}
    support = SUPPORT_BY_CODE[data.get("support", "hands-on")]
    signed = data.get("surface") == "signed"
    match data["kind"]:
        case "clean":
            rule = CleanRule(
                data["rate"],
                data["certainty"],
                data["days"],
                data["clean"],
                data.get("within", 84),
                data.get("fresh", 28),
            )
            graded = data.get("graded", False)
            return CleanGate(
                **name, rule=rule, support=support, graded=graded, signed_surface=signed
            )
        case "reach":
            return ReachGate(
                **name,
                at_least=data["at_least"],
                days=data.get("days", 2),
                within=data.get("within", 90),
                graded=measures[data["drill"]] == "grade",
            )
        case "clear":
            return ClearGate(**name, clean=data["clean"], days=data["days"])
        case "count":
            return CountGate(**name, clean=data["clean"], within=data.get("within", 365))
        case "seen-by-two":
            within = data.get("within", 84)
            return SeenByTwoGate(**name, support=support, within=within, signed_surface=signed)
        case "first-turn":
            within = data.get("within", 28)
            return FirstTurnGate(**name, support=support, within=within, signed_surface=signed)
        case other:
            raise KeyError(f"unknown kind of gate: {other}")
