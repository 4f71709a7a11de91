"""The catalogues of letters: whole, fresh, and true to the language.

Dates and plurals are held against the Unicode CLDR, as the library Babel carries it.
"""

import datetime
import gettext
import re

import pytest
from babel import Locale
from babel.dates import format_date
from babel.messages.mofile import read_mo
from django.conf import settings
from django.utils import translation

from progression.ladder.field_types import NEVER_SAID, OWN_LANGUAGE
from readiness.letters.format import letter_date
from tests import letter_catalogues as catalogues

FILES = {catalogues.language_of(path): path for path in catalogues.po_files()}
CATEGORIES = {"ar": ("zero", "one", "two", "few", "many", "other")}


def strings(message):
    return (message.string,) if isinstance(message.string, str) else tuple(message.string)


def placeholders(text):
    return set(re.findall(r"%\(\w+\)[sd]", text))


def test_every_language_of_letters_has_a_catalogue_and_words_it_never_says():
    assert {OWN_LANGUAGE, *FILES} == set(settings.LETTER_LANGUAGES) == set(NEVER_SAID)


@pytest.mark.parametrize("language", FILES)
def test_the_compiled_catalogue_is_as_fresh_as_the_text(language):
    """If this fails: ``python -m tests.letter_catalogues``."""
    path = FILES[language]
    with path.with_suffix(".mo").open("rb") as file:
        carried = {catalogues.key(m): strings(m) for m in catalogues.messages(read_mo(file))}
    written = catalogues.messages(catalogues.read(path))
    assert carried == {catalogues.key(m): strings(m) for m in written if any(strings(m))}


@pytest.mark.parametrize("language", FILES)
def test_every_sentence_is_translated_with_what_is_put_into_it(language):
    """If this fails: ``python -m tests.letter_catalogues``, then fill in what is empty."""
    there = {catalogues.key(m): m for m in catalogues.messages(catalogues.read(FILES[language]))}
    wanted = {catalogues.key(m): m for m in catalogues.messages(catalogues.sentences())}
    assert len(wanted) > 70
    assert wanted.keys() - there.keys() == set()
    for key in wanted:
        message = there[key]
        assert not message.fuzzy, key
        assert all(strings(message)), key
        source = message.id[-1] if isinstance(message.id, tuple) else message.id
        for text in strings(message):
            lacking = placeholders(source) - placeholders(text)
            # "After two weeks": a form for one number may say it in words.
            assert len(strings(message)) > 1 or not lacking, key
            assert lacking <= {"%(weeks)d"}, key
            assert placeholders(text) <= placeholders(source), key


@pytest.mark.parametrize("language", FILES)
def test_no_sentence_is_left_over(language):
    there = {catalogues.key(m) for m in catalogues.messages(catalogues.read(FILES[language]))}
    wanted = {catalogues.key(m) for m in catalogues.messages(catalogues.sentences())}
    assert {message for _context, message in there - wanted} <= catalogues.MONTHS


@pytest.mark.parametrize("language", FILES)
def test_no_sentence_says_safe_or_alone(language):
    for message in catalogues.messages(catalogues.read(FILES[language])):
        for text in strings(message):
            assert not re.search(rf"\b({NEVER_SAID[language]})\b", text, re.IGNORECASE), text


@pytest.mark.parametrize("language", settings.LETTER_LANGUAGES)
def test_dates_are_written_as_the_language_writes_them(language):
    locale = "en_GB" if language == "en" else language
    with translation.override(language):
        for each in range(365):
            day = datetime.date(2026, 1, 1) + datetime.timedelta(each)
            if language == "fr" and day.day == 1:
                # CLDR has a bare number here; the French write "1er".
                assert letter_date(day).startswith("1er ")
                continue
            assert letter_date(day) == format_date(day, "long", locale=locale)


@pytest.mark.parametrize("language", FILES)
def test_the_plural_of_every_number_is_that_of_the_language(language):
    forms = CATEGORIES.get(language, ("one", "other"))
    form_of = gettext.c2py(catalogues.read(FILES[language]).plural_expr)
    for number in range(500):
        assert forms[form_of(number)] == Locale.parse(language).plural_form(number), number
