"""Papers, measures and colours of a letter, in points. The colours are those of the pages
(static/css/tokens.css)."""

from dataclasses import dataclass

from django.conf import settings

MM = 72 / 25.4

INK = "#1a2330"
SOFT = "#505b69"
ACT = "#0b566b"
WAIT = "#7d5200"
HEED = "#86204a"
TRACK = "#d9d3c5"
EDGE = "#857d6b"
BAND = "#f5f2ea"

SIDE = 16 * MM
# Above and below; printers leave out about 5 mm.
EDGE_ABOVE = 8 * MM


@dataclass(frozen=True)
class Paper:
    """A sheet: ISO 216 A4, or ANSI A, which is called US Letter."""

    width: float
    height: float

    @property
    def wide(self) -> float:
        """Between the margins at the sides."""
        return self.width - 2 * SIDE

    @property
    def high(self) -> float:
        return self.height - 2 * EDGE_ABOVE

    @property
    def top(self) -> float:
        return self.height - EDGE_ABOVE


PAPERS = {"a4": Paper(210 * MM, 297 * MM), "letter": Paper(8.5 * 72, 11 * 72)}


def paper() -> Paper:
    """The one that the studio prints on."""
    return PAPERS[settings.LADDER_PAPER]
