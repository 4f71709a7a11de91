"""The order of letters on a line: the Unicode Bidirectional Algorithm, UAX 9.

The names of the rules in the comments (P2, X1, W1, N0, ...) are those of the annex. Mirrored
characters (L4) are the shaper's affair.
"""

import unicodedata
from collections.abc import Iterable, Sequence
from itertools import groupby

EMBEDDINGS = {"LRE": "L", "RLE": "R", "LRO": "L", "RLO": "R"}
ISOLATES = {"LRI", "RLI", "FSI"}
# X9: these are as if they were not there.
REMOVED = {*EMBEDDINGS, "PDF", "BN"}
NEUTRAL = {"B", "S", "WS", "ON", "PDI", *ISOLATES}
# L1: what falls back to the paragraph's level at the end of a line.
TRAILING = {"WS", "PDI", *ISOLATES, *REMOVED}
# A text from left to right without any of these is all of one level.
TURNING = {"R", "AL", "AN", *EMBEDDINGS, *ISOLATES}
MAX_DEPTH = 125
MOST_BRACKETS = 63

# Opening and closing in turn: BidiBrackets.txt of Unicode 15.0.
_BRACKETS = (
    "()[]{}\u0f3a\u0f3b\u0f3c\u0f3d\u169b\u169c\u2045\u2046\u207d\u207e\u208d\u208e\u2308\u2309"
    "\u230a\u230b\u2329\u232a\u2768\u2769\u276a\u276b\u276c\u276d\u276e\u276f\u2770\u2771\u2772"
    "\u2773\u2774\u2775\u27c5\u27c6\u27e6\u27e7\u27e8\u27e9\u27ea\u27eb\u27ec\u27ed\u27ee\u27ef"
    "\u2983\u2984\u2985\u2986\u2987\u2988\u2989\u298a\u298b\u298c\u298d\u2990\u298f\u298e\u2991"
    "\u2992\u2993\u2994\u2995\u2996\u2997\u2998\u29d8\u29d9\u29da\u29db\u29fc\u29fd\u2e22\u2e23"
    "\u2e24\u2e25\u2e26\u2e27\u2e28\u2e29\u2e55\u2e56\u2e57\u2e58\u2e59\u2e5a\u2e5b\u2e5c\u3008"
    "\u3009\u300a\u300b\u300c\u300d\u300e\u300f\u3010\u3011\u3014\u3015\u3016\u3017\u3018\u3019"
    "\u301a\u301b\ufe59\ufe5a\ufe5b\ufe5c\ufe5d\ufe5e\uff08\uff09\uff3b\uff3d\uff5b\uff5d\uff5f"
    "\uff60\uff62\uff63"
)
# Two angle brackets are canonically the same as two others: all are compared decomposed.
CLOSING = {
    unicodedata.normalize("NFD", opening): unicodedata.normalize("NFD", closing)
    for opening, closing in zip(_BRACKETS[::2], _BRACKETS[1::2], strict=True)
}
_CLOSINGS = set(CLOSING.values())


def classes_of(text: str) -> list[str]:
    return [unicodedata.bidirectional(character) or "L" for character in text]


def paragraph_level(text: str) -> int:
    """P2 and P3: 1 if the first strong character outside isolates runs from right to left."""
    return _first_strong(classes_of(text))


def _first_strong(classes: Iterable[str]) -> int:
    depth = 0
    for each in classes:
        if each in ISOLATES:
            depth += 1
        elif each == "PDI":
            if depth:
                depth -= 1
        elif not depth and each in {"L", "R", "AL"}:
            return int(each != "L")
    return 0


def levels(text: str, base: int) -> list[int]:
    """The level of each character, before lines are broken (rules X to I). An odd one runs from
    right to left. A removed character has the level of the one before."""
    classes = classes_of(text)
    if base == 0 and TURNING.isdisjoint(classes):
        return [0] * len(text)
    matches = _matching_isolates(classes)
    found, types = _explicit(classes, matches, base)
    for sequence, before, after in _sequences(found, classes, matches, base):
        level = found[sequence[0]]
        resolved = _resolve(sequence, before, after, text, types, level)
        for index, each in zip(sequence, resolved, strict=True):
            found[index] = each
    last = base
    for index, removed in enumerate(each in REMOVED for each in classes):
        found[index] = last if removed else found[index]
        last = found[index]
    return found


