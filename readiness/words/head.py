"""The way back after a head knock. Shared: used by its page, the child page, the floor and review.

No sentence here says that a child is well: it says what was told, and what waits."""

from collections.abc import Mapping

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.engine.head_steps import LAST_STEP, HeadRule, NextStep, WaitCode
from readiness.words.names import Names

STEPS: Mapping[int, Lazy] = {
    1: gettext_lazy("everyday things and school"),
    2: gettext_lazy("light exercise away from the mats, such as walking"),
    3: gettext_lazy("on the feet, and shapes on the floor; nothing rolls, nothing head-down"),
    4: gettext_lazy("rolls, the bridge, the wall handstand"),
    5: gettext_lazy("what leads up to a skill, hands-on"),
    6: gettext_lazy("the skills of the open stages, from hands-on again"),
}
WAITS: Mapping[WaitCode, Lazy] = {
    "symptom": gettext_lazy("not on the day of a knock or of a symptom"),
    "24-hours": gettext_lazy("each step lasts at least 24 hours"),
    "clear-days": gettext_lazy("%(clear)s days without symptoms come first"),
    "clearance": gettext_lazy("a clearance from a day after the last symptom"),
    "full-return": gettext_lazy("not before day %(full)s after the knock"),
    "word": gettext_lazy("the family’s word since the step before"),
}


def head_step_now(step: int) -> str:
    """Which step may be done, for lists and for the floor."""
    values = {"step": step, "last": LAST_STEP}
    if step == 0:
        return _("After a head knock: no step given yet. Nothing on the mats.")
    if step < 3:
        return _("After a head knock: step %(step)s of %(last)s. Nothing on the mats.") % values
    what = {"what": STEPS[step]}
    return _("After a head knock: step %(step)s of %(last)s, %(what)s.") % (values | what)


def next_step_text(names: Names, following: NextStep) -> str:
    """What the next step lets the child do, and its earliest day."""
    values = {"step": following.step, "what": STEPS[following.step]}
    values |= {"day": names.date(following.earliest)}
    return _("Next is step %(step)s: %(what)s. Earliest day: %(day)s.") % values


def not_yet_text(names: Names, following: NextStep) -> str:
    """Beside the button of a step that waits: its earliest day, or that it is no matter of days."""
    if any(wait.until for wait in following.waits):
        return _("Not before %(day)s.") % {"day": names.date(following.earliest)}
    return _("Not before what it waits for is here.")


def waits_text(following: NextStep, rule: HeadRule) -> list[str]:
    """What the next step waits for; empty for nothing but the family's word and a director."""
    values = {"clear": rule.clear_days, "full": rule.full_return_day}
    return [str(WAITS[wait.code]) % values for wait in following.waits]
