"""Where lines may end, held against UAX 14 by Unicode's own data and test (15.0 in Debian 12)."""

import unicodedata

import pytest

from readiness.typesetting.breaks import breaks
from readiness.typesetting.lines import Paragraph
from tests.support.typesetting.unicode_data import lines_of

# What as_printed takes out of a text, or is no character.
NOT_PRINTED = {"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"}
# Classes before which, and after which, rules LB7 to LB25 keep an ideograph.
TIED_AFTER = {
    "SP", "ZW", "WJ", "GL", "CL", "CP", "EX", "IS", "SY", "NS", "CJ", "QU", "BA", "HY", "IN", "PO",
    "CM", "ZWJ",
}  # fmt: skip
TIED_BEFORE = {"OP", "QU", "GL", "WJ", "PR", "BB", "ZWJ"}
# Unicode counts them as letters and numbers, and lets them open or close; no name has them.
LEFT_OUT = ("EGYPTIAN", "ANATOLIAN", "MASU MARK", "BENGALI CURRENCY DENOMINATOR")


def inside_words(text: str) -> set[int]:
    """Where a line may end without a space."""
    return {place for place in breaks(text, ()) if not text[place - 1].isspace()}


def test_a_line_ends_inside_a_word_only_where_unicode_s_own_test_lets_it():
    tried, wrong = 0, []
    for (line,) in lines_of("auxiliary/LineBreakTest.txt"):
        text = "".join(chr(int(code, 16)) for code in line.split()[1::2])
        if any(unicodedata.category(each) in NOT_PRINTED for each in text):
            continue
        tried += 1
        allowed = {at for at, mark in enumerate(line.split()[2::2], 1) if mark == "÷"}
        # Thai takes a dictionary, which the test has not (UAX 14, SA).
        if not inside_words(text) <= allowed and text != "\u0e01\u0e01":
            wrong.append(line)
    assert tried > 4000
    assert wrong == []


def classes() -> dict[str, str]:
    found = {}
    for codes, kind in lines_of("LineBreak.txt"):
        first, _dots, last = codes.partition("..")
        for code in range(int(first, 16), int(last or first, 16) + 1):
            if unicodedata.category(chr(code)) not in NOT_PRINTED:
                found[chr(code)] = kind
    return found


def test_beside_an_ideograph_each_character_keeps_what_its_class_ties():
    wrong = [
        (unicodedata.name(character), kind)
        for character, kind in classes().items()
        if not unicodedata.name(character, "").startswith(LEFT_OUT)
        and (
            (kind in TIED_AFTER and 1 in inside_words(f"漢{character}"))
            or (kind in TIED_BEFORE and 1 in inside_words(f"{character}漢"))
        )
    ]
    assert wrong == []


def test_a_line_may_end_between_any_two_ideographs_kana_or_syllables():
    found = classes()
    for first, second in (
        "漢字",
        "字か",
        "かな",
        "カナ",
        "김민",
        "𠮷野",
        "a漢",
        "漢a",
        "漢1",
        "。漢",
    ):
        assert breaks(first + second, ()) == [1, 2], first + second
    # LB31 lets them: ideographs of all planes, and all syllables of Korean.
    letters = [
        each
        for each, kind in found.items()
        if kind in {"ID", "H2", "H3"} and unicodedata.category(each) == "Lo"
    ]
    assert len(letters) > 100_000
    assert [each for each in letters if 1 not in inside_words(f"漢{each}")] == []


@pytest.mark.parametrize(
    "text",
    [
        "她今天做得很好。我们明天继续练习（慢慢来），好吗？",
        "さくらさんは「ブリッジ」をがんばった。ゆっくり、もっとね！",
        "민지는 오늘 다리를 잘했어요(천천히). 내일도 해 봐요!",
    ],
)
def test_no_line_begins_with_what_closes_nor_ends_with_what_opens(text):
    for width in range(3000, 9000, 500):
        lines = [line.text for line in Paragraph(text * 3).lines(width)]
        assert len(lines) > 1
        # Common rules of setting these scripts: UAX 14, classes CL, CP, EX, NS, OP, CJ.
        assert not any(line.startswith(tuple("。，、）」？！ーゃゅょっッ)!.")) for line in lines)
        assert not any(line.endswith(tuple("（「(")) for line in lines)


def test_a_name_breaks_at_its_spaces_alone():
    text = "今天 和 陈美丽 一起"
    inside = set(range(text.index("陈") + 1, text.index("丽") + 1))
    assert inside.isdisjoint(breaks(text, ["陈美丽"]))
    assert inside <= set(breaks(text, []))
