"""Chinese, Japanese and Korean names with a folder of typefaces; without one they are refused
(test_printing.py)."""

import subprocess

import pytest

from readiness.letters.sheet import print_letter
from readiness.typesetting.document import Box, Document
from readiness.typesetting.lines import Paragraph
from tests.support.letters.files import folded, letters_of, pages_of, text_by_poppler, text_of
from tests.support.letters.names import DAY, arabic_letter_about, letter_about
from tests.support.letters.poppler import skip_without
from tests.support.letters.tagged import contents, elements, parents, read
from tests.support.typesetting.faces import east_asian

NAMES = {
    "Chinese": ("陈美丽", "今天她做得很好（慢慢来）。我们明天继续练习！"),
    "Japanese": ("山田 さくら", "「ブリッジ」をがんばった。ゆっくり、もっとね！"),
    "Korean": ("김민지", "민지는 오늘 다리를 잘했어요. 내일도 해 봐요!"),
    "beyond the first plane, a form chosen": ("𠮷野 葛\U000e0100城", "Well done, 𠮷野!"),
    "half Latin": ("陳 Mei-Lin O’Hara", "Brava 陳!"),
}


@pytest.fixture(autouse=True)
def folder(settings):
    settings.LADDER_FACES = str(east_asian().parent)


@pytest.mark.parametrize(("name", "own"), NAMES.values(), ids=NAMES.keys())
@pytest.mark.parametrize("written", [letter_about, arabic_letter_about])
def test_a_letter_is_read_back_as_it_was_written(name, own, written):
    letter = written(name) if written is arabic_letter_about else written(name, own)
    file = print_letter(letter)
    said = folded("\n".join(letter.texts()))
    by_poppler = text_by_poppler(file)
    # A line ends between ideographs, where the text has no space.
    assert "".join(by_poppler.split()) == "".join(said.split())
    assert name in by_poppler
    assert letters_of(text_of(file)) == letters_of(said)
    assert len(pages_of(file)) == 1


@pytest.mark.parametrize(("name", "own"), NAMES.values(), ids=NAMES.keys())
def test_a_letter_is_small_tagged_and_the_same_each_time(name, own):
    letter = letter_about(name, own)
    file = print_letter(letter)
    assert file == print_letter(letter)
    assert len(file) <= 60_000
    reached = {(each.page, each.place): each.tag for each in elements(file)}
    assert parents(file) == reached
    assert {(e.page, e.place): e.tag for e in contents(file) if e.place is not None} == reached


def page_of(text: str) -> bytes:
    document = Document("T", "A", "S", "en", DAY)
    (line,) = Paragraph(text).lines(100_000)
    width = line.width / 10
    document.add_page(width, 100).text("P", [line], Box(0, 100, width), 100, 100)
    return document.file()


def test_outlines_that_are_no_true_type_are_held_as_the_standard_says():
    """ISO 32000-1, 9.7.4.2 and table 126."""
    (font,) = read(page_of("陈美")).pages[0]["/Resources"]["/Font"].values()
    (inner,) = font["/DescendantFonts"]
    held = inner.get_object()["/FontDescriptor"]["/FontFile3"]
    assert (inner.get_object()["/Subtype"], held["/Subtype"]) == ("/CIDFontType0", "/CIDFontType0C")
    assert "/CIDToGIDMap" not in inner.get_object()
    assert held.get_data()[:1] == b"\1"
    assert len(held.get_data()) < 4000
    assert b"3 begincidchar\n<0000> 0\n" in font["/Encoding"].get_data()


def test_each_character_is_drawn_in_its_own_place():
    """As poppler draws it: one stroke is light, sixteen are dark, whatever came first."""
    skip_without("pdftoppm")
    ink = inked(page_of("龘一龘一"), 4)
    assert min(ink[0], ink[2]) > 3 * max(ink[1], ink[3])


def inked(file: bytes, parts: int) -> list[int]:
    """How dark each part of a page's width is, from left to right."""
    done = subprocess.run(
        ["pdftoppm", "-gray", "-r", "72", "-"], input=file, capture_output=True, check=True
    )
    assert done.stderr == b""
    _kind, size, _most, pixels = done.stdout.split(b"\n", 3)
    width, height = map(int, size.split())
    dark = [0] * parts
    for at, pixel in enumerate(pixels[: width * height]):
        dark[at % width * parts // width] += 255 - pixel
    return dark
