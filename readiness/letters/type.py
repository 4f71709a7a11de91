"""The letters of type a text is printed in, and the one way from a text to markup."""

import html
import re
import threading
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FONTS = Path(__file__).resolve().parent / "fonts"

# In the order of choice: regular, bold, the size at which it looks as large as the first, and
# whether its accents are drawn back over the letter before (the first one's need a shaper).
_FILES = (
    ("AtkinsonHyperlegibleNext-Regular", "AtkinsonHyperlegibleNext-Bold", 1.0, False),
    ("DejaVuSans", "DejaVuSans-Bold", 0.92, True),
)
# Choosing between a drawn and a coloured picture means nothing on paper.
_LOOK_SELECTORS = dict.fromkeys(range(0xFE00, 0xFE10))
_registering = threading.Lock()


@dataclass(frozen=True)
class Face:
    """A typeface: the registered names of its two weights, its size beside the first
    typeface's, and the characters that both weights have."""

    regular: str
    bold: str
    size: float
    characters: frozenset[str]

    def has(self, text: str) -> bool:
        return self.characters.issuperset(text)


@cache
def faces() -> tuple[Face, ...]:
    """The typefaces, in the order of choice."""
    return tuple(
        Face(regular, bold, size, _characters(regular, accents) & _characters(bold, accents))
        for regular, bold, size, accents in _FILES
    )


def _characters(name: str, accents: bool) -> frozenset[str]:
    """The characters of a font that come out right, on paper and when copied from the file.

    The page is drawn letter by letter, so left out are: scripts written from right to left,
    whose letters join; marks other than the accents of European scripts; and what lies beyond
    U+FFFF, which could not be read back from the file.
    """
    characters = {chr(code) for code in _registered(name).face.charToGlyph if code <= 0xFFFF}
    return frozenset(
        character
        for character in characters
        if _stands_alone(character) or (accents and "\u0300" <= character <= "\u036f")
    )


def _stands_alone(character: str) -> bool:
    if unicodedata.category(character) in {"Cc", "Cf", "Cn", "Co", "Cs", "Mc", "Me", "Mn"}:
        return False
    return unicodedata.bidirectional(character) not in {"R", "AL", "AN"}


def _registered(name: str) -> TTFont:
    """Registered once: another font of the same name would mix up letters half drawn."""
    with _registering:
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(FONTS / f"{name}.ttf")))
        return pdfmetrics.getFont(name)


def as_printed(text: str) -> str:
    """The text as it is printed: NFC, one space between words, empty lines and characters
    that cannot be seen (control characters, marks of direction) left out."""
    lines = unicodedata.normalize("NFC", text).translate(_LOOK_SELECTORS).splitlines()
    tidied = (" ".join("".join(filter(_is_seen, line)).split()) for line in lines)
    return "\n".join(line for line in tidied if line)


def _is_seen(character: str) -> bool:
    return character.isspace() or unicodedata.category(character) not in {"Cc", "Cf"}


def on_one_line(text: str) -> str:
    """As printed, with line breaks turned to spaces: a name, an address."""
    return as_printed(text).replace("\n", " ")


def without_type(texts: Iterable[str]) -> list[str]:
    """The characters that no typeface has, each once, in the order met."""
    met = dict.fromkeys(character for text in texts for character in text)
    return [
        character
        for character in met
        if not character.isspace() and not any(face.has(character) for face in faces())
    ]


def markup(text: str, size: float, bold: bool = False, names: Sequence[str] = ()) -> str:
    """The text as a paragraph's markup. Everything on the page comes through here.

    The text itself is never read as markup. A word, or one of ``names``, is set in one
    typeface if one has all of it.
    """
    marked = []
    for face, run in _runs(text, names):
        words = html.escape(run, quote=False).replace("\n", "<br/>")
        if face is faces()[0]:
            marked.append(words)
        else:
            name = face.bold if bold else face.regular
            marked.append(f'<font name="{name}" size="{size * face.size:.2f}">{words}</font>')
    return "".join(marked)


def _runs(text: str, names: Sequence[str]) -> Iterator[tuple[Face, str]]:
    longest_first = sorted(filter(None, names), key=len, reverse=True)
    parts = "|".join([*map(re.escape, longest_first), r"\S+", r"\s+"])
    for part in re.findall(parts, text):
        face = _face_for(part)
        if face is not None:
            yield face, part
            continue
        # A mark stays in the typeface of the letter it stands on.
        for cluster in _clusters(part):
            yield _face_for(cluster) or faces()[-1], cluster


def _face_for(text: str) -> Face | None:
    letters = "".join(text.split())
    return next((face for face in faces() if face.has(letters)), None)


def _clusters(text: str) -> list[str]:
    clusters: list[str] = []
    for character in text:
        if clusters and unicodedata.combining(character):
            clusters[-1] += character
        else:
            clusters.append(character)
    return clusters
