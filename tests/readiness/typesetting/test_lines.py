"""Lines: where they break, and what stands where on them."""

import pytest

from readiness.typesetting.lines import LEFT_TO_RIGHT, RIGHT_TO_LEFT, Line, Paragraph, way_of

# In thousandths of the size of the type: about twenty letters.
WIDTH = 10_000


def texts(lines: list[Line]) -> list[str]:
    return [line.text for line in lines]


def drawn(line: Line) -> str:
    """The letters of a line as they stand on the page, from left to right."""
    return "".join(glyph.text for run in line.runs for glyph in run.glyphs)


@pytest.mark.parametrize(
    "text",
    [
        "What a child works on now, and how much help is given, week after week.",
        "ליאור עובדת על הגשר כל שבוע ועל הנחיתה בידיים עם המורה שלה",
        "ليلى تعمل على الجسر كل أسبوع ومع معلمتها في القاعة الكبيرة",
        "किर्ति हर हफ्ते पुल पर काम करती है और हाथों पर उतरती है",
    ],
)
def test_lines_break_at_spaces_in_the_order_of_reading_and_none_is_too_wide(text):
    lines = Paragraph(text, base=None).lines(WIDTH)
    assert len(lines) > 2
    assert " ".join(texts(lines)) == text
    assert all(line.width <= WIDTH for line in lines)


def test_a_line_is_as_full_as_it_can_be():
    first, second, *_rest = Paragraph("one two three four five six seven eight").lines(WIDTH)
    word = Paragraph(f" {second.text.split()[0]}").lines(WIDTH)[0]
    assert first.width + word.width > WIDTH


def test_a_word_longer_than_a_line_is_broken_between_letters_and_their_marks():
    lines = Paragraph("a\u0323\u0301" * 60).lines(WIDTH)
    assert "".join(texts(lines)) == "a\u0323\u0301" * 60
    assert all(line.text.startswith("a") and line.width <= WIDTH for line in lines)


def test_one_letter_stands_on_each_line_that_is_too_narrow_for_it():
    assert texts(Paragraph("WWW").lines(10)) == ["W", "W", "W"]


def test_thai_breaks_inside_a_sentence_and_not_beside_its_vowels():
    text = "น้ำใจทำได้ดีมากในวันนี้ครูภูมิใจในตัวหนูมากและหวังว่าจะได้เห็นหนูอีก"
    for width in range(3000, 9000, 500):
        lines = texts(Paragraph(text).lines(width))
        assert "".join(lines) == text
        # The Unicode Standard 15.0, 16.1: written before its consonant, or after.
        assert not any(line.endswith(tuple("เแโใไ")) for line in lines[:-1])
        assert not any(line.startswith(tuple("ะาำๅๆฯ\u0e31\u0e34\u0e49")) for line in lines)


def test_a_thai_name_is_not_broken():
    text = "Dear friends of น้ำใจ and others"
    for width in range(4000, 12000, 500):
        assert any("น้ำใจ" in line for line in texts(Paragraph(text, names=["น้ำใจ"]).lines(width)))


def test_each_line_is_turned_by_itself():
    """UAX 9, 3.4: broken first, then reordered, so the words that are read first are on the
    first line."""
    lines = Paragraph("אחת שתיים שלוש ארבע חמש שש שבע שמונה תשע עשר", base=1).lines(WIDTH)
    assert lines[0].text.startswith("אחת")
    assert drawn(lines[0]).endswith("תחא")
    assert lines[-1].text.endswith("עשר")
    assert drawn(lines[-1]).startswith("רשע")


def test_names_keep_their_places_in_a_list():
    """As if between isolates: UAX 9, 2.4. Else the second name would stand left of the first."""
    (line,) = Paragraph("Lia, דנה, נועה 2", names=["דנה", "נועה 2"]).lines(100_000)
    assert drawn(line) == "Lia, הנד, 2 העונ"
    (line,) = Paragraph("Lia, דנה, נועה 2").lines(100_000)
    assert drawn(line) == "Lia, 2 העונ ,הנד"


def test_a_paragraph_runs_the_way_it_is_told_or_that_of_its_first_letter():
    assert Paragraph("נועה and Lia", base=None).lines(100_000)[0].base == RIGHT_TO_LEFT
    assert Paragraph("Lia ו־נועה", base=None).lines(100_000)[0].base == LEFT_TO_RIGHT
    (line,) = Paragraph("נועה and Lia", base=LEFT_TO_RIGHT).lines(100_000)
    assert drawn(line) == "העונ and Lia"


def test_a_text_may_break_lines_itself():
    assert texts(Paragraph("one\ntwo").lines(WIDTH)) == ["one", "two"]
    assert Paragraph("").lines(WIDTH) == []


def test_a_language_has_a_way():
    assert [way_of(each) for each in ("en", "pt-br", "ar", "he", "fa")] == [0, 0, 1, 1, 1]
