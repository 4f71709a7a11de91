"""A letter's page: it fits its paper, no word stands on another, all that is drawn is tagged."""

import importlib
import io
import re
import subprocess
from dataclasses import dataclass, replace
from itertools import combinations

import pypdf
import pytest
from django.core.exceptions import ImproperlyConfigured
from django.utils import translation

from readiness.letters.beside.ladder_map import Stop
from readiness.letters.drawing.ladder_map import longest_way
from readiness.letters.kept.files import Named, one_file
from readiness.letters.kept.keeping import ToKeep, keep
from readiness.letters.letter import Letter, Sender, compose
from readiness.letters.sheet import print_letter
from readiness.models import DayTally, PrintedLetter
from readiness.record.standings import Reading, read
from studio import settings as site_settings
from tests.support.cast import NOW, TODAY, Cast
from tests.support.letters.files import folded, pages_of, text_of
from tests.support.letters.kinds import (
    KINDS,
    Beginner,
    GoingOn,
    HandsAgain,
    NothingNew,
    Paused,
    WithoutHands,
)
from tests.support.letters.poppler import skip_without
from tests.support.letters.tagged import contents, elements, parents
from tests.support.letters.tagged import read as read_file

SENDER = Sender("Lantern Yard", "Mill hall, 4 Weir Lane", "Omar")
OWN = "Now she asks for the first turn of the evening."
# The least that a printer leaves out at each edge, in points: 5 mm (common practice, no source).
NOT_PRINTED = 5 * 72 / 25.4
# ISO 216 and ANSI/ASME Y14.1, in points.
PAPERS = {"a4": (210 / 25.4 * 72, 297 / 25.4 * 72), "letter": (612, 792)}


@pytest.fixture
def reading(climbed: Cast) -> Reading:
    return read(climbed.mai, TODAY)


def written(facts, language: str = "en", own: str = OWN) -> Letter:
    with translation.override(language):
        return compose(facts, SENDER, own, review=True)


@dataclass(frozen=True)
class Word:
    text: str
    left: float
    top: float
    right: float
    bottom: float

    def on(self, other: "Word") -> bool:
        """The letters without what the face leaves free above and below them."""
        across = min(self.right, other.right) - max(self.left, other.left)
        (top, bottom), (other_top, other_bottom) = self.core, other.core
        return across > 1 and min(bottom, other_bottom) - max(top, other_top) > 1

    @property
    def core(self) -> tuple[float, float]:
        high = self.bottom - self.top
        return self.top + 0.3 * high, self.bottom - 0.25 * high


def words_of(file: bytes) -> list[list[Word]]:
    """Of each page the words and where they stand from the upper left corner, by Poppler."""
    skip_without("pdftotext")
    done = subprocess.run(
        ["pdftotext", "-bbox", "-enc", "UTF-8", "-", "-"],
        input=file,
        capture_output=True,
        check=True,
    )
    found = []
    for page in done.stdout.decode().split("<page ")[1:]:
        rows = re.findall(r'xMin="(.+?)" yMin="(.+?)" xMax="(.+?)" yMax="(.+?)">(.*?)<', page)
        found.append([Word(text, *map(float, place)) for *place, text in rows])
    return found


@pytest.mark.django_db
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("language", ["en", "de", "ar"])
@pytest.mark.parametrize("kind", [Beginner, GoingOn, WithoutHands, HandsAgain, Paused])
def test_every_word_is_on_the_paper_and_on_no_other_word(kind, language, paper, reading, settings):
    settings.LADDER_PAPER = paper
    file = print_letter(written(kind(reading), language))
    wide, high = PAPERS[paper]
    for page, words in zip(pages_of(file), words_of(file), strict=True):
        assert [float(side) for side in page.mediabox[2:]] == pytest.approx([wide, high], abs=0.1)
        assert len(words) > 30
        for word in words:
            assert word.left >= NOT_PRINTED, word
            assert word.right <= wide - NOT_PRINTED, word
            assert word.top >= NOT_PRINTED, word
            assert word.bottom <= high - NOT_PRINTED, word
        assert [pair for pair in combinations(words, 2) if pair[0].on(pair[1])] == []


@pytest.mark.django_db
@pytest.mark.parametrize(("kind", "paper"), [(Beginner, "a4"), (Paused, "a4"), (Paused, "letter")])
def test_a_letter_with_little_to_say_is_one_page(kind, paper, reading, settings):
    settings.LADDER_PAPER = paper
    assert len(pages_of(print_letter(written(kind(reading))))) == 1


@pytest.mark.django_db
@pytest.mark.parametrize("kind", KINDS)
def test_every_letter_is_small_and_has_its_slip(kind, reading):
    for language in ("en", "ar"):
        letter = written(kind(reading), language)
        file = print_letter(letter)
        assert len(file) <= 60_000
        assert len(pages_of(file)) <= 2
        if language == "en":
            assert folded(letter.beside.slip.hands) in text_of(file)


