"""The causes of a class, in sentences."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.engine.causes.of_group import GroupCauses, SharedMiss
from readiness.engine.causes.roots import Times
from readiness.record.ladders import NamedLadder
from readiness.words.causes import faults_text, root_inside


def line_text(ladder: NamedLadder, shared: SharedMiss) -> str:
    """What half of the line missed from, on one evening."""
    return _("%(drill)s: %(missed)s of %(children)s missed from %(root)s: %(faults)s.") % {
        "drill": ladder.drills[shared.drill]["name"],
        "missed": shared.missed,
        "children": shared.children,
        "root": root_inside(ladder, shared.root),
        "faults": faults_text(ladder, shared.faults),
    }


def roots_text(ladder: NamedLadder, roots: Times) -> str:
    """How many had each root, the most first."""
    return " · ".join(
        _("%(root)s %(n)s") % {"root": ladder.strand_names[root], "n": times}
        for root, times in roots
    )


def first_causes_text(ladder: NamedLadder, read: GroupCauses) -> str:
    """Of how many children which root is the first cause, and of how many it cannot be told."""
    named = [
        ngettext("%(root)s of %(n)s child", "%(root)s of %(n)s children", children)
        % {"root": root_inside(ladder, root), "n": children}
        for root, children in read.firsts
    ]
    if read.untold:
        untold = ngettext(
            "of %(n)s child it cannot be told", "of %(n)s children it cannot be told", read.untold
        )
        named.append(untold % {"n": read.untold})
    return "; ".join(named)


def handspring_text(faults: int, usual: int) -> str:
    """Of the faults marked at the handspring, how many point to the sit, or arms and shoulders."""
    if not faults:
        return _("In this record no fault was marked at the handspring in twelve weeks.")
    return ngettext(
        "In this record, over twelve weeks: of %(faults)s fault marked at the handspring "
        "%(usual)s points there.",
        "In this record, over twelve weeks: of %(faults)s faults marked at the handspring "
        "%(usual)s point there.",
        faults,
    ) % {"faults": faults, "usual": usual}
