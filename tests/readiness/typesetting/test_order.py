"""The order of letters, held against Unicode's own test of UAX 9.

BidiCharacterTest.txt, BidiBrackets.txt: the Unicode Character Database (15.0 in Debian 12).
"""

import pytest

from readiness.typesetting.order import (
    CLOSING,
    REMOVED,
    classes_of,
    levels,
    line_levels,
    paragraph_level,
    visual_order,
)
from tests.support.typesetting.unicode_data import lines_of

LEFT_TO_RIGHT, RIGHT_TO_LEFT, BY_FIRST_STRONG = "0", "1", "2"


def ordered(text: str, base: int) -> tuple[list[int], list[int]]:
    """Levels and order as the test file gives them: without the characters that are removed."""
    found = line_levels(text, levels(text, base), base)
    kept = [each not in REMOVED for each in classes_of(text)]
    order = [index for index in visual_order(found) if kept[index]]
    return [level for level, is_kept in zip(found, kept, strict=True) if is_kept], order


def test_every_line_of_unicode_s_own_test_has_its_levels_and_its_order():
    tried, wrong = 0, []
    for characters, direction, paragraph, expected, order in lines_of("BidiCharacterTest.txt"):
        text = "".join(chr(int(code, 16)) for code in characters.split())
        base = paragraph_level(text) if direction == BY_FIRST_STRONG else int(direction)
        told = [int(level) for level in expected.split() if level != "x"]
        tried += 1
        if (str(base), *ordered(text, base)) != (paragraph, told, [*map(int, order.split())]):
            wrong.append((characters, direction))
    assert tried == 91_707
    assert wrong == []


def test_the_brackets_are_unicode_s():
    def decomposed(code: str) -> str:
        # The two that have another canonical form (UAX 9, BD16).
        return {"2329": "\u3008", "232A": "\u3009"}.get(code, chr(int(code, 16)))

    pairs = {
        decomposed(first): decomposed(second)
        for first, second, kind in lines_of("BidiBrackets.txt")
        if kind == "o"
    }
    assert pairs == CLOSING


def test_a_bracket_after_a_name_stays_with_what_it_belongs_to():
    # By rule N0; without it the last bracket has level 0.
    assert levels("abc \u05d0\u05d1 (12)", 0) == [0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 1]


@pytest.mark.parametrize(
    ("levels_given", "order"),
    [([], []), ([0, 0], [0, 1]), ([1, 1, 2, 2, 1], [4, 2, 3, 1, 0]), ([2, 2, 2], [0, 1, 2])],
)
def test_a_line_is_turned_from_its_highest_level_down(levels_given, order):
    # UAX 9, L2.
    assert visual_order(levels_given) == order
