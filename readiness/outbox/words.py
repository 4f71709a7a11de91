"""Why a line of a tablet is set aside, in words; the codes are those of the log."""

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.words.names import Data, Names
from readiness.words.turns import outcome_text, turn_text
from studio.templatetags.marks import SUPPORT_WORDS

UNREADABLE = gettext_lazy("it has a form that cannot be read")

REASONS: dict[str, Lazy] = {
    "unknown-drill": gettext_lazy("the ladder has no such drill"),
    "unknown-surface": gettext_lazy("the ladder has no such surface"),
    "unknown-fault": gettext_lazy("the ladder has no such fault at this drill"),
    "unknown-reason": gettext_lazy("there is no such reason"),
    "unknown-place": gettext_lazy("the ladder has no such place that hurts"),
    "may-not-grade": gettext_lazy("whoever tapped it may log turns, but not grade them"),
    "may-not-close": gettext_lazy("a coach says when a class is over"),
    "may-not-begin": gettext_lazy("a coach begins a rotation"),
    "unknown-author": gettext_lazy("whoever tapped it has no account here"),
    "not-in-class": gettext_lazy("the child is not in this class"),
    "not-yours": gettext_lazy("it takes back a turn of somebody else: a coach can do that"),
    "not-proven": gettext_lazy(
        "it takes back a turn, and nothing proves who tapped it: a coach can do that in class"
    ),
    "too-late": gettext_lazy("the class was over when it was to be taken back"),
    "pause-stays": gettext_lazy("it takes back a pause, which a director lifts"),
    "other-content": gettext_lazy("the server holds it with other content; it keeps both"),
    "clean-with-stop-sign": gettext_lazy("a turn with a stop sign is not clean"),
    "bad-value": gettext_lazy("the number is out of range"),
    "other-server": gettext_lazy("its class belongs to another server, or to this one's old key"),
    "no-access": gettext_lazy("whoever tapped it had lost the class when it came"),
    "bad-angles": gettext_lazy("the angles that came with it cannot be read"),
    "bad-time": gettext_lazy("its time cannot be read"),
}

# What a line that is no turn says of a child.
KINDS: dict[str, Lazy] = {
    "here": gettext_lazy("%(child)s: here"),
    "hurt": gettext_lazy("%(child)s: something hurts (%(place)s)"),
    "gone": gettext_lazy("%(child)s: hurts no longer (%(place)s)"),
    "growing": gettext_lazy("%(child)s grows fast"),
    "told": gettext_lazy("%(child)s: the family was told"),
    "fell": gettext_lazy("%(child)s fell"),
    "no-hands": gettext_lazy("%(child)s wants no hands tonight"),
    "hall": gettext_lazy("something of the hall: the spotter or a mat"),
    "rotation": gettext_lazy("a rotation of the stations began"),
    "strike": gettext_lazy("a turn taken back"),
}


def line_text(names: Names, line: Data) -> str:
    """What a refused line says, whatever stands in it."""
    kind, place = str(line.get("kind")), names.place(str(line.get("place", "")))
    if kind == "turn":
        return _("%(child)s: %(what)s") % {"child": names.child, "what": _turn(names, line)}
    if kind == "here" and line.get("present") is False:
        return _("%(child)s: not here") % {"child": names.child}
    if kind in KINDS:
        return KINDS[kind] % {"child": names.child, "place": place}
    return _("an entry that cannot be read")


def _turn(names: Names, line: Data) -> str:
    drill, support, value = str(line.get("drill")), line.get("support"), line.get("value")
    shown = turn_text(names, drill, support if support in SUPPORT_WORDS else 0)
    number = float(value) if isinstance(value, int | float) else None
    came = outcome_text(names, drill, line.get("clean") is True, number, bool(line.get("caught")))
    return _("%(turn)s, %(outcome)s") % {"turn": shown, "outcome": came}


def why_not_resolved(code: str) -> str:
    """``code``: of NotResolved."""
    if code == "resolved":
        return _("Somebody has resolved it already.")
    reason = REASONS.get(code, UNREADABLE)
    return _("It cannot be logged like this: %(reason)s. Nothing was changed.") % {"reason": reason}
