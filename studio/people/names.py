"""Names of people as they are written, and as they are compared. Pure Python.

Shared: used by both imports, consents, likely doubles, tablets and the demo.
"""

import re
import unicodedata

# Marks that have no width and no meaning in a name but come along with a paste: zero-width
# space, word joiner, byte order mark, and the marks and overrides of writing direction.
# The joiners of Persian and Indic scripts (U+200C, U+200D) are part of the spelling and stay.
_STRAY = re.compile("[\u200b\u2060\ufeff\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_APOSTROPHES = dict.fromkeys(map(ord, "’ʼ‘`´＇"), "'")
_HYPHENS = dict.fromkeys(map(ord, "‐‑–−"), "-")
# Letters of their own right that no decomposition takes apart; ß is casefold's.
_LETTERS = str.maketrans(
    {"đ": "d", "ð": "d", "ø": "o", "ł": "l", "ħ": "h", "ŧ": "t", "ŋ": "n", "ı": "i"}
    | {"æ": "ae", "œ": "oe", "þ": "th", "\u200c": "", "\u200d": "", "'": "", "-": " "}
)


def clean_name(text: str) -> str:
    """The name as it is stored: NFC, one space between words, no stray marks."""
    return " ".join(unicodedata.normalize("NFC", _STRAY.sub("", text)).split())


def fold_name(text: str) -> str:
    """The name as it is compared: letter case, spaces and the kind of apostrophe or hyphen
    do not matter; accents do. At most 120 characters."""
    name = clean_name(text).translate(_APOSTROPHES | _HYPHENS)
    return unicodedata.normalize("NFC", name.casefold())[:120]


def fold(text: str) -> str:
    """The name as it is looked for and put in order: accents do not matter either, đ is a d, ø an
    o, æ an ae, a hyphen is a space and an apostrophe nothing."""
    name = clean_name(text).translate(_APOSTROPHES | _HYPHENS)
    plain = unicodedata.normalize("NFKD", name).casefold()
    letters = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return " ".join(letters.translate(_LETTERS).split())


def guardian_key(text: str) -> str:
    """What a guardian is told by: accents, letter case and the order of the names do not matter,
    a name that is missing or abbreviated does."""
    return " ".join(sorted(fold(text.replace(",", " ")).split()))


def in_speaking_order(text: str) -> str:
    """“Family, Given” turned to “Given Family”; any other name as it is."""
    family, comma, given = (part.strip() for part in text.partition(","))
    if not comma or not family or not given or "," in given:
        return text
    return f"{given} {family}"