def line_levels(text: str, found: Sequence[int], base: int) -> list[int]:
    """L1: separators, and white space before them and at the end of the line, have the
    paragraph's level. ``text`` is one line, ``found`` its part of the paragraph's levels."""
    result = list(found)
    at_end = True
    for index in range(len(text) - 1, -1, -1):
        each = unicodedata.bidirectional(text[index])
        at_end = each in {"B", "S"} or (at_end and each in TRAILING)
        if at_end:
            result[index] = base
    return result


def visual_order(found: Sequence[int]) -> list[int]:
    """L2: the characters of the line from left to right, by their places in the text."""
    order = list(range(len(found)))
    lowest_odd = min((level for level in found if level % 2), default=MAX_DEPTH + 2)
    for level in range(max(found, default=0), lowest_odd - 1, -1):
        start = 0
        while start < len(order):
            end = start
            while end < len(order) and found[order[end]] >= level:
                end += 1
            order[start:end] = order[start:end][::-1]
            start = end + 1
    return order


def _matching_isolates(classes: Sequence[str]) -> dict[int, int]:
    """BD9: from each isolate initiator to its PDI, where there is one."""
    open_, matches = [], {}
    for index, each in enumerate(classes):
        if each in ISOLATES:
            open_.append(index)
        elif each == "PDI" and open_:
            matches[open_.pop()] = index
    return matches


class _Embeddings:
    """The stack of X1 to X8: for each embedding, override and isolate that is open its level, what
    an override makes of all characters, and whether it is an isolate."""

    def __init__(self, base: int) -> None:
        self._stack: list[tuple[int, str, bool]] = [(base, "", False)]
        self._lost_isolates = self._lost_embeddings = 0

    @property
    def level(self) -> int:
        return self._stack[-1][0]

    def type_of(self, each: str) -> str:
        return self._stack[-1][1] or each

    def open(self, each: str, right: bool) -> None:
        """X2 to X5c."""
        is_isolate, level = each in ISOLATES, self.level + 1 + (self.level % 2 == right)
        if level <= MAX_DEPTH and not self._lost_isolates and not self._lost_embeddings:
            override = EMBEDDINGS[each] if each in {"LRO", "RLO"} else ""
            self._stack.append((level, override, is_isolate))
        elif is_isolate:
            self._lost_isolates += 1
        elif not self._lost_isolates:
            self._lost_embeddings += 1

    def end_isolate(self) -> None:
        """X6a."""
        if self._lost_isolates:
            self._lost_isolates -= 1
        elif any(is_isolate for _level, _override, is_isolate in self._stack):
            self._lost_embeddings = 0
            while not self._stack.pop()[2]:
                pass

    def end_embedding(self) -> None:
        """X7."""
        if self._lost_isolates:
            return
        if self._lost_embeddings:
            self._lost_embeddings -= 1
        elif len(self._stack) > 1 and not self._stack[-1][2]:
            self._stack.pop()


def _explicit(
    classes: Sequence[str], matches: dict[int, int], base: int
) -> tuple[list[int], list[str]]:
    """X1 to X8: levels and types as embeddings, overrides and isolates have them."""
    found, types, embeddings = [base] * len(classes), list(classes), _Embeddings(base)
    for index, each in enumerate(classes):
        if each == "PDI":
            embeddings.end_isolate()
        elif each == "PDF":
            embeddings.end_embedding()
        if each not in {"PDF", "B"}:
            found[index] = embeddings.level
            if each not in EMBEDDINGS:
                types[index] = embeddings.type_of(each)
        if each in ISOLATES or each in EMBEDDINGS:
            embeddings.open(each, _runs_right_to_left(each, index, classes, matches))
    return found, types


def _runs_right_to_left(
    each: str, index: int, classes: Sequence[str], matches: dict[int, int]
) -> bool:
    if each == "FSI":
        return _first_strong(classes[index + 1 : matches.get(index, len(classes))]) == 1
    return each in {"RLE", "RLO", "RLI"}


def _sequences(
    found: Sequence[int], classes: Sequence[str], matches: dict[int, int], base: int
) -> list[tuple[list[int], str, str]]:
    """X10 and BD13: runs of one level, joined from an isolate's beginning to its end; and which
    way the text before and after each runs."""
    kept = [index for index, each in enumerate(classes) if each not in REMOVED]
    sequences: list[list[int]] = []
    waiting: dict[int, list[int]] = {}
    for _level, run in groupby(kept, key=lambda index: found[index]):
        indices = list(run)
        sequence = waiting.pop(indices[0], None)
        if sequence is None:
            sequence = []
            sequences.append(sequence)
        sequence += indices
        if indices[-1] in matches:
            waiting[matches[indices[-1]]] = sequence
    place = {index: number for number, index in enumerate(kept)}
    around = [base, *(found[index] for index in kept), base]

    def sides(sequence: list[int]) -> tuple[str, str]:
        level = found[sequence[0]]
        before, after = around[place[sequence[0]]], around[place[sequence[-1]] + 2]
        if classes[sequence[-1]] in ISOLATES and sequence[-1] not in matches:
            after = base
        return "LR"[max(level, before) % 2], "LR"[max(level, after) % 2]

    return [(sequence, *sides(sequence)) for sequence in sequences]


