"""What people have decided, and the buttons for it. Shared: used by the child page and review."""

import datetime

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.engine.replay.next_step import Tap
from readiness.words.names import Data, Names
from studio.templatetags.marks import SUPPORT_WORDS

DECIDED: dict[str, Lazy] = {
    "recommend": gettext_lazy("Recommended: %(stage)s, on %(surface)s"),
    "sign": gettext_lazy("Signed: %(stage)s, on %(surface)s and easier"),
    "send-back": gettext_lazy("Sent back: %(stage)s"),
    "close": gettext_lazy("Closed: %(stage)s"),
    "stays": gettext_lazy("Not on a harder surface yet: %(stage)s"),
    "exception": gettext_lazy("Exception written: %(stage)s"),
    "step": gettext_lazy("%(drill)s: %(support)s given"),
}

# What was there first, when somebody comes second.
WAS_DECIDED: dict[str, Lazy] = {
    "recommend": gettext_lazy("recommended"),
    "sign": gettext_lazy("signed"),
    "send-back": gettext_lazy("sent back"),
    "close": gettext_lazy("closed"),
    "stays": gettext_lazy("not on a harder surface yet"),
    "exception": gettext_lazy("exception written"),
    "step": gettext_lazy("less support given"),
    "placing": gettext_lazy("placed"),
    "pauselift": gettext_lazy("pause lifted"),
    "show-easy": gettext_lazy("the easy version"),
    "show-beside": gettext_lazy("somebody beside"),
    "show-recommend": gettext_lazy("recommended"),
    "show-yes": gettext_lazy("signed"),
    "show-first-turn": gettext_lazy("the first turn there"),
    "show-own-yes": gettext_lazy("the child’s own yes"),
}


def decision_text(names: Names, decision: Data) -> str:
    """A decision in the child's history."""
    return str(DECIDED[decision["kind"]]) % {
        "stage": names.stage(decision["stage"]),
        "surface": names.surface(decision["surface"]) if decision["surface"] else "–",
        "drill": names.drill(decision["drill"]) if decision["drill"] else "",
        "support": SUPPORT_WORDS[decision["support"] or 0],
    }


CLOSED_NOW = gettext_lazy(
    "It is closed from now on. It can be recommended again after a new class day with turns."
)
# From when on a decision of today counts.
FROM_WHEN: dict[str, Lazy] = {
    "sign": gettext_lazy("It counts from tomorrow, %(tomorrow)s."),
    "send-back": CLOSED_NOW,
    "close": CLOSED_NOW,
    "stays": gettext_lazy("It stays open as it was signed."),
    "exception": gettext_lazy("It counts from tomorrow, %(tomorrow)s."),
    "step": gettext_lazy("It counts from tomorrow, %(tomorrow)s."),
    "step-stays": gettext_lazy("It stays given."),
    "step-paused": gettext_lazy("As long as the pause lasts it changes nothing."),
    "step-lost": gettext_lazy("Turns since then have gone against it: it does not count."),
    "placing": gettext_lazy("Open from tomorrow, %(tomorrow)s, hands-on at first."),
    "pause": gettext_lazy("It counts from now on, until a director lifts it."),
}


def from_when(names: Names, kind: str) -> str:
    """From when on something counts that was decided today; empty for a recommendation, which
    waits for somebody else, and for a lift, which the pause itself tells of."""
    tomorrow = names.day + datetime.timedelta(days=1)
    return str(FROM_WHEN.get(kind, "")) % {"tomorrow": names.date(tomorrow)}


def placing_text(names: Names, stage: str, surface: str) -> str:
    values = {"stage": names.stage(stage), "surface": names.surface(surface)}
    return _("Placed at %(stage)s, on %(surface)s") % values


def review_line(names: Names, kind: str, by: str, day: datetime.date | None) -> str:
    """What a stage for review waits for; ``kind``: the last decision, empty if none."""
    values = {"by": by, "day": names.date(day) if day else ""}
    if kind == "recommend":
        return _("Recommended by %(by)s on %(day)s") % values
    if kind == "sign" and day == names.day:
        return _("Signed by %(by)s today: it opens tomorrow") % values
    return _("Waits for a recommendation")


def not_yet_line(names: Names, by: str, day: datetime.date, reason: str) -> str:
    """What a director said last of a stage that was not signed."""
    values = {"by": by, "day": names.date(day), "reason": reason}
    return _("Not yet, said %(by)s on %(day)s: “%(reason)s”") % values


def step_stays_label(names: Names, tap: Tap) -> str:
    """The words on the button that says yes to a step that was given without a tap."""
    values = {"drill": names.drill(tap.drill), "support": SUPPORT_WORDS[tap.support]}
    return _("%(drill)s: %(support)s stays") % values


def who_gives(tap: Tap) -> str:
    """Whose yes a step waits for, for those whose it is not."""
    if tap.director:
        return _("A director gives it.")
    return _("A coach gives it who has lately held this child.")


def give_support_label(names: Names, tap: Tap) -> str:
    """The words on the button that gives less support."""
    values = {"drill": names.drill(tap.drill), "support": SUPPORT_WORDS[tap.support]}
    if tap.again:
        return _("%(drill)s: %(support)s again") % values
    return _("%(drill)s: give %(support)s") % values
