"""What the names and numbers of a ladder mean to each other: one check a function.

Each check reads only tables whose own fields are right, so that one slip is reported once.
Shared: used by the gates' pages, through file.py.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

from django.utils.translation import gettext as _

from progression.ladder.field_types import GRADES, PICTURES, STAGES, SUPPORTS
from progression.ladder.fields import (
    ALLOW,
    DRILL,
    EQUIPMENT,
    FAULT,
    FIRST_DAYS,
    GATE,
    GROWING,
    LADDER,
    MEND,
    PAIN,
    POSE,
    PRACTICE,
    REGION,
    RELEASE,
    RUBRIC,
    STAGE,
    STRAND,
    WAY_BACK,
    Kind,
    LadderFault,
    Table,
    shape_faults,
    tables,
)

FITTING_MEASURES = {
    "clean": {"clean"},
    "reach": {"seconds", "reps", "grade"},
    "clear": {"clean"},
    "count": {"clean"},
    "seen-by-two": {"clean"},
    "first-turn": {"clean"},
}
REFERENCES = (
    (DRILL, "strand", STRAND),
    (DRILL, "stage", STAGE),
    (DRILL, "equipment", EQUIPMENT),
    (DRILL, "rubric", RUBRIC),
    (DRILL, "formerly", DRILL),
    (ALLOW, "stage", STAGE),
    (GATE, "drill", DRILL),
    (GATE, "or_drill", DRILL),
    (RELEASE, "drill", DRILL),
    (STAGE, "needs", STAGE),
    (STAGE, "exception_for", STAGE),
    (STAGE, "skills", DRILL),
    (FAULT, "root", STRAND),
    (FAULT, "belongs", DRILL),
    (MEND, "drill", DRILL),
    (GROWING, "drill", DRILL),
)
ORDER_FIELDS = ("number", "needs", "exception_for")
# Knowing nothing is already sure by 1 - rate; the certainty must be well above that, by 0.2.
LEAST_RATE_PLUS_CERTAINTY = 1.2


@dataclass(frozen=True)
class AskedGate:
    """A gate, a drill it asks for, and the stages open while a child works at meeting it."""

    table: Table
    drill: Table
    open_stages: set[int]

    @property
    def row(self) -> dict[str, Any]:
        return self.table.row


class Ladder:
    """A ladder as the checks read it."""

    def __init__(self, content: dict[str, Any]) -> None:
        self.tables = list(tables(content))
        self.shape_faults = [fault for table in self.tables for fault in shape_faults(table)]
        wrong = {fault.key for fault in self.shape_faults}
        self.sound = [table for table in self.tables if table.where not in wrong]

    def of(self, kind: Kind) -> list[Table]:
        return [table for table in self.sound if table.kind is kind]

    def inside(self, owner: Table, kind: Kind) -> list[Table]:
        """The tables of a kind within another; none if any of them has something wrong in it."""
        every = [table for table in self.tables if table.owner is owner and table.kind is kind]
        return every if all(table in self.sound for table in every) else []

    def names(self, kind: Kind) -> set[Any]:
        """Every name given, also by tables with something wrong in them: they are not unknown."""
        return {table.name for table in self.tables if table.kind is kind}

    @cached_property
    def drills(self) -> dict[str, Table]:
        return {table.name: table for table in self.of(DRILL)}

    @cached_property
    def stages(self) -> dict[int, Table]:
        """The stages whose place in the order can be read, whatever else is wrong in them."""
        return {
            table.name: table
            for table in self.tables
            if table.kind is STAGE and all(_holds(table, name) for name in ORDER_FIELDS)
        }

    @cached_property
    def has_cards(self) -> bool:
        """Whether drills have cards for staff and lines for families; older files have neither."""
        return any({"hands", "letter"} & table.row.keys() for table in self.tables)

    @cached_property
    def circling(self) -> list[Table]:
        """The stages that need themselves, by way of those they need."""
        return [
            stage
            for number, stage in self.stages.items()
            if any(number in self.open_with(need) for need in stage.row["needs"])
        ]

    @property
    def in_order(self) -> bool:
        """Whether the stages have an order at all: which come before which."""
        return self.stages.keys() == set(STAGES) and not self.circling

    def open_with(self, number: int, *, excepted: bool = False) -> set[int]:
        """The stages that are open once this one is: itself, stage 1 and all that it needs.

        Excepted: to a child let in by a director's exception, who may lack the stages excepted.
        """
        reached: set[int] = set()
        waiting = {number}
        while waiting:
            stage = waiting.pop()
            reached.add(stage)
            if stage in self.stages:
                row = self.stages[stage].row
                waiting |= set(row["needs"]) - set(row["exception_for"] if excepted else ())
            waiting -= reached
        return reached | {1}

    def asked_gates(self) -> Iterator[AskedGate]:
        """The gates that stand in a sound table and ask for a sound drill."""
        for table in self.of(GATE):
            for key in [table.row["drill"], *_listed(table.row.get("or_drill"))]:
                drill = self.drills.get(key)
                if drill is not None and self._stands_well(table):
                    yield AskedGate(table, drill, self._open_before(table))

    def _stands_well(self, table: Table) -> bool:
        """Whether all tables around it are sound, the ladder itself left aside."""
        owner = table.owner
        if owner is None or owner.kind is LADDER:
            return True
        return owner in self.sound and self._stands_well(owner)

    def _open_before(self, gate: Table) -> set[int]:
        owner = owner_of(gate)
        if owner.kind is DRILL:
            return self.open_with(owner.row["stage"])
        if owner.kind is RELEASE:
            return self.open_with(owner_of(owner).row["number"])
        return self.open_with(owner.row["number"]) - {owner.row["number"]}

    def allow_steps(self) -> Iterator[tuple[Table, list[Table]]]:
        """Each drill whose support is given step by step, with the steps."""
        for drill in self.drills.values():
            steps = self.inside(drill, ALLOW)
            if steps:
                yield drill, steps


def _holds(table: Table, name: str) -> bool:
    return name in table.row and table.kind.fields[name].accepts(table.row[name])


def owner_of(table: Table) -> Table:
    """The table around this one; every table but the ladder itself has one."""
    assert table.owner is not None
    return table.owner


def stage_of(table: Table) -> Table | None:
    """The stage that a table is part of, if any."""
    owner = table.owner
    return owner if owner is None or owner.kind is STAGE else stage_of(owner)


def amount(support: str) -> int:
    """How much a support is: 3 hands-on, 2 light touch, 1 standing by, 0 unspotted."""
    return len(SUPPORTS) - 1 - SUPPORTS.index(support)


def _fault(table: Table, message: str, **values: object) -> LadderFault:
    return LadderFault(table.where, message % values)


def _listed(value: Any) -> list[Any]:
    """The names in a field that holds one, a list of them, or none."""
    if value is None:
        return []
    return value if isinstance(value, list) else [value]


# Names


def names_are_given_once(ladder: Ladder) -> Iterator[LadderFault]:
    times = Counter(table.where for table in ladder.tables if table.name is not None)
    for where, count in times.items():
        if count > 1:
            yield LadderFault(where, _("This name is given more than once."))


def gates_and_releases_share_no_code(ladder: Ladder) -> Iterator[LadderFault]:
    codes = ladder.names(GATE)
    for release in ladder.of(RELEASE):
        if release.name in codes:
            yield _fault(release, _("A gate has this code too."))


def stage_keys_are_given_once(ladder: Ladder) -> Iterator[LadderFault]:
    times = Counter(stage.row["key"] for stage in ladder.of(STAGE))
    for stage in ladder.of(STAGE):
        if times[stage.row["key"]] > 1:
            yield _fault(stage, _("Another stage has the key “%(key)s” too."), key=stage.row["key"])


def names_are_known(ladder: Ladder) -> Iterator[LadderFault]:
    for kind, field, target in REFERENCES:
        known = ladder.names(target)
        for table in ladder.of(kind):
            for name in _listed(table.row.get(field)):
                if name not in known:
                    message = _("“%(field)s”: there is no %(kind)s “%(name)s”.")
                    yield _fault(table, message, field=field, kind=target.word, name=name)


def lists_name_each_once(ladder: Ladder) -> Iterator[LadderFault]:
    for kind, field, _target in REFERENCES:
        for table in ladder.of(kind):
            for name, count in Counter(_listed(table.row.get(field))).items():
                if count > 1:
                    message = _("“%(field)s” names “%(name)s” more than once.")
                    yield _fault(table, message, field=field, name=name)


# Stages


def stages_are_all_there(ladder: Ladder) -> Iterator[LadderFault]:
    for number in sorted(set(STAGES) - ladder.names(STAGE)):
        message = _("This stage is missing: a ladder has the stages 1 to %(last)s, each once.")
        yield LadderFault(f"stage {number}", message % {"last": STAGES[-1]})


def stage_one_is_open_to_all(ladder: Ladder) -> Iterator[LadderFault]:
    stage = ladder.stages.get(1)
    if stage and any(stage.row.get(name) for name in ("needs", "gate", "sign_off")):
        message = _("Stage 1 is open to everybody: it needs no stage, no gate and no sign-off.")
        yield _fault(stage, message)


def later_stages_need_an_earlier_one(ladder: Ladder) -> Iterator[LadderFault]:
    for number, stage in ladder.stages.items():
        if number != 1 and not stage.row["needs"]:
            yield _fault(stage, _("Only stage 1 may need no other stage."))


def stages_need_no_circle(ladder: Ladder) -> Iterator[LadderFault]:
    for stage in ladder.circling:
        yield _fault(stage, _("This stage needs itself, by way of the stages it needs."))


def exceptions_are_for_needed_stages(ladder: Ladder) -> Iterator[LadderFault]:
    for stage in ladder.of(STAGE):
        for number in set(stage.row["exception_for"]) - set(stage.row["needs"]):
            message = _("An exception is for stage %(number)s, which is not needed here.")
            yield _fault(stage, message, number=number)


def skills_are_marked(ladder: Ladder) -> Iterator[LadderFault]:
    for stage in ladder.of(STAGE):
        for drill in (ladder.drills.get(key) for key in stage.row["skills"]):
            if drill and not drill.row.get("skill"):
                yield _fault(stage, _("“%(drill)s” is not marked as a skill."), drill=drill.name)


def skills_are_open(ladder: Ladder) -> Iterator[LadderFault]:
    for stage in ladder.of(STAGE):
        for drill in (ladder.drills.get(key) for key in stage.row["skills"]):
            if drill and drill.row["stage"] not in ladder.open_with(stage.name):
                message = _("The skill “%(drill)s” is not open at this stage.")
                yield _fault(stage, message, drill=drill.name)


def releases_belong_to_signed_skills(ladder: Ladder) -> Iterator[LadderFault]:
    for release in ladder.of(RELEASE):
        stage = owner_of(release)
        if stage not in ladder.sound:
            continue
        if not stage.row["sign_off"]:
            yield _fault(release, _("A release needs a stage with a sign-off."))
        if not _is_skill_at(ladder, stage, release.row["drill"]):
            message = _("A release is for a skill of its own stage, or for one in a dance.")
            yield _fault(release, message)


def _is_skill_at(ladder: Ladder, stage: Table, key: str) -> bool:
    """One that the stage is about, or the dance of one, which opens with the stage."""
    if key in stage.row["skills"]:
        return True
    drill = ladder.drills.get(key)
    return drill is None or bool(drill.row.get("skill") and drill.row["stage"] == stage.name)


def release_codes_say_stage_and_drill(ladder: Ladder) -> Iterator[LadderFault]:
    for release in ladder.of(RELEASE):
        code = f"{owner_of(release).name}/{release.row['drill']}"
        if release.name != code:
            yield _fault(release, _("The code of this release must be “%(code)s”."), code=code)


# Drills


def drills_need_no_circle(ladder: Ladder) -> Iterator[LadderFault]:
    needed = {
        key: {gate.row["drill"] for gate in ladder.inside(drill, GATE)}
        for key, drill in ladder.drills.items()
    }
    for key, drill in ladder.drills.items():
        if key in _reached(needed, key):
            yield _fault(drill, _("This drill needs itself, by way of the drills it needs."))


def _reached(needed: dict[str, set[str]], start: str) -> set[str]:
    """All that the start needs, directly or not; the start itself only if it is in a circle."""
    reached: set[str] = set()
    waiting = set(needed[start])
    while waiting:
        key = waiting.pop()
        reached.add(key)
        waiting |= needed.get(key, set()) - reached
    return reached


def drills_need_turns_alone(ladder: Ladder) -> Iterator[LadderFault]:
    for gate in ladder.of(GATE):
        if owner_of(gate).kind is DRILL and gate.row["kind"] not in ("clean", "count"):
            yield _fault(gate, _("A drill may only need a gate of kind “clean” or “count”."))


def most_fits_the_measure(ladder: Ladder) -> Iterator[LadderFault]:
    rule = {"clean": 1, "grade": GRADES[-1]}
    for drill in ladder.of(DRILL):
        most = rule.get(drill.row["measure"], drill.row["most"])
        if drill.row["most"] != most:
            message = _("“most” must be %(most)s for a drill measured by %(measure)s.")
            yield _fault(drill, message, most=most, measure=drill.row["measure"])


def graded_drills_have_a_rubric(ladder: Ladder) -> Iterator[LadderFault]:
    for drill in ladder.of(DRILL):
        graded = drill.row["measure"] == "grade"
        if graded and "rubric" not in drill.row:
            yield _fault(drill, _("A drill measured by grade needs a rubric."))
        if not graded and "rubric" in drill.row:
            yield _fault(drill, _("Only a drill measured by grade has a rubric."))


def rubrics_draw_every_grade(ladder: Ladder) -> Iterator[LadderFault]:
    for rubric in ladder.of(RUBRIC):
        poses = ladder.inside(rubric, POSE)
        missing = sorted(set(GRADES) - {pose.row["grade"] for pose in poses})
        if poses and missing:
            message = _("No pose has the grade: %(grades)s.")
            yield _fault(rubric, message, grades=", ".join(map(str, missing)))


def poses_are_drawn_within_their_ranges(ladder: Ladder) -> Iterator[LadderFault]:
    for pose in ladder.of(POSE):
        for name, spans in pose.row.get("ranges", {}).items():
            drawn = pose.row["angles"].get(name)
            if drawn is None or not any(low <= drawn <= high for low, high in spans):
                message = _("The angle “%(angle)s” is not drawn within its own range.")
                yield _fault(pose, message, angle=name)


CONDITIONS = ("over", "under", "within")


def regions_have_a_picture(ladder: Ladder) -> Iterator[LadderFault]:
    for rubric in ladder.of(RUBRIC):
        if ("picture" in rubric.row) != ("regions" in rubric.row):
            yield _fault(rubric, _("“picture” and “regions” need each other."))


def regions_read_angles_of_the_picture(ladder: Ladder) -> Iterator[LadderFault]:
    message = _("A picture of this kind has no angle “%(angle)s”.")
    for rubric in ladder.of(RUBRIC):
        for region in ladder.inside(rubric, REGION) if "picture" in rubric.row else ():
            named = {name for each in CONDITIONS for name in region.row.get(each, {})}
            for name in sorted(named - PICTURES[rubric.row["picture"]]):
                yield _fault(region, message, angle=name)


def regions_leave_no_gap(ladder: Ladder) -> Iterator[LadderFault]:
    """The last holds for all the rest. One before it with no condition would hide those after."""
    for rubric in ladder.of(RUBRIC):
        regions = ladder.inside(rubric, REGION)
        for region in regions:
            if (region is regions[-1]) == any(each in region.row for each in CONDITIONS):
                message = _("The last region has no condition, and only the last.")
                yield _fault(region, message)


def regions_give_every_grade(ladder: Ladder) -> Iterator[LadderFault]:
    for rubric in ladder.of(RUBRIC):
        regions = ladder.inside(rubric, REGION)
        missing = sorted(set(GRADES) - {region.row["grade"] for region in regions})
        if regions and missing:
            message = _("No region has the grade: %(grades)s.")
            yield _fault(rubric, message, grades=", ".join(map(str, missing)))


def spotters_fit_the_adult(ladder: Ladder) -> Iterator[LadderFault]:
    for drill in ladder.of(DRILL):
        if (drill.row["adult"] == "hands") != (drill.row["spotters"] > 0):
            message = _("A drill has spotters if its adult is “hands”, and only then.")
            yield _fault(drill, message)


def first_days_have_more_spotters(ladder: Ladder) -> Iterator[LadderFault]:
    for drill in ladder.of(DRILL):
        for first_days in ladder.inside(drill, FIRST_DAYS):
            if first_days.row["spotters"] <= drill.row["spotters"]:
                yield _fault(drill, _("The first days must have more spotters than the others."))


def hands_are_described(ladder: Ladder) -> Iterator[LadderFault]:
    if not ladder.has_cards:
        return
    for top in ladder.of(LADDER):
        if "hands" not in top.row:
            yield _fault(top, _("“hands” must say what holds for the hands of every spotter."))
    for drill in ladder.of(DRILL):
        if _is_spotted(drill) and "hands" not in drill.row:
            message = _("“hands” must say where the spotter stands, holds and lets go.")
            yield _fault(drill, message)


def held_turns_are_spotted(ladder: Ladder) -> Iterator[LadderFault]:
    for drill in ladder.of(DRILL):
        if "held_seconds" in drill.row and not _is_spotted(drill):
            message = _("“held_seconds” is of turns with a spotter; this drill has none.")
            yield _fault(drill, message)


def _is_spotted(drill: Table) -> bool:
    return drill.row["spotters"] > 0 or "first_days_spotters" in drill.row


def families_are_given_a_line(ladder: Ladder) -> Iterator[LadderFault]:
    for table in [*ladder.of(DRILL), *ladder.of(STAGE)] if ladder.has_cards else ():
        if "letter" not in table.row:
            yield _fault(table, _("“letter” must say in one line what this is, for families."))


def _old_turns(ladder: Ladder) -> Iterator[tuple[Table, Table]]:
    """Each drill that takes over old turns, with the drill they were logged as."""
    for drill in ladder.of(DRILL):
        for key in _listed(drill.row.get("formerly")):
            if key in ladder.drills:
                yield drill, ladder.drills[key]


def old_turns_can_be_counted(ladder: Ladder) -> Iterator[LadderFault]:
    """Turns that are clean or not also decide support, which a drill has from its own turns."""
    for drill, other in _old_turns(ladder):
        if drill.row["measure"] == "clean":
            message = _(
                "Old turns count at a drill that is held, counted or graded, and only there."
            )
            yield _fault(drill, message)
        if other.row["measure"] != drill.row["measure"]:
            message = _("Old turns of “%(drill)s” are measured by %(measure)s.")
            yield _fault(drill, message, drill=other.name, measure=other.row["measure"])


def old_turns_are_counted_once(ladder: Ladder) -> Iterator[LadderFault]:
    times = Counter(other.name for _drill, other in _old_turns(ladder))
    for drill, other in _old_turns(ladder):
        if times[other.name] > 1 or "formerly" in other.row:
            message = _("Old turns of “%(drill)s” cannot be counted at two drills.")
            yield _fault(drill, message, drill=other.name)


# Support allowed, step by step


def support_is_allowed_where_it_is_logged(ladder: Ladder) -> Iterator[LadderFault]:
    for drill in ladder.of(DRILL):
        if drill.row["support_logged"] and "allow" not in drill.row:
            yield _fault(drill, _("Support is logged here, so “allow” must say how much."))
        if not drill.row["support_logged"] and "allow" in drill.row:
            yield _fault(drill, _("Support is not logged here, so there is nothing to allow."))


def first_step_opens_with_the_drill(ladder: Ladder) -> Iterator[LadderFault]:
    for drill, (first, *_later) in ladder.allow_steps():
        conditions = {"steady", "after_days", "tap", "release"} & first.row.keys()
        if first.row["stage"] != drill.row["stage"] or conditions:
            message = _("The first step must be at the drill's own stage, without a condition.")
            yield _fault(first, message)


def steps_fall(ladder: Ladder) -> Iterator[LadderFault]:
    for _drill, steps in ladder.allow_steps():
        for before, step in pairwise(steps):
            if amount(step.row["support"]) >= amount(before.row["support"]):
                yield _fault(step, _("Each step must ask for less support than the one before."))


def steps_follow_the_stages(ladder: Ladder) -> Iterator[LadderFault]:
    for _drill, steps in ladder.allow_steps():
        for before, step in pairwise(steps):
            if before.row["stage"] not in ladder.open_with(step.row["stage"]):
                message = _("The stage of the step before is not open at this step's stage.")
                yield _fault(step, message)


def steady_names_an_earlier_step(ladder: Ladder) -> Iterator[LadderFault]:
    for _drill, steps in ladder.allow_steps():
        given: set[str] = set()
        for step in steps:
            if step.row.get("steady") not in given | {None}:
                yield _fault(step, _("“steady” must be the support of an earlier step."))
            given.add(step.row["support"])


def first_turn_asks_for_more(ladder: Ladder) -> Iterator[LadderFault]:
    for step in ladder.of(ALLOW):
        first_turn = step.row.get("first_turn", SUPPORTS[0])
        if amount(first_turn) <= amount(step.row["support"]) and "first_turn" in step.row:
            yield _fault(step, _("The first turn of the day must ask for more support."))


def releases_match_the_steps(ladder: Ladder) -> Iterator[LadderFault]:
    for drill, steps in ladder.allow_steps():
        used = {step.row["stage"] for step in steps if step.row.get("release")}
        given = {
            owner_of(release).name
            for release in ladder.of(RELEASE)
            if release.row["drill"] == drill.name
        }
        for number in used - given:
            message = _("Stage %(number)s has no release for this drill.")
            yield _fault(drill, message, number=number)
        for number in given - used:
            message = _("Stage %(number)s has a release for this drill, but no step uses it.")
            yield _fault(drill, message, number=number)


def signed_surfaces_are_signed(ladder: Ladder) -> Iterator[LadderFault]:
    stages = [table for table in ladder.tables if table.kind is STAGE]
    signed = {stage.name for stage in stages if stage.row.get("sign_off")}
    message = _("No surface is signed for here: the stage has no sign-off.")
    for step in ladder.of(ALLOW):
        if "surface" in step.row and step.row["stage"] not in signed:
            yield _fault(step, message)
    for gate in ladder.asked_gates():
        stage = stage_of(gate.table)
        if "surface" in gate.row and (stage is None or stage.name not in signed):
            yield _fault(gate.table, message)


# Gates


def gate_kinds_fit_the_measure(ladder: Ladder) -> Iterator[LadderFault]:
    for gate in ladder.asked_gates():
        measure = gate.drill.row["measure"]
        if measure not in FITTING_MEASURES[gate.row["kind"]]:
            message = _("A gate of kind “%(kind)s” cannot read a drill measured by %(measure)s.")
            yield _fault(gate.table, message, kind=gate.row["kind"], measure=measure)


def either_drill_is_another_of_the_same_measure(ladder: Ladder) -> Iterator[LadderFault]:
    for table in ladder.of(GATE):
        drill = ladder.drills.get(table.row["drill"])
        other = ladder.drills.get(table.row.get("or_drill", ""))
        if drill and other and (drill is other or drill.row["measure"] != other.row["measure"]):
            message = _("“or_drill” must be another drill, measured like “%(drill)s”.")
            yield _fault(table, message, drill=drill.name)


def gates_can_be_reached(ladder: Ladder) -> Iterator[LadderFault]:
    for gate in ladder.asked_gates():
        row = gate.drill.row
        most = min(row["most"], row.get("per_set", row["most"]))
        if gate.row.get("at_least", 0) > most:
            message = _("This asks for more than the drill can give: %(most)s at most.")
            yield _fault(gate.table, message, most=most)


def gates_open_in_time(ladder: Ladder) -> Iterator[LadderFault]:
    for gate in ladder.asked_gates():
        if gate.drill.row["stage"] not in gate.open_stages:
            message = _("The drill “%(drill)s” opens too late for this: only at stage %(stage)s.")
            yield _fault(gate.table, message, drill=gate.drill.name, stage=gate.drill.row["stage"])


def gate_supports_are_allowed(ladder: Ladder) -> Iterator[LadderFault]:
    for gate in ladder.asked_gates():
        steps = ladder.inside(gate.drill, ALLOW)
        least = min((amount(s.row["support"]) for s in steps if _in_time(s, gate)), default=None)
        if "support" in gate.row and least is not None and amount(gate.row["support"]) < least:
            message = _("This asks for less support than is allowed by then.")
            yield _fault(gate.table, message)


def _in_time(step: Table, gate: AskedGate) -> bool:
    """A release may never be given, so no gate may count on one."""
    return step.row["stage"] in gate.open_stages and not step.row.get("release")


def gate_supports_are_logged(ladder: Ladder) -> Iterator[LadderFault]:
    for gate in ladder.asked_gates():
        if "support" in gate.row and not gate.drill.row["support_logged"]:
            message = _("Support is not logged at the drill “%(drill)s”.")
            yield _fault(gate.table, message, drill=gate.drill.name)


def _clean_rules(ladder: Ladder) -> list[Table]:
    """Every table that says when a record of clean turns is enough."""
    gates = [gate for gate in ladder.of(GATE) if gate.row["kind"] == "clean"]
    return [*gates, *ladder.of(PRACTICE)]


def certainty_makes_up_for_a_low_rate(ladder: Ladder) -> Iterator[LadderFault]:
    for rule in _clean_rules(ladder):
        if round(rule.row["rate"] + rule.row["certainty"], 9) < LEAST_RATE_PLUS_CERTAINTY:
            message = _("Rate and certainty together must be at least %(least)s.")
            yield _fault(rule, message, least=LEAST_RATE_PLUS_CERTAINTY)


def clean_turns_fill_the_days(ladder: Ladder) -> Iterator[LadderFault]:
    for rule in _clean_rules(ladder):
        if rule.row["clean"] < rule.row["days"]:
            message = _("So many days need at least as many clean turns.")
            yield _fault(rule, message)


def days_fit_the_time(ladder: Ladder) -> Iterator[LadderFault]:
    """The last N days are N + 1 dates: today and those up to N days old."""
    for gate in [*ladder.of(GATE), *ladder.of(PRACTICE)]:
        if "within" in gate.row and gate.row.get("days", 0) > gate.row["within"] + 1:
            yield _fault(gate, _("So many days do not fit in the time given."))


# Pain, the way back


def pain_bars_or_pauses(ladder: Ladder) -> Iterator[LadderFault]:
    for pain in ladder.of(PAIN):
        if bool(pain.row["bars"]) == pain.row["pause"]:
            message = _("A sore place either bars something or pauses the child.")
            yield _fault(pain, message)


def review_comes_after_away(ladder: Ladder) -> Iterator[LadderFault]:
    for way_back in ladder.of(WAY_BACK):
        if way_back.row["away_review_days"] < way_back.row["away_days"]:
            message = _("“away_review_days” must not be less than “away_days”.")
            yield _fault(way_back, message)


Check = Callable[[Ladder], Iterator[LadderFault]]
CHECKS: tuple[Check, ...] = (
    names_are_given_once,
    gates_and_releases_share_no_code,
    stage_keys_are_given_once,
    names_are_known,
    lists_name_each_once,
    stages_are_all_there,
    stage_one_is_open_to_all,
    later_stages_need_an_earlier_one,
    stages_need_no_circle,
    exceptions_are_for_needed_stages,
    skills_are_marked,
    releases_belong_to_signed_skills,
    release_codes_say_stage_and_drill,
    drills_need_no_circle,
    drills_need_turns_alone,
    most_fits_the_measure,
    graded_drills_have_a_rubric,
    rubrics_draw_every_grade,
    poses_are_drawn_within_their_ranges,
    regions_have_a_picture,
    regions_read_angles_of_the_picture,
    regions_leave_no_gap,
    regions_give_every_grade,
    spotters_fit_the_adult,
    first_days_have_more_spotters,
    hands_are_described,
    held_turns_are_spotted,
    families_are_given_a_line,
    old_turns_can_be_counted,
    old_turns_are_counted_once,
    support_is_allowed_where_it_is_logged,
    first_step_opens_with_the_drill,
    steps_fall,
    steady_names_an_earlier_step,
    first_turn_asks_for_more,
    releases_match_the_steps,
    signed_surfaces_are_signed,
    gate_kinds_fit_the_measure,
    either_drill_is_another_of_the_same_measure,
    gates_can_be_reached,
    gate_supports_are_logged,
    certainty_makes_up_for_a_low_rate,
    clean_turns_fill_the_days,
    days_fit_the_time,
    pain_bars_or_pauses,
    review_comes_after_away,
)
# Looked at only in a ladder whose stages are in order: else one slip would be reported many times.
ORDER_CHECKS: tuple[Check, ...] = (
    skills_are_open,
    steps_follow_the_stages,
    gates_open_in_time,
    gate_supports_are_allowed,
)


def meaning_faults(ladder: Ladder) -> list[LadderFault]:
    checks = CHECKS + ORDER_CHECKS if ladder.in_order else CHECKS
    return [fault for check in checks for fault in check(ladder)]
