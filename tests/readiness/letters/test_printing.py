"""A letter on paper: letter for letter what was typed, on one page."""

import copy
import io
import re
import subprocess
import sys
import unicodedata
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pypdf
import pytest
from django.utils import translation

from readiness.engine.levels import Support
from readiness.engine.replay.state import Cause
from readiness.letters.decided import Signed
from readiness.letters.facts import ChildFacts, ReCheck
from readiness.letters.letter import Letter, Sender, compose
from readiness.letters.sheet import SETTINGS, NotPrintable, print_letter
from readiness.letters.type import as_printed, on_one_line, without_type
from readiness.record.ladders import NamedLadder
from readiness.record.standings import Reading, read
from tests.support.cast import TODAY, Cast
from tests.support.letters.files import climb_to_the_walkover, folded, pages_of, text_of
from tests.support.letters.poppler import skip_without

SENDER = Sender("Lantern Yard", "Mill hall, 4 Weir Lane", "Omar")


# What people type that a page description could take for markup, or for an address to open.
TYPED = [
    "J&C dance",
    "Q&A",
    "R&amp;B",
    "a<b",
    "5 s <hold",
    "I <3 turns",
    "Tom & Ana",
    "<b>bold",
    "</para>",
    "<br/>",
    "<font color=red>",
    "<img src='/etc/hostname'/>",
    "<a href='http://x.example'>x</a>",
    "100 % of %(child)s {name}",
    "two\nlines\r\nof text",
    "a\ttab",
    "a NUL\0 and a bell\7",
]


# In letters that are drawn one by one. Marks are typed apart in some.
# Other scripts: test_scripts.py.
NAMES = {
    "Vietnamese": "Nguyễn Thị Ánh",
    "Vietnamese, decomposed": unicodedata.normalize("NFD", "Nguyễn Thị Ánh"),
    "Polish": "Łukasz Żak",
    "Polish, decomposed": unicodedata.normalize("NFD", "Łukasz Żak"),
    "Greek": "Αθηνά",
    "polytonic Greek": "Ἀθηνᾶ Ἑλένη",
    "Cyrillic": "Ольга",
    "curly apostrophe": "Zoë O’Brien",
    "an accent with no letter of its own": "Adẹ́ọlá Ọ̀ṣun",
}


# What no typeface here has.
NAMES_REFUSED = {
    "Chinese": ("陈美丽", "陈"),
    "Japanese": ("さくら", "さ"),
    "Korean": ("김민지", "김"),
    "Armenian": ("Անի", "Ա"),
    "emoji": ("Mai 🤸", "🤸"),
}


@pytest.fixture
def reading(cast: Cast) -> Reading:
    climb_to_the_walkover(cast)
    return read(cast.mai, TODAY)


def letter_from(reading: Reading, sender: Sender = SENDER, own: str = "") -> Letter:
    with translation.override("en"):
        return compose(ChildFacts(reading), sender, own)


def with_names(reading: Reading, drill: str = "", stage: str = "") -> Reading:
    """The same reading under a ladder with another name of the walkover, or of stage 4."""
    content = copy.deepcopy(dict(reading.ladder.content))
    named = {each["key"]: each for each in [*content["drill"], *content["stage"]]}
    for key, name in (("back-walkover", drill), ("walkover-unspotted", stage)):
        if name:
            named[key]["name"] = name
            named[key].pop("letter", None)
    return replace(reading, ladder=NamedLadder(reading.ladder.number, content))


def letter_with(typed: str, place: str, reading: Reading) -> Letter:
    reading = replace(reading, child=copy.copy(reading.child))
    match place:
        case "the coach's own sentence":
            return letter_from(reading, own=typed)
        case "the child's name":
            reading.child.name = typed
        case "the name used":
            reading.child.name_used = typed
        case "the guardian":
            reading.child.guardian = typed
        case "the studio":
            return letter_from(reading, Sender(typed, SENDER.place, SENDER.coach))
        case "the hall":
            return letter_from(reading, Sender(SENDER.studio, typed, SENDER.coach))
        case "the coach":
            return letter_from(reading, Sender(SENDER.studio, SENDER.place, typed))
        case "a drill":
            return letter_from(with_names(reading, drill=typed))
        case "a stage":
            return letter_from(with_names(reading, stage=typed))
    return letter_from(reading)


