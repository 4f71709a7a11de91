"""One logged turn: what came of it, its flags, how it was struck, the angles that were read off a
picture of it. Shared: used by the child page, the floor and review."""

import math
from collections.abc import Mapping, Sequence

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.words.names import Data, Names
from readiness.words.numbers import measured
from studio.templatetags.marks import SUPPORT_WORDS

FLAGS: dict[str, Lazy] = {
    "less-support": gettext_lazy("less support than allowed"),
    "paused": gettext_lazy("done while paused"),
    "closed": gettext_lazy("done while not open"),
    "pain": gettext_lazy("done although something hurt"),
    "after-head": gettext_lazy("done too soon after a head knock"),
    "spotter-gone": gettext_lazy("held or stood by, after the spotter was said to be gone"),
    "finished": gettext_lazy("done although it was finished for that evening"),
    "no-consent": gettext_lazy("done without a guardian's yes to hands"),
    "no-hands": gettext_lazy("done although the child said no to hands"),
    "clock": gettext_lazy("the tablet's clock was off"),
    "said-to-be-by": gettext_lazy("only said to be by this coach: it counts as nobody's grade"),
    "late": gettext_lazy("came in long after its day"),
    "after-its-day": gettext_lazy("tapped on a later day than its class"),
}

# Why less support was given than the tablet showed.
WHY_LESS_SUPPORT: dict[str, Lazy] = {
    "judged-right": gettext_lazy("I saw it and judged it right"),
    "made-easier": gettext_lazy("The set-up was made easier"),
    "no-spotter": gettext_lazy("It went without a spotter; it should have waited"),
    "went-alone": gettext_lazy("Went before I was there"),
}

STRIKES: dict[str, Lazy] = {
    "wrong-child": gettext_lazy("wrong child"),
    "wrong-tap": gettext_lazy("wrong tap"),
    "log-undone": gettext_lazy("the paper log was undone"),
    "other": gettext_lazy("another reason"),
}


def turn_text(names: Names, drill: str, support: int) -> str:
    """A turn at a drill, with the support it was done at."""
    values = {"drill": names.drill(drill), "support": SUPPORT_WORDS[support]}
    if not names.ladder.drills.get(drill, {}).get("support_logged"):
        return names.drill(drill)
    return _("%(drill)s, %(support)s") % values


def outcome_text(
    names: Names, drill: str, clean: bool | None, value: float | None, caught: bool
) -> str:
    """What came of one turn."""
    if value is not None:
        measure = names.ladder.drills.get(drill, {}).get("measure", "reps")
        return measured(value, measure)
    if caught:
        return _("caught")
    return _("clean") if clean else _("not clean")


def flag_text(code: str) -> str:
    return str(FLAGS.get(code, code))


def strike_text(by: str, code: str) -> str:
    why = str(STRIKES.get(code, STRIKES["other"]))
    return _("struck by %(by)s: %(why)s") % {"by": by, "why": why}


def mending_text(names: Names, mend: Data) -> str:
    """A drill that mends a fault, with its note."""
    values = {"drill": names.drill(mend["drill"]), "note": mend.get("note", "")}
    return _("%(drill)s (%(note)s)") % values if values["note"] else values["drill"]


# The angles of a picture from the side.
ANGLES: dict[str, Lazy] = {
    "shin_lean": gettext_lazy("shin"),
    "knee": gettext_lazy("knee"),
    "trunk_lean": gettext_lazy("trunk"),
    "hip_behind_heel": gettext_lazy("hips behind the heels"),
    "heel_lift": gettext_lazy("heel off the floor"),
    "arm_lean": gettext_lazy("arms"),
    "elbow": gettext_lazy("elbow"),
    "leg_lean": gettext_lazy("legs"),
}
# In lengths of the shin; the others are degrees.
_IN_SHINS = ("hip_behind_heel",)


def angles_text(
    suggests: int, chances: Sequence[float], angles: Mapping[str, Sequence[float]]
) -> str:
    """What was suggested, how sure, and on which angles, in one sentence."""
    read = ", ".join(_one(name, *angles[name]) for name in ANGLES if name in angles)
    said = {"grade": suggests, "n": tenths(chances[suggests]), "angles": read}
    return _("From the side: grade %(grade)s, sure %(n)s in 10 (%(angles)s)") % said


def tenths(chance: float) -> int:
    """Of ten, rounded down. Never all: the draws know of taps and of the camera's turn alone."""
    return min(9, math.floor(chance * 10))


def _one(name: str, value: float, error: float) -> str:
    what = {"what": ANGLES[name]}
    if name in _IN_SHINS:
        numbers = {"value": f"{value:.1f}", "error": f"{error:.1f}"}
        return _("%(what)s %(value)s ± %(error)s shins") % (what | numbers)
    numbers = {"value": f"{value:.0f}", "error": f"{math.ceil(error):.0f}"}
    return _("%(what)s %(value)s° ± %(error)s") % (what | numbers)
