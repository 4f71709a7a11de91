"""All that stands beside a letter's sentences."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from readiness.letters.beside.growth import Grown, grown
from readiness.letters.beside.ladder_map import Stop, ladder_map
from readiness.letters.beside.slip import Slip, slip
from readiness.letters.facts import ChildFacts

# Each has a figure in readiness/letters/drawing/figures.py and one for the home sheet's page, and
# words in readiness/home_sheet/words.py.
AT_HOME = ("hollow-hold", "arch-hold", "front-support")


@dataclass(frozen=True)
class Shape:
    """A shape for home: the drill's key, and what it is called."""

    key: str
    name: str


@dataclass(frozen=True)
class Beside:
    """``called``: the child's name, large; own_drawing: over the box that the child draws in."""

    called: str = ""
    stops: tuple[Stop, ...] = ()
    map_shows: str = ""
    own_drawing: str = ""
    has_grown: str = ""
    grown: tuple[Grown, ...] = ()
    shapes: tuple[Shape, ...] = ()
    director: str = ""
    slip: Slip | None = None

    def of_the_map(self) -> Iterator[str]:
        for stop in self.stops:
            yield stop.name
            yield stop.word
        yield self.own_drawing

    def of_growth(self) -> Iterator[str]:
        """Each sentence, and the words beside its two beams if it is drawn."""
        if self.grown:
            yield self.has_grown
        for each in self.grown:
            yield from (each.said, each.month, each.now_said)

    def names_of_shapes(self) -> Iterator[str]:
        yield from (shape.name for shape in self.shapes)


def beside(child: ChildFacts, full_name: str, review: bool, by_director: bool) -> Beside:
    """by_director: a director signs the letter, and not a second time."""
    at_home = () if child.paused_since or child.hurt_lately() else AT_HOME
    return Beside(
        called=child.name,
        stops=ladder_map(child, review),
        map_shows=_("Our ladder as a map"),
        own_drawing=_("Drawn by %(child)s: the shape I like best") % {"child": child.name},
        has_grown=_("What has grown"),
        grown=grown(child),
        shapes=tuple(
            Shape(key, child.drill_name(key)) for key in at_home if key in child.now.ladder.drills
        ),
        director="" if by_director else _("Director"),
        slip=slip(child, full_name),
    )
