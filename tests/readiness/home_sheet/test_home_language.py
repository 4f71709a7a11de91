"""The home sheet in the family's language: all of it, and said beforehand where it is not."""

import copy
import re
from html import unescape

import pytest
from babel.dates import format_date
from django.conf import settings
from django.utils import translation

from progression.ladder.field_types import NEVER_SAID
from progression.models import LadderVersion
from readiness.home_sheet.page import sheet_of
from readiness.home_sheet.words import KEEPS
from readiness.letters.beside.page import AT_HOME
from readiness.models import LetterLanguageRead, Pain
from readiness.record.ladder_loading import load
from readiness.record.standings import read
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.letters.readability import BARS, counted
from tests.support.made_up_language import words_in
from tests.support.pages import text_of

pytestmark = pytest.mark.django_db
TRANSLATED = [code for code in settings.LETTER_LANGUAGES if code != "en"]
NAMES = re.compile(r"Mai Tran|Lantern Yard")
UNREAD = "Nobody who grew up with it has read its sentences yet."
LACKING = "The ladder has no words in Spanish for what this sheet names"


def reads(child, language):
    child.letter_language = language
    child.save(update_fields=["letter_language"])


def sheet(page, child):
    return page.get(f"/children/{child.uuid}/home-sheet")


def article(answer):
    """The sheet itself: what is printed."""
    html = answer.content.decode()
    (found,) = re.findall(r"<article.*?</article>", html, re.DOTALL)
    return found


def texts(answer):
    pieces = (" ".join(unescape(piece).split()) for piece in words_in(article(answer)))
    return [piece for piece in pieces if piece]


def told_beforehand(answer):
    return " ".join(answer.context["notices"])


def test_every_shape_has_its_words():
    assert set(KEEPS) == set(AT_HOME)


@pytest.mark.parametrize("language", TRANSLATED)
def test_nothing_english_is_left_on_the_sheet(page, cast, language):
    reads(cast.mai, "en")
    english = texts(sheet(page, cast.mai))
    reads(cast.mai, language)
    told = texts(sheet(page, cast.mai))
    assert len(told) == len(english)
    assert len(english) > 14
    assert set(told) & set(english) == {"Mai Tran", "Lantern Yard"}
    words = NAMES.sub("", " ".join(told))
    assert not re.search(r"\b(the|and|with|hands|of|or|floor)\b", words)
    assert not re.search(rf"\b({NEVER_SAID[language]})\b", words, re.IGNORECASE)
    if language == "ar":
        assert not re.search("[A-Za-z;,?]", words)


def test_what_tells_two_of_one_name_apart_is_for_staff(page, cast):
    make_child("Mai Tran", cast.blue)
    reads(cast.mai, "de")
    answer = sheet(page, cast.mai)
    assert "Mai Tran" in texts(answer)
    assert "born" not in article(answer)


@pytest.mark.parametrize("language", settings.LETTER_LANGUAGES)
def test_the_sheet_says_its_language_its_direction_and_the_day_as_that_language_does(
    page, cast, language
):
    """Dates by the Unicode CLDR, as Babel carries it; right to left is the Arabic script alone."""
    reads(cast.mai, language)
    answer = sheet(page, cast.mai)
    direction = "rtl" if language == "ar" else "ltr"
    assert f'lang="{language}" dir="{direction}"' in article(answer)
    assert '<html lang="en"' in answer.content.decode()
    day = format_date(TODAY, "long", locale="en_GB" if language == "en" else language)
    assert f"· {day}" in article(answer)


@pytest.mark.parametrize("language", TRANSLATED)
def test_the_caution_stays_in_every_language_with_a_shape_left_out(page, cast, language):
    about = {"id": time_ordered_id(NOW), "child": cast.mai, "at": NOW, "by": cast.omar}
    Pain.objects.create(**about, day=TODAY, received_at=NOW, digest="", place="wrist")
    reads(cast.mai, language)
    answer = sheet(page, cast.mai)
    frame = answer.context["sheet"].words
    assert len(answer.context["sheet"].shapes) == 2
    for sentence in (frame.how, frame.stop, frame.only, frame.never):
        assert sentence in " ".join(texts(answer))
    assert "left out of this sheet" in text_of(answer)