def _weak(types: list[str], before: str) -> None:
    """W1 to W7. ``before``: which way the text before runs."""
    last = strong = before
    for index, each in enumerate(types):
        if each == "NSM":
            each = "ON" if last in ISOLATES or last == "PDI" else last
        last = each
        if each in {"L", "R", "AL"}:
            strong = each
            each = "R" if each == "AL" else each
        elif each == "EN" and strong == "AL":
            each = "AN"
        types[index] = each
    for index in range(1, len(types) - 1):
        around = {types[index - 1], types[index + 1]}
        if types[index] in {"ES", "CS"} and around == {"EN"}:
            types[index] = "EN"
        elif types[index] == "CS" and around == {"AN"}:
            types[index] = "AN"
    _terminators(types)
    strong = before
    for index, each in enumerate(types):
        if each in {"L", "R"}:
            strong = each
        elif each in {"ES", "CS", "ET"}:
            types[index] = "ON"
        elif each == "EN" and strong == "L":
            types[index] = "L"


def _terminators(types: list[str]) -> None:
    """W5: what stands beside a number, as a per cent sign does, belongs to it."""
    start = 0
    for each, run in groupby(types[:]):
        end = start + len(list(run))
        if each == "ET" and "EN" in types[max(start - 1, 0) : end + 1]:
            types[start:end] = ["EN"] * (end - start)
        start = end


def _pairs(characters: Sequence[str], types: Sequence[str]) -> list[tuple[int, int]]:
    """BD16: the pairs of brackets, in the order of the opening ones."""
    open_: list[tuple[str, int]] = []
    pairs = []
    for index, each in enumerate(characters):
        if types[index] != "ON":
            continue
        bracket = unicodedata.normalize("NFD", each)
        if bracket in CLOSING:
            if len(open_) == MOST_BRACKETS:
                break
            open_.append((CLOSING[bracket], index))
        elif bracket in _CLOSINGS:
            for depth in range(len(open_) - 1, -1, -1):
                if open_[depth][0] == bracket:
                    pairs.append((open_[depth][1], index))
                    del open_[depth:]
                    break
    return sorted(pairs)


_STRONG = {"L": "L", "R": "R", "EN": "R", "AN": "R"}


def _brackets(
    pairs: Iterable[tuple[int, int]], types: list[str], marks: list[bool], before: str, own: str
) -> None:
    """N0. ``marks``: which characters were marks on others at first; ``own``: the level's way."""
    for opening, closing in pairs:
        inside = {_STRONG[each] for each in types[opening + 1 : closing] if each in _STRONG}
        if not inside:
            continue
        way = own
        if own not in inside:
            earlier = (_STRONG[each] for each in reversed(types[:opening]) if each in _STRONG)
            way = next(earlier, before)
        for index in (opening, closing):
            types[index] = way
            for mark in range(index + 1, len(types)):
                if not marks[mark]:
                    break
                types[mark] = way


def _neutrals(types: list[str], before: str, after: str, own: str) -> None:
    """N1 and N2: between two of a way, that way; else the level's own."""
    start = 0
    for is_neutral, run in groupby(types[:], key=NEUTRAL.__contains__):
        end = start + len(list(run))
        if is_neutral:
            left = _STRONG[types[start - 1]] if start else before
            right = _STRONG[types[end]] if end < len(types) else after
            types[start:end] = [left if left == right else own] * (end - start)
        start = end


def _resolve(
    sequence: Sequence[int], before: str, after: str, text: str, types: Sequence[str], level: int
) -> list[int]:
    """The levels of a sequence by W1 to I2."""
    own = "LR"[level % 2]
    resolved = [types[index] for index in sequence]
    marks = [each == "NSM" for each in resolved]
    _weak(resolved, before)
    pairs = _pairs([text[index] for index in sequence], resolved)
    _brackets(pairs, resolved, marks, before, own)
    _neutrals(resolved, before, after, own)
    if own == "L":
        return [level + {"L": 0, "R": 1}.get(each, 2) for each in resolved]
    return [level + (each != "R") for each in resolved]
