"""From a fault to its root and to the drills that mend it: this map of a ladder is whole.

That every name in it is known and stands once in its list, is held in checks.py.
"""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _

from progression.ladder.checks import Check, Ladder
from progression.ladder.fields import FAULT, MEND, STOP_SIGN, STRAND, LadderFault, Table


def strands_have_a_fault(ladder: Ladder) -> Iterator[LadderFault]:
    """Read off all faults, also those with something wrong in them."""
    roots = [table.row.get("root") for table in ladder.tables if table.kind is FAULT]
    for strand in ladder.of(STRAND):
        if strand.name not in roots:
            yield LadderFault(strand.where, _("No fault has its root here."))


def mending_drills_are_named_once(ladder: Ladder) -> Iterator[LadderFault]:
    for fault in ladder.of(FAULT):
        mends = ladder.inside(fault, MEND)
        for key, count in Counter(mend.row["drill"] for mend in mends).items():
            if count > 1:
                message = _("“%(drill)s” stands more than once among what mends it.")
                yield LadderFault(fault.where, message % {"drill": key})


def something_can_be_mended(ladder: Ladder) -> Iterator[LadderFault]:
    """At every drill but one of answers, whose faults are the wrong ones."""
    faults = [table for table in ladder.tables if table.kind is FAULT]
    if not ladder.has_cards or not all(fault in ladder.sound for fault in faults):
        return
    seen = {key for fault in faults if fault.row["stop"] != "yes" for key in fault.row["belongs"]}
    for key, drill in ladder.drills.items():
        if key not in seen and "answers" not in drill.row:
            message = _("No fault can be seen here but those that stop at once.")
            yield LadderFault(drill.where, message)


def faults_have_an_open_mending_drill(ladder: Ladder) -> Iterator[LadderFault]:
    """Looked at only in a ladder whose stages are in order."""
    if not ladder.in_order:
        return
    for fault in ladder.of(FAULT):
        mends = [mend.row["drill"] for mend in ladder.inside(fault, MEND)]
        for key in fault.row["belongs"]:
            drill = ladder.drills.get(key)
            if drill and mends and not any(_surely_open(ladder, mend, drill) for mend in mends):
                message = _(
                    "No mending drill is surely open to a child who shows it at “%(drill)s”."
                )
                yield LadderFault(fault.where, message % {"drill": key})


def stop_signs_leave_a_mending_drill(ladder: Ladder) -> Iterator[LadderFault]:
    """A stop sign may end its own drill for the evening, and some end all that goes backward."""
    if not ladder.in_order:
        return
    for fault in ladder.of(FAULT):
        mends = [mend.row["drill"] for mend in ladder.inside(fault, MEND)]
        for key in fault.row["belongs"] if fault.row["stop"] != "no" else ():
            drill = ladder.drills.get(key)
            if drill is None or not any(_surely_open(ladder, mend, drill) for mend in mends):
                continue
            left = [mend for mend in mends if not _is_over(ladder, mend, fault, drill)]
            if not any(_surely_open(ladder, mend, drill) for mend in left):
                message = _(
                    "After this stop sign at “%(drill)s” no mending drill is surely left to do "
                    "the same evening."
                )
                yield LadderFault(fault.where, message % {"drill": key})


def _is_over(ladder: Ladder, key: str, fault: Table, seen_at: Table) -> bool:
    """Where support is logged, the drill itself may go on with more of it."""
    if key == seen_at.name and not seen_at.row["support_logged"]:
        return any(rule.row["finishes"] for rule in ladder.of(STOP_SIGN))
    drill = ladder.drills.get(key)
    return drill is not None and bool(fault.row.get("ends_backward") and drill.row.get("goes"))


def _surely_open(ladder: Ladder, key: str, seen_at: Table) -> bool:
    """Open to every child to whom the other drill is open; one that needs more may not be."""
    if key == seen_at.name or key not in ladder.drills:
        return True
    drill = ladder.drills[key]
    open_stages = ladder.open_with(seen_at.row["stage"], excepted=True)
    met = _conditions(seen_at)
    return drill.row["stage"] in open_stages and all(need in met for need in _conditions(drill))


def _conditions(drill: Table) -> list[dict[str, Any]]:
    """What a drill needs, without the codes it is known by."""
    needs = drill.row.get("needs", [])
    return [{name: need[name] for name in need if name != "code"} for need in needs]


CHECKS: tuple[Check, ...] = (
    strands_have_a_fault,
    mending_drills_are_named_once,
    something_can_be_mended,
    faults_have_an_open_mending_drill,
    stop_signs_leave_a_mending_drill,
)


def mending_faults(ladder: Ladder) -> list[LadderFault]:
    return [fault for check in CHECKS for fault in check(ladder)]