PLACES = [
    "the coach's own sentence",
    "the child's name",
    "the name used",
    "the guardian",
    "the studio",
    "the hall",
    "the coach",
    "a drill",
    "a stage",
]


@pytest.mark.django_db
@pytest.mark.parametrize("typed", TYPED)
def test_what_was_typed_is_printed_character_for_character_in_every_place(typed, reading):
    for place in PLACES:
        assert folded(typed) in text_of(print_letter(letter_with(typed, place, reading))), place


@pytest.mark.django_db
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_a_name_that_the_typefaces_have_is_printed_as_it_is_written(name, reading):
    for place in PLACES:
        printed = text_of(print_letter(letter_with(name, place, reading)))
        assert unicodedata.normalize("NFC", name) in printed, place


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "character"), NAMES_REFUSED.values(), ids=NAMES_REFUSED.keys())
def test_a_character_that_no_typeface_has_is_refused_by_name(name, character, reading):
    for place in PLACES:
        letter = letter_with(name, place, reading)
        with pytest.raises(NotPrintable) as refused:
            print_letter(letter)
        assert letter.child in str(refused.value), place
        assert f"{character} (U+{ord(character):04X})" in str(refused.value), place


@pytest.mark.django_db
def test_three_emoji_are_each_named_once(reading):
    with pytest.raises(NotPrintable) as refused:
        print_letter(letter_from(reading, own="🤸🎉🤸 well done 👍"))
    assert [str(refused.value).count(each) for each in "🤸🎉👍"] == [1, 1, 1]


@pytest.mark.django_db
def test_a_typed_tag_opens_no_file_and_no_address(reading):
    own = "<img src='/etc/hostname'/> <a href='http://x.example'>x</a>"
    for page in pages_of(print_letter(letter_from(reading, own=own))):
        assert "/Annots" not in page
        assert "/XObject" not in page["/Resources"]
        assert not page.images


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("", ""),
        ("  two  spaces ", "two spaces"),
        ("one\r\ntwo\n\n\nthree", "one\ntwo\nthree"),
        ("a\u00a0b\u2003c", "a b c"),
        ("e\u0301", "é"),
        ("zero\u200bwidth, \u202eturned\u202c", "zerowidth, turned"),
        ("soft\u00adhyphen", "softhyphen"),
        ("❤\ufe0f", "❤"),
        ("\0\x1b", ""),
    ],
)
def test_spaces_are_tidied_and_what_cannot_be_seen_is_left_out(typed, printed):
    assert as_printed(typed) == printed


def test_a_lone_surrogate_is_lacking_and_not_an_error():
    assert without_type(["a\ud800"]) == ["\ud800"]


def fonts_of(page: pypdf.PageObject) -> list[Any]:
    return [font.get_object() for font in page["/Resources"]["/Font"].values()]


@pytest.mark.django_db
def test_a_letter_has_its_fonts_inside_and_its_language_named(reading):
    file = print_letter(letter_from(reading, own="Ольга & Αθηνά"))
    page = pages_of(file)[0]
    names = {font["/BaseFont"].split("+")[-1] for font in fonts_of(page)}
    assert names == {
        "AtkinsonHyperlegibleNext-Regular",
        "AtkinsonHyperlegibleNext-Bold",
        "NotoSans-Regular",
    }
    descendants = [font["/DescendantFonts"][0].get_object() for font in fonts_of(page)]
    assert all("/FontFile2" in font["/FontDescriptor"] for font in descendants)
    assert pypdf.PdfReader(io.BytesIO(file)).trailer["/Root"]["/Lang"] == "en"


@pytest.fixture
def threads_give_way() -> Iterator[None]:
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(before)


@pytest.mark.django_db
def test_letters_printed_at_the_same_time_do_not_mix(reading, threads_give_way):
    letters = [letter_from(reading, own=f"Only for {each}, Łukasz & Ольга") for each in range(40)]
    with ThreadPoolExecutor(8) as pool:
        texts = [text_of(file) for file in pool.map(print_letter, letters)]
    for each, text in enumerate(texts):
        assert re.findall(r"Only for \d+, Łukasz & Ольга", text) == [letters[each].own]


def test_no_type_is_smaller_than_eleven_point():
    assert min(setting.size for setting in SETTINGS) == 11


