"""No ladder lets the hands leave a skill without a signature on a record that two have seen."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from progression.ladder.checks import Check, Ladder, amount, owner_of
from progression.ladder.fields import ALLOW, GATE, RELEASE, LadderFault, Table

STANDING_BY, LIGHT_TOUCH = 1, 2


def held_drills(ladder: Ladder) -> Iterator[Table]:
    """The drills that hands are asked for at, and all skills: the dance of one is the skill too."""
    for drill in ladder.drills.values():
        steps = ladder.inside(drill, ALLOW)
        by_hand = any(amount(step.row["support"]) >= LIGHT_TOUCH for step in steps)
        if drill.row["adult"] == "hands" or drill.row.get("skill") or by_hand:
            yield drill


def hands_leave_step_by_step(ladder: Ladder) -> Iterator[LadderFault]:
    """Where support is not logged every turn is unspotted from the first one on."""
    for drill in held_drills(ladder):
        if not drill.row["support_logged"]:
            message = _("Support must be logged here: without it the first turn is unspotted.")
            yield LadderFault(drill.where, message)


def unspotted_is_signed(ladder: Ladder) -> Iterator[LadderFault]:
    for _drill, step in _unspotted_steps(ladder):
        stage = ladder.stages.get(step.row["stage"])
        if stage is not None and not stage.row.get("sign_off"):
            message = _("This is unspotted, so stage %(stage)s must have a sign-off.")
            yield LadderFault(step.where, message % {"stage": stage.name})
        if "surface" not in step.row:
            message = _(
                "This is unspotted, so it must be for the surface signed for: surface = “signed”."
            )
            yield LadderFault(step.where, message)


def unspotted_is_seen_by_two(ladder: Ladder) -> Iterator[LadderFault]:
    """The gates of the stage, or of the release, that is signed for."""
    for drill, step in _unspotted_steps(ladder):
        gates = _gates_signed_for(ladder, drill, step)
        if gates is None:
            continue
        kinds = {gate.row["kind"] for gate in gates if _asks_enough(gate)}
        missing = {
            "clean": _("a graded clean gate at standing by or less, on the signed surface"),
            "seen-by-two": _("a gate seen by two at standing by or less, on the signed surface"),
            "clear": _("a clear gate"),
        }
        for kind, wish in missing.items():
            if kind not in kinds:
                message = _("This is unspotted, so %(place)s must ask for this drill: %(wish)s.")
                values = {"place": _place(step), "wish": wish}
                yield LadderFault(step.where, message % values)


def _unspotted_steps(ladder: Ladder) -> Iterator[tuple[Table, Table]]:
    for drill in held_drills(ladder):
        for step in ladder.inside(drill, ALLOW):
            if amount(step.row["support"]) == 0:
                yield drill, step


def _gates_signed_for(ladder: Ladder, drill: Table, step: Table) -> list[Table] | None:
    """None where the stage or a gate in it has a fault of its own, which is said already."""
    stage = ladder.stages.get(step.row["stage"])
    if stage is None:
        return None
    owner = stage
    if step.row.get("release"):
        releases = [each for each in ladder.of(RELEASE) if owner_of(each) is stage]
        found = [each for each in releases if each.row["drill"] == drill.name]
        if not found:
            return None
        owner = found[0]
    every = [each for each in ladder.tables if each.owner is owner and each.kind is GATE]
    gates = ladder.inside(owner, GATE)
    return None if len(gates) < len(every) else [g for g in gates if g.row["drill"] == drill.name]


def _asks_enough(gate: Table) -> bool:
    if gate.row["kind"] == "clear":
        return True
    if "surface" not in gate.row or "support" not in gate.row:
        return False
    little = amount(gate.row["support"]) <= STANDING_BY
    return little and (gate.row["kind"] == "seen-by-two" or bool(gate.row.get("graded")))


def _place(step: Table) -> str:
    if step.row.get("release"):
        return _("the release of stage %(stage)s") % {"stage": step.row["stage"]}
    return _("stage %(stage)s") % {"stage": step.row["stage"]}


CHECKS: tuple[Check, ...] = (
    hands_leave_step_by_step,
    unspotted_is_signed,
    unspotted_is_seen_by_two,
)


def unspotted_faults(ladder: Ladder) -> list[LadderFault]:
    return [fault for check in CHECKS for fault in check(ladder)]
