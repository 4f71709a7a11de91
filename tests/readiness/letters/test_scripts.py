"""Any name prints, and is read back: exact by pdftotext, the same letters by pypdf."""

import datetime
from collections import Counter
from dataclasses import replace

import pytest

from readiness.letters.letter import Letter, Sender
from readiness.letters.sections import Section
from readiness.letters.sentence import Sentence
from readiness.letters.sheet import print_letter
from readiness.letters.type import as_printed, on_one_line
from tests.support.letters.files import folded, pages_of, text_by_poppler, text_of
from tests.support.letters.names import NAMES
from tests.support.letters.tagged import contents, elements, parents, read

DAY = datetime.date(2026, 3, 4)

SENTENCES = {
    "Hebrew": "ליאור עבדה יפה היום! Bravo, 12 פעמים. נתראה.",
    "Arabic": "أحسنت يا ليلى، عملتِ بجد (12 مرة) with Lia اليوم.",
    "Thai": "น้ำใจทำได้ดีมากในวันนี้",
    "Hindi": "किर्ति ने आज बहुत मेहनत की, शाबाश!",
}


def letter_about(name: str, own: str = "", language: str = "en") -> Letter:
    child = on_one_line(name)
    told = (
        f"This week {child} worked on this:\n• Back walkover\n• Bridge hold",
        f"{child}, {child} and {child}’s hands; “{child}” ({child}); then more of {child}: the "
        "bridge is held longer than before, and a long line must be broken somewhere.",
    )
    return Letter(
        language=language,
        child=child,
        sender=Sender(f"{child}’s hall", "Mill hall, 4 Weir Lane", child),
        day=DAY,
        date="4 March 2026",
        title=f"What {child} works on",
        subject=f"Letter about {child}",
        greeting=f"Dear {child},",
        own=as_printed(own),
        sections=(Section("What comes next", tuple(map(Sentence, told))),),
        regards="With kind regards,",
        signs="for Lantern Yard",
        cautions="Our teachers decide each turn by what they see.",
        names=(child,),
    )


def letters_of(text: str) -> Counter[str]:
    return Counter("".join(text.split()))


@pytest.mark.parametrize("script", NAMES)
def test_a_letter_is_read_back_as_it_was_written(script):
    letter = letter_about(NAMES[script], SENTENCES.get(script, "Well done."))
    file = print_letter(letter)
    written = folded("\n".join(letter.texts()))
    assert text_by_poppler(file) == written
    assert letters_of(text_of(file)) == letters_of(written)
    assert len(pages_of(file)) == 1


def arabic_letter_about(name: str) -> Letter:
    child = on_one_line(name)
    told = (
        f"تدربت {child} هذا الأسبوع على هذا:\n• الجسر\n• الوقوف على اليدين",
        f"{child}، {child} («{child}») تعمل أيضًا 12 مرة على Back walkover في القاعة الكبيرة مع "
        "معلمتها، ثم تكمل في الأسبوع القادم.",
    )
    return replace(
        letter_about(name),
        language="ar",
        sender=Sender("قاعة الفانوس", "Mill hall, 4 Weir Lane", child),
        date="4 مارس 2026",
        title=f"ما تعمل عليه {child}",
        greeting=f"إلى عائلة {child}،",
        own="أحسنتِ جدًا!",
        sections=(Section("ما يأتي بعد ذلك", tuple(map(Sentence, told))),),
        regards="مع أطيب التحيات،",
        signs="عن قاعة الفانوس",
        cautions="يقرر معلمونا في كل مرة بما يرونه. الفرش والأيدي تجعل الحوادث أندر. "
        "بعد ضربة على الرأس أو ألم في الرقبة: توقف، ولا عودة قبل أن يقول الطبيب نعم. "
        "لا شقلبة إلى الخلف في البيت، ولا على الأسرة.",
    )


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
