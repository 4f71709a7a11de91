"""Any name prints, and is read back: exact by pdftotext, the same letters by pypdf."""

import pytest

from readiness.letters.sheet import print_letter
from tests.support.letters.files import folded, letters_of, pages_of, text_by_poppler, text_of
from tests.support.letters.names import DAY, NAMES, arabic_letter_about, letter_about
from tests.support.letters.tagged import contents, elements, parents, read

SENTENCES = {
    "Hebrew": "ליאור עבדה יפה היום! Bravo, 12 פעמים. נתראה.",
    "Arabic": "أحسنت يا ليلى، عملتِ بجد (12 مرة) with Lia اليوم.",
    "Thai": "น้ำใจทำได้ดีมากในวันนี้",
    "Hindi": "किर्ति ने आज बहुत मेहनत की, शाबाश!",
}


@pytest.mark.parametrize("script", NAMES)
def test_a_letter_is_read_back_as_it_was_written(script):
    letter = letter_about(NAMES[script], SENTENCES.get(script, "Well done."))
    file = print_letter(letter)
    written = folded("\n".join(letter.texts()))
    assert text_by_poppler(file) == written
    assert letters_of(text_of(file)) == letters_of(written)
    assert len(pages_of(file)) == 1


# Not with sixty Latin letters over and over: pdftotext takes the way of most letters of a page.
@pytest.mark.parametrize("script", sorted(NAMES.keys() - {"sixty letters"}))
def test_a_letter_that_runs_from_right_to_left_is_read_back_as_it_was_written(script):
    letter = arabic_letter_about(NAMES[script])
    file = print_letter(letter)
    written = folded("\n".join(letter.texts()))
    assert text_by_poppler(file) == written
    assert letters_of(text_of(file)) == letters_of(written)


@pytest.mark.parametrize("script", NAMES)
def test_a_letter_is_small_dated_and_the_same_each_time(script):
    letter = letter_about(NAMES[script])
    file = print_letter(letter)
    assert len(file) <= 60_000
    assert file == print_letter(letter)
    about = read(file).metadata
    assert about.creation_date.date() == DAY
    assert (about.title, about.author) == (letter.title, letter.sender.studio)
    assert about.subject == letter.subject


@pytest.mark.parametrize("script", ["Hindi", "Hebrew"])
def test_all_that_is_drawn_is_tagged_in_the_order_of_reading(script):
    letter = letter_about(NAMES[script], own="Well done.")
    file = print_letter(letter)
    tags = [each.tag for each in elements(file)]
    assert tags == ["/P", "/P", "/H1", "/P", "/P", "/H2", *["/P"] * 6]
    reached = {(each.page, each.place): each.tag for each in elements(file)}
    assert parents(file) == reached
    drawn = contents(file)
    assert {(e.page, e.place): e.tag for e in drawn if e.place is not None} == reached
    # Under the head, for the signature, above the cautions.
    assert [each.tag for each in drawn if each.place is None] == ["/Artifact"] * 3
    said = [each.said for each in elements(file)]
    assert (letter.greeting in said) is (script == "Hebrew")
