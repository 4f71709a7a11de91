"""A letter in each language: all of it in that language, and said where it is not."""

import copy
import datetime
import re
from dataclasses import replace

import pytest
from django.conf import settings
from django.utils import translation

from progression.models import LadderVersion
from readiness.letters.letter import Sender, compose
from readiness.letters.many import runs
from readiness.models import LetterLanguageRead, PrintedLetter
from readiness.record.ladder_loading import load
from readiness.record.ladders import NamedLadder
from readiness.record.standings import read
from studio.people.language import letter_language
from tests.support.cast import NOW, TODAY
from tests.support.letters.kinds import KINDS, GoingOn
from tests.support.letters.table import LANGUAGES, PARTS, UNKNOWN, Table
from tests.support.pages import signed_in

OTHERS = [language for language in settings.LETTER_LANGUAGES if language != "en"]
SENDER = Sender(
    "Lantern Yard", "Mill hall, 4 Weir Lane", "Omar", questions="Weir Lane 4, 16:00 to 17:30"
)
NAMES = re.compile(
    r"Mai|Tran|Petra|Omar|Lantern Yard|Mill hall, 4 Weir Lane|Weir Lane 4, 16:00 to 17:30"
)
# No kind is sent back, has had no evening, or has a guardian.
NOT_IN_THE_KINDS = {"more_time", "no_turns", "dear"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def reading(climbed):
    return read(climbed.mai, TODAY)


def letter_in(language, kind, reading):
    with translation.override(language):
        return compose(kind(reading), SENDER, "", review=True)


def in_language(cast, language):
    cast.mai.letter_language = language
    cast.mai.save(update_fields=["letter_language"])


def page_of(cast, staff=None):
    return signed_in(staff or cast.omar).get(f"/children/{cast.mai.uuid}/letter").content.decode()


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_letter_is_all_in_the_language(kind, language, reading):
    letter = letter_in(language, kind, reading)
    assert letter.language == language
    assert letter.lacking == ()
    english = set(letter_in("en", kind, reading).texts())
    # What is not words: the studio, the coach, the child, the empty own sentence; and what is the
    # same in both languages.
    same = {"de": {"Name"}, "fr": {"Date", "Signature"}, "es": {"no"}}.get(language, set())
    assert english & set(letter.texts()) <= {"Lantern Yard", "Omar", "Mai", "", *same}
    told = NAMES.sub("", "\n".join(letter.texts()))
    assert not re.search(r"\b(the|and|with|hands|of)\b", told)
    if language == "ar":
        assert not re.search("[A-Za-z]", told)
        assert not re.search("[;,?]", told)


def test_the_kinds_say_every_sentence(reading):
    """Each sentence of the modules is in some kind: so none is left unread in any language."""
    told = "\n".join(text for kind in KINDS for text in letter_in("en", kind, reading).texts())
    for part in ("Our director watches too", "is back since", "no skill that needs a spotter",
                 "now does what the next step needs", "with hands as before", "too few to say",
                 "we go over this once more:", "more help came", "hands came back"):  # fmt: skip
        assert part in told, part


def test_the_judge_reads_every_language_of_letters():
    assert set(LANGUAGES) == set(settings.LETTER_LANGUAGES)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_of_every_kind_is_one_that_the_judge_knows(language, reading):
    """What it knows is written out apart from the catalogues (tests/support/letters/patterns)."""
    table, unknown, met = Table(language, reading.ladder.content), [], set()
    for kind in KINDS:
        with translation.override(language):
            letter = compose(kind(reading), SENDER, "", review=True, replaces=TODAY)
        frame = (
            letter.greeting, letter.regards, letter.signs, letter.subject, letter.cautions,
            letter.questions,
        )  # fmt: skip
        said = [table.whole("frame", text) for text in frame]
        said.append(table.whole("titles", letter.title))
        for section in letter.sections:
            said.append(table.whole("headings", section.heading))
            said += (each for text in section.paragraphs for each in table.sentences(text))
        met |= {each.kind for each in said}
        unknown += [each.text for each in said if each.kind == UNKNOWN]
    assert unknown == []
    known = {kind for part in PARTS for kind in table.rows[part]}
    assert known - met == NOT_IN_THE_KINDS


def without_words_in(language, reading):
    content = copy.deepcopy(dict(reading.ladder.content))
    for row in [*content["drill"], *content["stage"]]:
        row.get("letter_in", {}).pop(language, None)
    return replace(reading, ladder=NamedLadder(reading.ladder.number, content))


def test_a_line_that_the_ladder_lacks_is_noted_and_only_in_that_language(reading):
    less = without_words_in("es", reading)
    letter = letter_in("es", GoingOn, less)
    assert "Back walkover" in letter.lacking
    assert "Bridge rocks" in letter.lacking
    assert "Barrel" not in "".join(letter.lacking)
    assert letter_in("de", GoingOn, less).lacking == ()
    assert letter_in("en", GoingOn, less).lacking == ()


@pytest.mark.parametrize("lacks", ["surface", "pain"])
def test_a_floor_or_a_place_without_a_name_in_the_language_is_noted(lacks, reading):
    content = copy.deepcopy(dict(reading.ladder.content))
    for row in content[lacks]:
        row.pop("name_in")
    kind = {"surface": "WithoutHands", "pain": "SomethingHurt"}[lacks]
    (found,) = (each for each in KINDS if each.__name__ == kind)
    less = replace(reading, ladder=NamedLadder(reading.ladder.number, content))
    assert letter_in("fr", found, less).lacking != ()
    assert letter_in("fr", found, reading).lacking == ()


LACKING = "The ladder has no words in Spanish for what this letter names"


@pytest.fixture
def mai_reads_spanish(cast, log):
    in_language(cast, "es")
    for days in (7, 14, 21):
        log(cast.mai, "hollow-hold", [5.0], day=TODAY.fromordinal(TODAY.toordinal() - days))


def no_spanish_for_the_hollow():
    content = copy.deepcopy(LadderVersion.objects.latest("number").content)
    (drill,) = (each for each in content["drill"] if each["key"] == "hollow-hold")
    del drill["letter_in"]["es"]
    load(content, now=NOW, from_day=TODAY)


@pytest.mark.usefixtures("mai_reads_spanish")
def test_a_letter_that_would_mix_languages_says_so_on_its_page(cast):
    assert LACKING not in page_of(cast)
    no_spanish_for_the_hollow()
    page = page_of(cast)
    assert LACKING in page
    assert "stand in it: Hollow hold." in " ".join(page.split())


@pytest.mark.usefixtures("mai_reads_spanish")
def test_a_letter_that_would_mix_languages_is_not_printed_among_others(cast):
    no_spanish_for_the_hollow()
    now = NOW + datetime.timedelta(hours=1)
    run = runs.begin([cast.mai, cast.ilse], cast.petra, now)
    runs.go_on(run, cast.petra, now, 2)
    ((name, _child, why),) = runs.progress_of(run, cast.petra, now).left_out
    assert (name, LACKING in why) == ("Mai Tran", True)
    assert [each.child for each in PrintedLetter.objects.all()] == [cast.ilse]


def test_only_the_letter_itself_is_in_the_language(cast):
    in_language(cast, "ar")
    page = page_of(cast)
    assert '<html lang="en"' in page
    assert "Read it below first" in page
    assert 'id="letter" lang="ar" dir="rtl"' in page
    assert "على ماذا نعمل مع Mai Tran" in page
    in_language(cast, "fr")
    assert 'id="letter" lang="fr" dir="ltr"' in page_of(cast)


@pytest.mark.parametrize(
    ("wish", "language"),
    [("es", "es"), ("pt-br", "pt"), ("pt_PT", "pt"), ("ES-mx", "es"), ("nl", None), ("", None)],
)
def test_a_language_as_it_is_spoken_somewhere_is_that_language(wish, language):
    assert letter_language(wish) == language


def test_the_page_says_which_languages_there_are_and_that_nobody_has_read_this_one(cast):
    in_language(cast, "es")
    page = page_of(cast)
    assert "There are letters in: English, Spanish, French, Portuguese, German, Arabic." in page
    assert "Nobody who grew up with it has read its sentences yet." in page
    in_language(cast, "en")
    assert "Nobody who grew up with it" not in page_of(cast)


def mark(staff, **said):
    client = signed_in(staff)
    page = client.get("/letters/languages").content.decode()
    found = re.search(r'name="token" value="([^"]+)"', page)
    return client.post("/letters/languages/read", {"token": found[1] if found else "", **said})


def test_a_director_marks_a_language_as_read(cast):
    in_language(cast, "es")
    assert mark(cast.petra, language="es", reader="Inés Rey").status_code == 302
    kept = LetterLanguageRead.objects.get()
    assert (kept.language, kept.reader, kept.by) == ("es", "Inés Rey", cast.petra)
    page = page_of(cast)
    assert "Inés Rey has read its sentences, written down on 4 Mar 2026" in page
    assert "Nobody who grew up with it" not in page
    listed = signed_in(cast.omar).get("/letters/languages").content.decode()
    assert "read by Inés Rey; Petra wrote it down on 4 Mar 2026" in listed
    assert listed.count("not read yet by anybody who grew up with it") == len(OTHERS) - 1
    in_language(cast, "fr")
    assert "Nobody who grew up with it" in page_of(cast)


def test_nobody_else_does_and_nothing_is_half_marked(cast):
    assert mark(cast.omar, language="es", reader="Inés Rey").status_code == 403
    assert mark(cast.petra, language="en", reader="Inés Rey").status_code == 422
    assert mark(cast.petra, language="es", reader=" ").status_code == 422
    assert not LetterLanguageRead.objects.exists()
