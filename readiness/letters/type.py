"""From what was typed to what is printed, and what cannot be printed."""

import re
import unicodedata
from collections.abc import Iterable

from readiness.typesetting.faces import faces

# Choosing between a drawn and a coloured picture means nothing on paper.
_LOOK_SELECTORS = dict.fromkeys(range(0xFE00, 0xFE10))
# Two that cannot be seen and yet change the letters beside them, in Arabic and Indic scripts.
_JOINERS = "\u200c\u200d"
_JOINER_AT_WORK = re.compile(f"(?<=[\u0600-\u07ff\u0900-\u0dff])[{_JOINERS}]")


def as_printed(text: str) -> str:
    """The text as it is printed: NFC, one space between words, empty lines and characters
    that cannot be seen (control characters, marks of direction) left out."""
    text = unicodedata.normalize("NFC", text).translate(_LOOK_SELECTORS)
    if not text.isprintable():
        text = _seen(text)
    tidied = (" ".join(line.split()) for line in text.splitlines())
    return "\n".join(line for line in tidied if line)


def _seen(text: str) -> str:
    at_work = {match.start() for match in _JOINER_AT_WORK.finditer(text)}
    return "".join(
        character for at, character in enumerate(text) if at in at_work or _is_seen(character)
    )


def _is_seen(character: str) -> bool:
    return character.isspace() or unicodedata.category(character) not in {"Cc", "Cf"}


def on_one_line(text: str) -> str:
    """As printed, with line breaks turned to spaces: a name, an address."""
    return as_printed(text).replace("\n", " ")


def without_type(texts: Iterable[str]) -> list[str]:
    """The characters that no typeface has, each once, in the order met."""
    met = "".join(texts)
    lacking = {
        character
        for character in set(met)
        if not character.isspace() and not any(face.has(character) for face in faces())
    }
    return (
        [character for character in dict.fromkeys(met) if character in lacking] if lacking else []
    )
