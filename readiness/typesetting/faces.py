"""The typefaces that there are, in the order of choice."""

import unicodedata
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import uharfbuzz as hb
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

FONTS = Path(__file__).resolve().parent / "fonts"

# The size at which each looks as large as the first.
_SHIPPED = (
    ("AtkinsonHyperlegibleNext", 1.0),
    ("NotoSans", 0.92),
    ("NotoSansHebrew", 0.92),
    ("NotoSansArabic", 1.0),
    ("NotoSansThai", 0.92),
)
_SIZE_OF_OTHERS = 0.92
_FILES = {".ttf", ".otf", ".ttc", ".otc"}
# The table of outlines that are no TrueType ones: CFF, the Compact Font Format.
COMPACT = "CFF "
# A shaper needs these two even where a face has no letter for them.
JOINERS = "\u200c\u200d"


@dataclass(frozen=True)
class Weight:
    """One file of a typeface. Its shaper counts in thousandths of the size of the type."""

    name: str
    face: hb.Face
    font: hb.Font

    def width(self, glyph: int) -> int:
        """Of a glyph by its number, as a file reads it from the face."""
        return int(self.font.get_glyph_h_advance(glyph))


@dataclass(frozen=True)
class Face:
    """A typeface: its weights, its size beside the first one's, the characters both have."""

    regular: Weight
    bold: Weight
    size: float
    characters: frozenset[str]

    def weight(self, bold: bool) -> Weight:
        return self.bold if bold else self.regular

    def has(self, text: str) -> bool:
        return self.characters.issuperset(text)


def faces() -> tuple[Face, ...]:
    """The shipped ones, then those of the folder LADDER_FACES."""
    return _faces_with(settings.LADDER_FACES)


@cache
def _faces_with(folder: str) -> tuple[Face, ...]:
    shipped = [_face(FONTS / f"{name}-Regular.ttf", size) for name, size in _SHIPPED]
    if folder and not Path(folder).is_dir():
        raise ImproperlyConfigured(f"LADDER_FACES: there is no folder {folder}.")
    found = sorted(Path(folder).glob("*-Regular.*")) if folder else []
    others = [path for path in found if path.suffix in _FILES]
    return (*shipped, *(_face(path, _SIZE_OF_OTHERS) for path in others))


def _face(path: Path, size: float) -> Face:
    """A typeface of a regular file and, beside it, a bold one; without that it is never bold."""
    bold_path = path.with_name(path.name.replace("-Regular.", "-Bold."))
    regular = _weight(path)
    bold = _weight(bold_path) if bold_path.exists() else regular
    characters = _characters(regular) & _characters(bold)
    return Face(regular, bold, size, frozenset(characters.union(JOINERS)))


def _weight(path: Path) -> Weight:
    """Of a collection the first: others differ in their forms of Han, which LADDER_HAN chooses."""
    face = hb.Face(hb.Blob.from_file_path(str(path)))
    if {"glyf", COMPACT}.isdisjoint(face.table_tags):
        raise ImproperlyConfigured(f"{path} has neither TrueType nor CFF outlines.")
    if "fvar" in face.table_tags:
        raise ImproperlyConfigured(f"{path} has many weights in one file: take one for each.")
    font = hb.Font(face)
    font.scale = (1000, 1000)
    return Weight(path.stem, face, font)


def _characters(weight: Weight) -> set[str]:
    """What can be seen of a font, and the signs that choose between its forms of an ideograph;
    spaces and control characters are no letters."""
    characters = map(chr, {*weight.face.unicodes, *weight.face.variation_selectors})
    return {each for each in characters if unicodedata.category(each) not in _UNSEEN}


_UNSEEN = {"Cc", "Cf", "Cn", "Co", "Cs"}


def face_for(text: str) -> Face | None:
    """The first typeface that has all of a text."""
    letters = "".join(text.split())
    return next((face for face in faces() if face.has(letters)), None)