@pytest.mark.parametrize(
    ("language", "said"),
    [("en", False), ("en-gb", False), ("es", False), ("", False), ("pl", True)],
)
def test_a_family_whose_language_has_no_sheet_gets_the_english_one_and_staff_is_told(
    page, cast, language, said
):
    reads(cast.mai, language)
    answer = sheet(page, cast.mai)
    there_is_none = (
        "The family reads Polish. There is no home sheet in it yet: this one is in English."
    )
    assert (there_is_none in text_of(answer)) is said
    assert ('lang="en"' in article(answer)) is (language != "es")


def no_spanish_for_the_hollow():
    content = copy.deepcopy(LadderVersion.objects.latest("number").content)
    (drill,) = (each for each in content["drill"] if each["key"] == "hollow-hold")
    del drill["letter_in"]["es"]
    load(content, now=NOW, from_day=TODAY)


def test_what_the_ladder_lacks_in_the_language_is_said_before_it_is_printed(page, cast):
    reads(cast.mai, "es")
    assert LACKING not in told_beforehand(sheet(page, cast.mai))
    no_spanish_for_the_hollow()
    answer = sheet(page, cast.mai)
    assert f"{LACKING}, so its own words stand in it: Hollow hold." in told_beforehand(answer)
    assert texts(answer).count("Hollow") == 1
    reads(cast.mai, "de")
    assert "The ladder has no words" not in told_beforehand(sheet(page, cast.mai))


def test_staff_is_told_who_has_read_the_language(page, cast):
    assert sheet(page, cast.mai).context["notices"] == []
    reads(cast.mai, "de")
    assert told_beforehand(sheet(page, cast.mai)) == f"This sheet is in German. {UNREAD}"
    LetterLanguageRead.objects.create(language="de", reader="Ruth", by=cast.petra, at=NOW)
    told = told_beforehand(sheet(page, cast.mai))
    assert (
        "This sheet is in German. Ruth has read its sentences, written down on 4 Mar 2026" in told
    )
    assert UNREAD not in told
    reads(cast.mai, "fr")
    assert UNREAD in told_beforehand(sheet(page, cast.mai))


def test_who_marks_a_language_as_read_is_told_that_home_sheets_count(client, cast):
    client.force_login(cast.petra)
    told = text_of(client.get("/letters/languages"))
    assert "a letter, a note for the door and a home sheet in it" in told
    assert "Letters, notes for the door and home sheets are in the language" in told


@pytest.mark.parametrize("language", BARS)
def test_a_home_sheet_is_read_as_easily_as_a_letter(cast, ladder, language):
    """By the letters' formulas and bars; one sheet has fewer than their hundred words."""
    reads(cast.mai, language)
    told = sheet_of(read(cast.mai, TODAY), list(AT_HOME))
    said = [told.words.heading, told.words.how, told.words.stop, told.words.only, told.words.never]
    for shape in told.shapes:
        said += [shape.name, shape.says, shape.keeps]
    formula, bar = BARS[language]
    assert counted(said, language).words >= 60
    assert formula(counted(said, language)) >= bar


def test_a_language_costs_one_query(page, cast, django_assert_max_num_queries):
    """Who has read it."""

    def queries(language):
        reads(cast.mai, language)
        with django_assert_max_num_queries(100) as counted_queries:
            sheet(page, cast.mai)
        return len(counted_queries)

    english = queries("en")
    assert {queries(language) for language in TRANSLATED} == {english + 1}


def test_the_page_is_in_the_language_of_staff(page, cast):
    """The sheet's language ends with the sheet."""
    reads(cast.mai, "ar")
    sheet(page, cast.mai)
    assert translation.get_language() == "en"
