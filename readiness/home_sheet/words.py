"""The sentences of a home sheet, in the language that is active. What a shape is called and how it
is done are the ladder's lines for families; the heading is that of a letter."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

# What a family can see of each shape (common practice, no source).
KEEPS: Mapping[str, Lazy] = {
    "hollow-hold": gettext_lazy("The low back stays on the floor."),
    "arch-hold": gettext_lazy("Legs together, and long rather than high."),
    "front-support": gettext_lazy("Arms straight; the hips do not sag."),
}


@dataclass(frozen=True)
class Words:
    """What stands around the shapes."""

    heading: str
    how: str
    stop: str
    only: str
    never: str


def words() -> Words:
    return Words(
        heading=_("What helps at home"),
        how=_("A few minutes on a mat or a carpet, short and neat."),
        stop=_("Stop when the shape goes, or if anything hurts."),
        only=_(
            "Only what is on this sheet, please, and nothing backward, not even with somebody "
            "helping."
        ),
        never=_("Never: no backward tumbling at home, on beds or trampolines."),
    )
