"""What the cells of a paper log mean: outcomes, support, faults, names of drills and surfaces.

Pure Python. Each function raises WordError with a sentence for a cell that means nothing, and
UnknownWord where somebody could say what it means.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from studio.imports.date_column import looks_like_date
from studio.imports.numbers import read_number
from studio.imports.refused_file import CellError
from studio.imports.words import NO_WORDS, YES_WORDS, fold_word
from studio.people.names import fold

CLEAN = YES_WORDS - {"x", "true"} | {"clean", "c", "ok"}
NOT_CLEAN = NO_WORDS - {"false"} | {"not clean", "x", "✗", "✘", "✕", "×"}
YES = YES_WORDS | {"caught"}
NO = NO_WORDS | {""}
SUPPORT_WORDS = {
    3: ("hands on", "hands"),
    2: ("light touch", "light"),
    1: ("standing by", "stand by"),
    0: ("unspotted", "not spotted"),
}

# The most turns that one score can stand for.
MOST_TURNS = 30
_SCORE = re.compile(r"(\d{1,3}) ?/ ?(\d{1,3})")
_NUMBER = re.compile(r"([0-9.,]+?) ?(?:s|sec|reps)?\.?", re.IGNORECASE)


class WordError(CellError):
    """A cell that cannot be taken."""


class UnknownWord(WordError):
    """A cell that cannot be taken until somebody has said what its word means. ``what`` is the
    column that it stands in."""

    def __init__(self, what: str, word: str, sentence: str, **cells: object) -> None:
        super().__init__(sentence, **cells)
        self.what, self.word = what, word


@dataclass(frozen=True)
class Outcome:
    """How a turn went: clean or not, or a value; never both."""

    clean: bool | None
    value: float | None


def read_outcomes(cell: str, drill: Mapping[str, Any]) -> list[Outcome]:
    """The turns in a value cell, in order; more than one only for a score.

    3/5 at a drill that is clean or not means three clean turns and then two that were not.
    """
    if not cell:
        raise WordError(_("The value is missing."))
    try:
        if drill["measure"] == "clean":
            return _clean_outcomes(cell, drill)
        return [Outcome(None, _number(cell, drill))]
    except WordError:
        if not looks_like_date(cell):
            raise
        sentence = _(
            "%(cell)s is neither a word, a number nor a score. If a score was meant, write it "
            "again in a column that is text."
        )
        raise WordError(sentence, cell=cell) from None


def _clean_outcomes(cell: str, drill: Mapping[str, Any]) -> list[Outcome]:
    word = fold_word(cell)
    if word in CLEAN:
        return [Outcome(True, None)]
    if word in NOT_CLEAN:
        return [Outcome(False, None)]
    score = _SCORE.fullmatch(cell)
    if score is None:
        sentence = _("%(drill)s is clean or not clean; “%(cell)s” says neither.")
        if any(sign.isdigit() for sign in cell):
            raise WordError(sentence, drill=drill["name"], cell=cell)
        raise UnknownWord("value", cell, sentence, drill=drill["name"], cell=cell)
    clean, turns = int(score[1]), int(score[2])
    if not clean <= turns or not 1 <= turns <= MOST_TURNS:
        raise WordError(_("%(cell)s is no score: so many clean out of so many."), cell=cell)
    return [Outcome(place < clean, None) for place in range(turns)]


def _number(cell: str, drill: Mapping[str, Any]) -> float:
    match = _NUMBER.fullmatch(cell)
    number = read_number(match[1]) if match else None
    if number is None:
        sentence = _("%(drill)s is told by a number; “%(cell)s” is none.")
        raise WordError(sentence, drill=drill["name"], cell=cell)
    value = float(number)
    if drill["measure"] != "seconds" and value != int(value):
        sentence = _("%(drill)s is told by a whole number; %(cell)s is none.")
        raise WordError(sentence, drill=drill["name"], cell=cell)
    if value > drill["most"]:
        sentence = _("%(cell)s is more than %(drill)s can be, which is %(most)s.")
        raise WordError(sentence, cell=cell, drill=drill["name"], most=drill["most"])
    return value


def refuse_unknown_value(cell: str) -> None:
    """Refuse a word that says nothing of any drill's turns."""
    word = fold_word(cell)
    if word not in CLEAN | NOT_CLEAN | {""} and not any(sign.isdigit() for sign in word):
        raise UnknownWord("value", cell, _("“%(cell)s” says neither clean nor not."), cell=cell)