@pytest.mark.django_db
@pytest.mark.parametrize("kind", [GoingOn, HandsAgain, Paused])
@pytest.mark.parametrize("language", ["en", "ar"])
def test_all_that_is_drawn_is_tagged_and_figures_say_what_they_show(kind, language, reading):
    file = print_letter(written(kind(reading), language))
    reached = {(each.page, each.place): each.tag for each in elements(file)}
    assert parents(file) == reached
    drawn = contents(file)
    assert {(e.page, e.place): e.tag for e in drawn if e.place is not None} == reached
    assert {each.tag for each in drawn if each.place is None} == {"/Artifact"}
    assert set(reached.values()) == {"/P", "/H1", "/H2", "/Figure"}
    root = read_file(file).trailer["/Root"]["/StructTreeRoot"]["/K"][0]
    figures = [each.get_object() for each in root["/K"] if each["/S"] == "/Figure"]
    assert all(str(each["/Alt"]) for each in figures)
    assert all(len(each["/A"]["/BBox"]) == 4 for each in figures)
    # The map, and three boxes to tick; no figure for home during a pause.
    assert (len(figures) == 4) is (kind is Paused)


def figures_of(file: bytes) -> list[str]:
    root = read_file(file).trailer["/Root"]["/StructTreeRoot"]["/K"][0]
    return [str(each["/Alt"]) for each in root["/K"] if each["/S"] == "/Figure"]


@pytest.mark.django_db
def test_what_has_grown_is_drawn_and_what_has_not_is_no_drawing(climbed):
    with_growth = print_letter(written(NothingNew(read(climbed.mai, TODAY))))
    assert "Bridge: 20" in figures_of(with_growth)
    DayTally.objects.filter(best__isnull=False).update(best=20)
    without = print_letter(written(NothingNew(read(climbed.mai, TODAY))))
    assert not [shows for shows in figures_of(without) if re.search(r"\d", shows)]
    assert "What has grown" not in text_of(without)


@pytest.mark.django_db
def test_a_letter_from_right_to_left_is_mirrored(reading):
    wide, _high = PAPERS["a4"]
    for language, at_the_right in (("en", False), ("ar", True)):
        (words, *_more) = words_of(print_letter(written(NothingNew(reading), language)))
        name = max((word for word in words if word.text == "Mai"), key=lambda w: w.bottom - w.top)
        assert (name.left > wide / 2) is at_the_right


@pytest.mark.django_db
def test_the_words_of_the_map_are_on_the_page(reading):
    letter = written(NothingNew(reading))
    printed = text_of(print_letter(letter))
    for stop in letter.beside.stops:
        assert folded(stop.word) in printed
    assert folded(letter.beside.own_drawing) in printed


def stop(*needs: int) -> Stop:
    return Stop("A part", "works here", "open", needs)


def test_the_longest_way_runs_along_the_top_of_the_map():
    # As the shipped ladder: the fifth rests on the first, the sixth on the fourth and the fifth.
    shipped = [stop(), stop(0), stop(1), stop(2), stop(0), stop(3, 4), stop(5), stop(6), stop(7)]
    assert longest_way(shipped) == [0, 1, 2, 3, 5, 6, 7, 8]
    assert longest_way([stop(), stop(0)]) == [0, 1]
    assert longest_way([]) == []


@pytest.mark.django_db
@pytest.mark.parametrize("parts", [0, 1, 2, 3, 5, 9])
def test_a_studio_with_another_ladder_has_its_map_too(parts, reading):
    letter = written(NothingNew(reading))
    stops = tuple(stop(*range(max(0, n - 1), n)) for n in range(parts))
    file = print_letter(replace(letter, beside=replace(letter.beside, stops=stops)))
    assert text_of(file).count("works here") == parts


# Several in one file


@pytest.mark.django_db
def test_the_file_of_several_letters_keeps_their_tags_languages_and_bookmarks(reading):
    files = [
        print_letter(written(kind(reading), language))
        for kind, language in ((NothingNew, "en"), (Paused, "ar"), (HandsAgain, "fr"))
    ]
    letters = [
        Named(f"Child {n}", PrintedLetter(day=TODAY, file=file)) for n, file in enumerate(files)
    ]
    whole = one_file(letters)
    assert whole == one_file(letters)
    reader = pypdf.PdfReader(io.BytesIO(whole), strict=True)
    root = reader.trailer["/Root"]["/StructTreeRoot"]
    assert [document["/Lang"] for document in root["/K"]] == ["en", "ar", "fr"]
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    apart = [(e.tag, e.place, e.said) for file in files for e in elements(file)]
    assert [(e.tag, e.place, e.said) for e in elements(whole)] == apart
    reached = {(e.page, e.place): e.tag for e in elements(whole)}
    assert {(e.page, e.place): e.tag for e in contents(whole) if e.place is not None} == reached
    assert parents(whole) == reached
    assert len(reader.outline) == 3


@pytest.mark.django_db
def test_the_same_words_on_another_paper_are_another_letter(climbed, reading, settings):
    letter = written(NothingNew(reading))
    first = keep(ToKeep(climbed.mai, letter, TODAY, climbed.omar), NOW)
    assert keep(ToKeep(climbed.mai, letter, TODAY, climbed.omar), NOW) == first
    settings.LADDER_PAPER = "letter"
    assert keep(ToKeep(climbed.mai, letter, TODAY, climbed.omar), NOW) != first


@pytest.mark.parametrize(
    ("name", "value", "known"),
    [("LADDER_PAPER", "a3", "a4 or letter"), ("LADDER_HAN", "jp", "zh-hans, zh-hant, ja or ko")],
)
def test_a_paper_or_a_form_that_there_is_not_is_refused(monkeypatch, name, value, known):
    monkeypatch.setenv(name, value)
    with pytest.raises(ImproperlyConfigured, match=known):
        importlib.reload(site_settings)
    monkeypatch.delenv(name)
    importlib.reload(site_settings)
