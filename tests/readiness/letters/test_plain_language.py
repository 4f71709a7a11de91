"""Letters are read easily: by a published formula of each language.

The worked examples are from the published pages of the formulas (English: ease 116, 37 and 69,
grade 11.3 for the second), the others are the formula done by hand.
"""

import re

import pytest
from django.utils import translation

from readiness.letters.letter import Sender, compose
from readiness.record.standings import read
from tests.support.cast import TODAY
from tests.support.letters import readability
from tests.support.letters.kinds import KINDS
from tests.support.letters.readability import BARS, SYLLABLES, Counted, counted

CAT = "The cat sat on the mat."
PLATYPUS = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."
POINT = "This sentence, taken as a reading passage unto itself, is being used to prove a point."
EXAMPLES = [
    (readability.flesch, (6, 6), 116.145),
    (readability.grade, (6, 6), -1.45),
    (readability.flesch, (13, 24), 37.455),
    (readability.grade, (13, 24), 11.265),
    (readability.flesch, (16, 23), 68.983),
    (readability.flesch, (1, 1), 121.22),
    (readability.grade, (1, 1), -3.40),
    (readability.fernandez_huerta, (5, 8), 105.74),
    (readability.szigriszt, (5, 8), 102.155),
    (readability.kandel_moles, (5, 8), 84.165),
    (readability.amstad, (5, 7), 93.1),
]
SENDER = Sender("Lantern Yard", "Mill hall", "Omar")


@pytest.mark.parametrize(("formula", "words_and_syllables", "value"), EXAMPLES)
def test_each_formula_gives_what_was_published(formula, words_and_syllables, value):
    assert formula(Counted(1, *words_and_syllables)) == pytest.approx(value, abs=0.0006)


@pytest.mark.parametrize(
    ("language", "text", "words", "syllables"),
    [
        ("en", CAT, 6, 6),
        ("en", PLATYPUS, 13, 24),
        ("en", POINT, 16, 23),
        ("es", "La niña hace el puente.", 5, 8),
        ("fr", "Anna va au judo demain.", 5, 8),
        ("de", "Das Kind macht eine Brücke.", 5, 7),
    ],
)
def test_words_and_syllables_are_counted_as_in_the_examples(language, text, words, syllables):
    assert counted([text], language) == Counted(1, words, syllables)


# Divided as a dictionary divides them (practice, no list: each can be looked up).
WORDS = {
    "en": {1: "hands pressed heels swells", 2: "ladder hollow steady lifted places",
           3: "director decided vertical", 4: "everybody impossible"},
    "es": {1: "pie bien", 2: "puente suelo guerra atrás", 3: "rodilla camino",
           4: "acrobacia escalera colchoneta"},
    "fr": {1: "dos mains même jambes", 2: "épaule sauter", 3: "équilibre",
           4: "acrobatie"},
    "de": {1: "Kind Knie", 2: "Brücke Hände Mauer", 3: "Handgelenk", 4: "Aufzeichnungen"},
}  # fmt: skip


@pytest.mark.parametrize(
    ("language", "syllables", "word"),
    [
        (language, syllables, word)
        for language, by_number in WORDS.items()
        for syllables, words in by_number.items()
        for word in words.split()
    ],
)
def test_syllables_of_single_words(language, syllables, word):
    assert SYLLABLES[language](word) == syllables


def test_a_heading_and_a_paragraph_end_a_sentence():
    assert counted(["In class", "A turn. Is it done? Yes!", "—"], "en").sentences == 4


@pytest.mark.django_db
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("language", BARS)
def test_every_kind_of_letter_reads_easily(language, kind, climbed):
    with translation.override(language):
        letter = compose(kind(read(climbed.mai, TODAY)), SENDER, "", review=True)
    told = [letter.title, letter.cautions]
    for section in letter.sections:
        told += [section.heading, *section.paragraphs]
    text = counted((re.sub("Mai Tran|Mai|Petra", "", each) for each in told), language)
    assert text.words >= 100
    formula, bar = BARS[language]
    assert formula(text) >= bar
