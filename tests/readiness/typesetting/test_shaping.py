"""Glyphs as the scripts want them. What joins, ligates and reorders: the Unicode Standard 15.0,
chapters 9 (Arabic), 12 (Devanagari) and 16 (Thai)."""

from readiness.typesetting.shaping import clusters
from tests.support.typesetting.shaped import faces_of, shaped


def bases(letters: str) -> list[int]:
    """The glyphs that take room: the dots of an Arabic letter are glyphs of their own here."""
    (run,) = shaped(letters)
    return [glyph.number for glyph in run.glyphs if glyph.advance]


def test_arabic_letters_take_the_form_of_their_place():
    beh = "\u0628"
    assert len({*bases(beh * 3), *bases(beh)}) == 4


def test_a_non_joiner_keeps_two_letters_apart():
    joined, apart = bases("\u0628\u0628"), bases("\u0628\u200c\u0628")
    assert not set(joined) & set(apart)


def test_a_bracket_in_a_text_from_right_to_left_is_mirrored():
    # UAX 9, L4.
    (run,) = shaped("\u05d0(", base=1)
    closing = run.weight.font.get_nominal_glyph(ord(")"))
    assert (run.glyphs[0].number, run.glyphs[0].text) == (closing, "(")


def test_a_vowel_of_devanagari_is_drawn_before_its_consonant_and_a_conjunct_as_one():
    (run,) = shaped("\u0915\u093f")
    assert [glyph.text for glyph in run.glyphs] == ["\u093f", "\u0915"]
    (run,) = shaped("\u0915\u094d\u0937")
    assert [glyph.text for glyph in run.glyphs] == ["\u0915\u094d\u0937"]


def test_a_letter_stands_for_the_marks_on_it():
    (run,) = shaped("x\u0302y")
    assert [glyph.text for glyph in run.glyphs if glyph.advance] == ["x\u0302", "y"]
    # Read back from the last character to the first, so the mark comes first.
    (run,) = shaped("\u05e9\u05b8")
    assert [glyph.text for glyph in run.glyphs if glyph.advance] == ["\u05b8\u05e9"]


def test_all_of_a_text_is_in_its_glyphs():
    text = "Zoë Ольга Ἑλένη किर्ति น้ำใจ ליאור ليلى office"
    said = "".join(glyph.text for run in shaped(text) for glyph in run.glyphs)
    assert sorted(said) == sorted(text)


def test_a_name_is_set_in_one_typeface_and_a_word_too():
    name = "Nguyễn Thị Ánh"
    assert faces_of(f"Dear {name}, hello", name) == [
        "AtkinsonHyperlegibleNext", "NotoSans", "AtkinsonHyperlegibleNext",
    ]  # fmt: skip
    assert faces_of("Nguyễn") == ["NotoSans"]
    assert faces_of("Nguy") == ["AtkinsonHyperlegibleNext"]


def test_each_script_has_its_typeface():
    named = {
        "Ольга": "",
        "Ἑλένη": "",
        "आर्या": "",
        "נועה": "Hebrew",
        "ليلى": "Arabic",
        "ไพลิน": "Thai",
    }
    for name, script in named.items():
        assert faces_of(name) == [f"NotoSans{script}"]


def test_a_mark_stays_with_its_letter():
    assert clusters("e\u0323\u0301a") == ["e\u0323\u0301", "a"]
    assert clusters("\u0e19\u0e49\u0e33\u0e43\u0e08") == ["\u0e19\u0e49\u0e33", "\u0e43", "\u0e08"]
    assert clusters("\u0915\u094d\u0937\u092e\u093e") == ["\u0915\u094d\u0937", "\u092e\u093e"]
