"""What one field of a ladder may hold: numbers in a range, keys, texts, lists and tables.

Which table has which fields is in fields.py.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

SUPPORTS = ("hands-on", "light-touch", "standing-by", "unspotted")
STAGES = range(1, 10)
GRADES = range(0, 4)
LETTER_LENGTH = 95
# The angles that are read from a picture taken side-on, by what is on it; readiness/engine/eyes/
# reads them.
PICTURES = {
    "sit": {"shin_lean", "knee", "trunk_lean", "hip_behind_heel", "heel_lift"},
    "line": {"elbow", "arm_lean", "trunk_lean", "leg_lean", "knee"},
    "bridge": {"elbow", "arm_lean", "knee"},
}
# Of a ladder's "letter" and "name" lines; the tables beside them hold the other languages.
OWN_LANGUAGE = "en"
# What no line for families says, in each language: the words for alone and for safe.
NEVER_SAID = {
    "en": r"alone|safe|safely",
    "es": r"sol[oa]s?|segur[oa]s?|seguridad",
    "fr": r"seule?s?|sûre?s?|sécurité",
    "pt": r"sozinh[oa]s?|só|segur[oa]s?|segurança",
    "de": r"allein|alleine|sicher\w*",
    "ar": r"وحد(?:ه|ها|هم)|بمفرد(?:ه|ها|هم)|(?:ال)?آمن\w*",
}
OTHER_LANGUAGES = tuple(language for language in NEVER_SAID if language != OWN_LANGUAGE)


@dataclass(frozen=True)
class Field:
    """What one field may hold; `description` completes the sentence "this must be ..."."""

    accepts: Callable[[Any], bool]
    description: str | Promise
    limits: Mapping[str, float | str] = field(default_factory=dict)
    required: bool = True

    def describe(self) -> str:
        return str(self.description) % self.limits


def is_whole(value: Any) -> bool:
    """True for 3, not for 3.0 and not for true, which Python counts as 1."""
    return isinstance(value, int) and not isinstance(value, bool)


def is_number(value: Any) -> bool:
    return is_whole(value) or (isinstance(value, float) and math.isfinite(value))


def is_text(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip())


def is_letter_line(value: Any, language: str = OWN_LANGUAGE) -> bool:
    """What it is called, a colon, and what it is: with nothing that could pass for a mark or a
    promise."""
    return (
        is_text(value)
        and len(value) <= LETTER_LENGTH
        and re.fullmatch(r"[^:]*\w[^:]*: .*\w.*", value) is not None
        and re.search(rf"\d|\b({NEVER_SAID[language]})\b", value, re.IGNORECASE) is None
    )


def is_by_language(accepts: Callable[[Any, str], bool]) -> Callable[[Any], bool]:
    """A table with a text for some of the languages that the ladder is not written in."""
    return lambda value: (
        isinstance(value, dict)
        and all(
            language in OTHER_LANGUAGES and accepts(text, language)
            for language, text in value.items()
        )
    )


def is_list_of(accepts: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, list) and all(accepts(item) for item in value)


def is_span(value: Any) -> bool:
    return is_list_of(is_number)(value) and len(value) == 2 and value[0] <= value[1]


def is_table_of(accepts: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, dict) and all(accepts(item) for item in value.values())


def _matches(pattern: str) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, str) and re.fullmatch(pattern, value) is not None


def _at_least_one(accepts: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: accepts(value) and len(value) > 0


def whole(low: int, high: int) -> Field:
    return Field(
        lambda value: is_whole(value) and low <= value <= high,
        gettext_lazy("a whole number from %(low)s to %(high)s"),
        {"low": low, "high": high},
    )


def number(low: float, high: float) -> Field:
    return Field(
        lambda value: is_number(value) and low <= value <= high,
        gettext_lazy("a number from %(low)s to %(high)s"),
        {"low": low, "high": high},
    )


def one_of(*words: str) -> Field:
    return Field(
        lambda value: isinstance(value, str) and value in words,
        gettext_lazy("one of: %(words)s"),
        {"words": ", ".join(words)},
    )


def optional(kind: Field) -> Field:
    return replace(kind, required=False)


TEXT = Field(is_text, gettext_lazy("a text"))
LETTER = Field(
    is_letter_line,
    gettext_lazy(
        "a line for families of at most %(length)s characters, what it is called before a colon, "
        "with no digit and without the words alone and safe"
    ),
    {"length": LETTER_LENGTH},
)
_LANGUAGES: Mapping[str, float | str] = {
    "words": ", ".join(OTHER_LANGUAGES),
    "length": LETTER_LENGTH,
}
LETTER_IN = Field(
    is_by_language(is_letter_line),
    gettext_lazy(
        "a table with such a line for any of %(words)s: at most %(length)s characters, what it is "
        "called before a colon, with no digit and without the words for alone and safe"
    ),
    _LANGUAGES,
    required=False,
)
NAME_IN = Field(
    is_by_language(lambda value, language: is_text(value)),
    gettext_lazy("a table with a text for any of %(words)s"),
    _LANGUAGES,
    required=False,
)
TEXTS = Field(is_list_of(is_text), gettext_lazy("a list of texts"))
KEY = Field(_matches(r"[a-z0-9-]+"), gettext_lazy("a key of small letters, digits and hyphens"))
KEYS = Field(is_list_of(KEY.accepts), gettext_lazy("a list of keys"))
SOME_KEYS = Field(_at_least_one(KEYS.accepts), gettext_lazy("a list of keys, at least one"))
CODE = Field(
    _matches(r"[a-z0-9./-]+"),
    gettext_lazy("a code of small letters, digits, hyphens, dots and strokes"),
)
YES_NO = Field(lambda value: isinstance(value, bool), gettext_lazy("true or false"))
TRUE = Field(lambda value: value is True, gettext_lazy("true, or left out"))
# Ceilings no studio needs to pass; they keep every sum of days a date, every value in its column.
DAYS = whole(1, 3650)
COUNT = whole(1, 1000)
VALUE = whole(1, 3600)
STAGE_NUMBER = whole(STAGES[0], STAGES[-1])
STAGE_NUMBERS = Field(is_list_of(STAGE_NUMBER.accepts), gettext_lazy("a list of stage numbers"))
SUPPORT = one_of(*SUPPORTS)
SIGNED = one_of("signed")
_LOADS = ("hands", "arms", "back", "hips", "knees", "legs")
LOADS = Field(
    is_list_of(one_of(*_LOADS).accepts),
    gettext_lazy("a list of: %(words)s"),
    {"words": ", ".join(_LOADS)},
)
BARS = Field(
    is_list_of(one_of(*_LOADS, "everything").accepts),
    gettext_lazy("a list of: %(words)s"),
    {"words": ", ".join([*_LOADS, "everything"])},
)
GOES = Field(
    is_list_of(one_of("backward", "upside-down").accepts),
    gettext_lazy("a list of: backward, upside-down"),
)
CERTAINTY = Field(
    lambda value: is_number(value) and 0.5 <= value < 1,
    gettext_lazy("a number of at least 0.5 and less than 1"),
)
ANGLES = Field(_at_least_one(is_table_of(is_number)), gettext_lazy("a table of angles in degrees"))
RANGES = Field(
    is_table_of(_at_least_one(is_list_of(is_span))),
    gettext_lazy("a table of lists of pairs, low and high"),
)
LIMITS = replace(ANGLES, required=False)
SPANS = Field(
    _at_least_one(is_table_of(is_span)),
    gettext_lazy("a table of pairs, low and high"),
    required=False,
)
TABLE = Field(lambda value: isinstance(value, dict), gettext_lazy("a table"))
TABLES = Field(is_list_of(lambda value: isinstance(value, dict)), gettext_lazy("a list of tables"))
SOME_TABLES = Field(_at_least_one(TABLES.accepts), gettext_lazy("a list of tables, at least one"))
UNREAD = Field(lambda value: True, "", required=False)
