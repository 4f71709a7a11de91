"""Amounts of support, and why a child gets more. Shared: used by the child page and the floor."""

from collections.abc import Iterable

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy

from readiness.engine.levels import SUPPORT_BY_CODE
from readiness.words.names import Names
from studio.templatetags.marks import SUPPORT_WORDS

SUPPORT_REASONS: dict[str, Lazy] = {
    "paused": gettext_lazy("%(child)s is paused: no tumbling until a director lifts it."),
    "closed": gettext_lazy("Not open for %(child)s yet."),
    "pain": gettext_lazy("Something hurts: %(child)s rests from this today."),
    "after-head": gettext_lazy(
        "%(child)s is on the way back after a head knock: not this yet. A director gives each step."
    ),
    "head-knock": gettext_lazy("After a head knock: hands-on first, then less, a step a class."),
    "no-consent": gettext_lazy(
        "No yes to hands on file: %(child)s does no skill that needs a spotter. Shapes, holds and "
        "wall work stay."
    ),
    "no-hands": gettext_lazy(
        "%(child)s said no to hands tonight: no skill that needs a spotter. Nobody asks why."
    ),
    "no-spotter": gettext_lazy(
        "The spotter is gone: nothing that needs one until the spotter is back."
    ),
    "consent-again": gettext_lazy(
        "The family said yes again: hands-on first, then less, a step a class."
    ),
    "stop-sign": gettext_lazy(
        "After a stop sign: more support until it is steady again, a step a class."
    ),
    "finished-tonight": gettext_lazy(
        "A stop sign: finished with this for tonight. Now the drills that mend it."
    ),
    "away": gettext_lazy(
        "After a long time away: more support until it is steady again, a step a class."
    ),
    "lately": gettext_lazy(
        "Too few clean turns lately: more support until it is steady again, a step a class."
    ),
    "evidence-changed": gettext_lazy(
        "The evidence behind the signature has changed: more support until it is steady again, "
        "a step a class."
    ),
    "older-day": gettext_lazy(
        "This class is over, and what was allowed then says nothing of today: hands-on."
    ),
    "placed": gettext_lazy("Newly placed: hands-on first, then less, a step a class."),
    "first-turn": gettext_lazy("The first turn of each day, for everybody; then unspotted."),
    "until-clean": gettext_lazy(
        "Somebody stands by until the first clean turn of the evening, and all evening after too "
        "many that were not: for everybody."
    ),
    "new-surface": gettext_lazy(
        "This floor is new for %(child)s at this: one step more until some turns on it are clean."
    ),
    "growing": gettext_lazy("%(child)s is growing fast: one step more on the day's first turn."),
    "doubt": gettext_lazy("Doubt at another skill: one step more here."),
    "stopped-before": gettext_lazy(
        "%(child)s stopped twice before a turn, which is right: one step more this evening."
    ),
    "nothing-backward": gettext_lazy(
        "After what was seen today nothing backward or upside down this evening, held or not."
    ),
}


def support_word(code: str) -> str:
    return str(SUPPORT_WORDS[SUPPORT_BY_CODE[code]])


def support_reasons(names: Names, causes: Iterable[str]) -> list[str]:
    """Why a child gets more support than the open stages alone would ask."""
    return [str(SUPPORT_REASONS[cause]) % {"child": names.child} for cause in causes]
