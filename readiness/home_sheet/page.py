"""What a child's home sheet shows."""

from dataclasses import dataclass

from readiness.engine.support import barred
from readiness.record.standings import Reading
from studio.models import Child
from studio.people.language import ENGLISH, language_name, letter_language
from studio.people.told_apart import full_name, who

# Each has a figure in templates/readiness/home_sheet/figures.
AT_HOME = ("hollow-hold", "arch-hold", "front-support")


@dataclass(frozen=True)
class Shape:
    """``says``: the ladder's line for families; ``cue``: one, the first of the drill's."""

    name: str
    says: str
    cue: str
    figure: str


def home_context(reading: Reading) -> dict[str, object]:
    """None of the shapes while the child is paused, or on the way back after a head knock; without
    those that load what hurts."""
    state, child = reading.read.state, reading.child
    head_way = state.head is not None and not state.head.is_over
    rests = state.paused_since is not None or head_way
    shapes = [] if rests else [_shape(reading, key) for key in AT_HOME if _may(reading, key)]
    return {
        "child": child,
        "who": who(child, reading.read.day),
        "full_name": full_name(child),
        "day": reading.read.day,
        "rests": rests,
        "shapes": shapes,
        "family_reads": family_reads(child),
        "left_out": not rests and len(shapes) < len(AT_HOME),
    }


def family_reads(child: Child) -> str:
    """The name of the family's language, where it is another one than the sheet's; else ""."""
    wish = child.letter_language
    return language_name(wish) if wish and letter_language(wish) != ENGLISH else ""


def _may(reading: Reading, key: str) -> bool:
    ladder = reading.ladder.engine
    drill = ladder.drills.get(key)
    return drill is not None and not barred(drill, reading.read.state, ladder, reading.read.day)


def _shape(reading: Reading, key: str) -> Shape:
    drill = reading.ladder.drills[key]
    name, _colon, says = drill.get("letter", drill["name"]).partition(": ")
    figure = f"readiness/home_sheet/figures/{key}.html"
    return Shape(name, says, drill["cues"][0], figure)