class FullestFacts(ChildFacts):
    """As much as a letter can have to tell: every list full, every name long."""

    def longest(self) -> list[str]:
        drills = self.now.ladder.drills
        return sorted(drills, key=lambda key: len(self.line(key)))[-4:]

    def drill_names(self, keys):
        return [self.drill_name(key) for key in self.longest()]

    def practised(self):
        return self.longest()

    def help_at(self, drill):
        return Support.HANDS_ON

    def without_hands(self):
        floor = self.now.ladder.engine.surfaces[2]
        return [(Signed("4", floor, TODAY, "Amadea Thornquist"), "back-walkover")] * 2

    def begun(self):
        return ["handspring"]

    def opened(self):
        return [("7", TODAY)] * 4

    def next_stages(self):
        return [stage for stage in self.now.read.stages if not stage.opening][:2]


class FullestOnReCheck(FullestFacts):
    """Something hurt, and two skills are watched again after a long time away."""

    def hurt_lately(self):
        return TODAY, list(self.now.ladder.pain_names.values())[:3]

    @property
    def re_checks(self):
        away = Cause("away", TODAY, ("3",), Support.HANDS_ON)
        stopped = Cause("stop-sign", TODAY, ("3",), Support.HANDS_ON)
        return [
            ReCheck("back-walkover", away, Support.STANDING_BY, Support.HANDS_ON),
            ReCheck("handspring", stopped, Support.STANDING_BY, Support.HANDS_ON),
        ]

    def back_since(self):
        return TODAY


@pytest.mark.django_db
@pytest.mark.parametrize("kind", [FullestFacts, FullestOnReCheck])
def test_the_fullest_letter_of_the_shipped_ladder_fits_two_pages(kind, reading):
    with translation.override("en"):
        letter = compose(kind(reading), SENDER, "More than a word. " * 17)
    told = "\n".join(letter.texts())
    assert "On our record for the first time: " in told
    assert ("is back since" in told) is (kind is FullestOnReCheck)
    file = print_letter(letter)
    assert len(pages_of(file)) == 2
    for text in letter.texts():
        assert folded(text) in text_of(file)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "name",
    [
        "Wolfeschlegelsteinhausenbergerdorff " * 3 + "Ann",
        "W" * 120,
        "D’Arcy-O'Neill ' ‘van ’t Hof’",
        "\u202egninnip\u202c Lia\u200f",
        "Lia\u2066 <b>O'Neill</b>\u2069 & 100 %(child)s",
    ],
    ids=["long", "one long word", "apostrophes", "marks of direction", "markup"],
)
def test_a_messy_name_is_printed_whole(name, reading):
    for place in ("the child's name", "the name used", "the guardian"):
        file = print_letter(letter_with(name, place, reading))
        printed = "".join(text_of(file).split())
        assert "".join(folded(on_one_line(name)).split()) in printed, place
        assert not re.search("[\u200e\u200f\u202a-\u202e\u2066-\u2069]", printed)


@pytest.mark.django_db
def test_a_letter_that_does_not_fit_is_refused_whole(reading):
    with pytest.raises(NotPrintable, match="Mai Tran is longer than two pages: shorten your"):
        print_letter(letter_from(reading, own="line\n" * 120))
    with pytest.raises(NotPrintable, match="shorten the names of the drills"):
        print_letter(letter_from(with_names(reading, drill="long name " * 300)))


@pytest.fixture
def drawn(tmp_path, reading) -> bytes:
    """The letter as a picture (portable pixmap), by Poppler."""
    skip_without("pdftoppm")
    source = tmp_path / "letter.pdf"
    source.write_bytes(print_letter(letter_from(reading, own="Nguyễn & Ольга")))
    done = subprocess.run(
        ["pdftoppm", "-r", "50", "-singlefile", source], capture_output=True, check=True
    )
    assert done.stderr == b""
    return done.stdout


@pytest.mark.django_db
def test_another_program_draws_the_letter_on_white(drawn):
    # A4 at 50 dots an inch is 413.4 by 584.6.
    header, pixels = re.match(rb"P6\s(\d+) (\d+)\s255\n", drawn), drawn[-414 * 585 * 3 :]
    assert header is not None
    assert [int(side) for side in header.groups()] == [414, 585]
    assert set(pixels[: 3 * 414]) == {255}
    dark = sum(level < 128 for level in pixels[0::3]) / (414 * 585)
    assert 0.01 < dark < 0.2