def refuse_unknown_support(cell: str) -> None:
    if fold(cell):
        support_named(cell)


def read_support(cell: str, drill: Mapping[str, Any]) -> int:
    """The support planned, 3 (hands-on) to 0; always 0 where support is not logged."""
    if not drill["support_logged"]:
        return 0
    if not fold(cell):
        raise WordError(_("The support is missing."))
    return support_named(cell)


def support_named(cell: str) -> int:
    word = fold(cell)
    for amount, words in SUPPORT_WORDS.items():
        if word in words:
            return amount
    sentence = _("“%(cell)s” is no support: write hands-on, light touch, standing by or unspotted.")
    raise UnknownWord("support", cell, sentence, cell=cell)


def read_yes(cell: str) -> bool:
    word = fold_word(cell)
    if word in YES or word in NO:
        return word in YES
    raise UnknownWord("caught", cell, _("“%(cell)s” is neither yes nor no."), cell=cell)


def read_faults(cell: str, known: Mapping[str, str]) -> tuple[str, ...]:
    """The keys of the faults named, separated by + or ;, each once, in the cell's order.

    ``known`` are the ``names_of`` all faults.
    """
    if not cell:
        return ()
    keys: dict[str, None] = {}
    for part in fault_parts(cell):
        key = known.get(fold(part))
        if key is None:
            sentence = _("There is no fault called “%(fault)s”.")
            raise UnknownWord("faults", part, sentence, fault=part)
        keys[key] = None
    return tuple(keys)


def fault_parts(cell: str) -> list[str]:
    return [part.strip() for part in re.split(r"[+;\r\n]", cell) if part.strip()]


def find_named(what: str, cell: str, known: Mapping[str, str], missing: str, unknown: str) -> str:
    """The key of the drill or surface a cell names, by key or by name.

    ``known`` are the ``names_of`` all of them; ``missing`` and ``unknown`` are the sentences for
    a blank cell and for a name that is not known (with a place for %(cell)s).
    """
    if not cell:
        raise WordError(missing)
    key = known.get(fold(cell))
    if key is None:
        raise UnknownWord(what, cell, unknown, cell=cell)
    return key


def names_of(items: Iterable[Mapping[str, Any]], field: str) -> dict[str, str]:
    """Each item's key by what a cell may call it, folded: its text in ``field``, or the key."""
    names: dict[str, str] = {}
    for item in items:
        names[fold(item[field])] = item["key"]
        names[fold(item["key"])] = item["key"]
    return names


def split_names(drills: Iterable[Mapping[str, Any]]) -> dict[str, tuple[str, str]]:
    """The keys of the two drills that may be meant by what one was called before it was split: its
    key in words, folded, unless that is still a drill's whole name."""
    by_key = {drill["key"]: drill for drill in drills}
    whole = {fold(drill["name"]) for drill in by_key.values()}
    return {
        fold(drill["formerly"]): (drill["key"], drill["formerly"])
        for drill in by_key.values()
        if "formerly" in drill and fold(drill["formerly"]) not in whole
    }


def refuse_split_name(
    cell: str, split: Mapping[str, tuple[str, str]], drills: Mapping[str, Mapping[str, Any]]
) -> None:
    """A drill's key, as it stands in the ladder's file, still names the one drill."""
    if is_split_name(cell, split):
        one, other = (drills[key]["name"] for key in split[fold(cell)])
        sentence = _(
            "“%(cell)s” is two drills now, “%(one)s” and “%(other)s”: write which one it was."
        )
        raise UnknownWord("drill", cell, sentence, cell=cell, one=one, other=other)


def is_split_name(cell: str, split: Mapping[str, tuple[str, str]]) -> bool:
    return fold(cell) in split and "-" not in cell
