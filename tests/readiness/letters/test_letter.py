"""A letter to a family: what it says, that it says it letter for letter, and who may have it."""

import copy
import datetime
import io
import os
import re
import shutil
import subprocess
import sys
import unicodedata
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pypdf
import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph

from progression.models import Drill, LadderVersion, Surface
from readiness.letters.facts import ChildFacts
from readiness.letters.letter import LOOK_BACK, Letter, Sender, compose, write_letter
from readiness.letters.sheet import SETTINGS, NotPrintable, print_letter
from readiness.letters.type import as_printed, faces, markup, on_one_line, without_type
from readiness.models import DayTally, Pain, Pause, Placing
from readiness.record.ladders import NamedLadder
from readiness.record.standings import Reading, read
from tests.support.cast import NOW, TODAY, Cast, Logged

DAY = datetime.timedelta(days=1)
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
# Name, and whether the first typeface has all of it. Marks are typed apart in some.
NAMES = {
    "Vietnamese": "Nguyễn Thị Ánh",
    "Vietnamese, decomposed": unicodedata.normalize("NFD", "Nguyễn Thị Ánh"),
    "Polish": "Łukasz Żak",
    "Polish, decomposed": unicodedata.normalize("NFD", "Łukasz Żak"),
    "Greek": "Αθηνά",
    "Cyrillic": "Ольга",
    "curly apostrophe": "Zoë O’Brien",
    "an accent with no letter of its own": "Adẹ́ọlá Ọ̀ṣun",
}
# What no typeface here has, or what would come out wrong: joined, turned, stacked.
NAMES_REFUSED = {
    "Chinese": ("陈美丽", "陈"),
    "Korean": ("김민지", "김"),
    "Devanagari": ("आर्या", "आ"),
    "Arabic": ("ليلى", "ل"),
    "Hebrew": ("נועה", "נ"),
    "emoji": ("Mai 🤸", "🤸"),
}


@pytest.fixture
def reading(cast: Cast) -> Reading:
    return read(cast.mai, TODAY)


def letter_from(reading: Reading, sender: Sender = SENDER, own: str = "") -> Letter:
    with translation.override("en"):
        return compose(ChildFacts(reading, reading), sender, own)


def with_names(reading: Reading, drill: str = "", stage: str = "") -> Reading:
    """The same reading under a ladder with another name of the hollow hold, or of stage 1."""
    content = copy.deepcopy(dict(reading.ladder.content))
    named = {each["key"]: each for each in [*content["drill"], *content["stage"]]}
    named["hollow-hold"]["name"] = drill or named["hollow-hold"]["name"]
    named["shapes"]["name"] = stage or named["shapes"]["name"]
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


def pages_of(file: bytes) -> list[pypdf.PageObject]:
    return list(pypdf.PdfReader(io.BytesIO(file)).pages)


def folded(text: str) -> str:
    """Where a line breaks is the page's affair; what cannot be seen is not printed."""
    seen = "".join(each for each in text if each.isspace() or unicodedata.category(each) != "Cc")
    return " ".join(unicodedata.normalize("NFC", seen).split())


def text_of(file: bytes) -> str:
    return folded("\n".join(page.extract_text() for page in pages_of(file)))


# --- letter for letter ---------------------------------------------------------------


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
    (page,) = pages_of(print_letter(letter_from(reading, own=own)))
    assert "/Annots" not in page
    assert "/XObject" not in page["/Resources"]
    assert not page.images


def test_a_typed_text_is_the_same_after_the_page_description_has_been_read():
    style = ParagraphStyle("plain", fontName=faces()[0].regular)
    known = sorted(faces()[0].characters | faces()[1].characters)

    @given(st.text(st.sampled_from([*known, *"<>&;/'\"=%{}# "]), max_size=40))
    def same(text: str) -> None:
        line = on_one_line(text)
        read_back = Paragraph(markup(line, 11, names=[line[:7]]), style).frags
        assert "".join(frag.text for frag in read_back) == line

    same()


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


def test_a_name_is_set_in_one_typeface():
    name = "Nguyễn Thị Ánh"
    assert markup(f"Dear {name},", 10, names=[name]) == (
        f'Dear <font name="DejaVuSans" size="9.20">{name}</font>,'
    )


def test_the_last_typeface_has_whatever_the_first_has():
    # So a letter that needs another typeface's accent finds both in one.
    assert faces()[-1].characters >= faces()[0].characters


def test_an_accent_stays_with_its_letter():
    assert 'size="9.20">ẹ́</font>' in markup("ẹ́", 10)


# --- the page ------------------------------------------------------------------------


def fonts_of(page: pypdf.PageObject) -> list[Any]:
    return [font.get_object() for font in page["/Resources"]["/Font"].values()]


@pytest.mark.django_db
def test_a_letter_is_one_a4_page_with_its_fonts_inside_and_its_language_named(reading):
    file = print_letter(letter_from(reading, own="Ольга & Αθηνά"))
    (page,) = pages_of(file)
    # ISO 216: A4 is 210 mm by 297 mm.
    assert [float(side) / 72 * 25.4 for side in page.mediabox[2:]] == pytest.approx(
        [210, 297], abs=0.1
    )
    names = {font["/BaseFont"].split("+")[-1] for font in fonts_of(page)}
    assert names == {
        "AtkinsonHyperlegibleNext-Regular",
        "AtkinsonHyperlegibleNext-Bold",
        "DejaVuSans",
    }
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts_of(page))
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

    def drill_names(self, keys):
        names = [drill["name"] for drill in self.now.ladder.drills.values()]
        return sorted(names, key=len)[-4:]

    def begun(self):
        return ["handspring"]

    def opened(self):
        return ["Handspring, light touch (18 December 2025)"] * 4

    def next_stages(self):
        return [stage for stage in self.now.read.stages if not stage.opening][:2]


@pytest.mark.django_db
def test_the_fullest_letter_of_the_shipped_ladder_fits_a_page(cast):
    climb_to_the_walkover(cast)
    facts = FullestFacts(read(cast.mai, TODAY), read(cast.mai, TODAY - LOOK_BACK))
    with translation.override("en"):
        letter = compose(facts, SENDER, "More than a word. " * 17)
    assert "Done for the first time: " in "\n".join(letter.texts())
    assert len(pages_of(print_letter(letter))) == 1


@pytest.mark.django_db
def test_a_letter_that_does_not_fit_is_refused_whole(reading):
    with pytest.raises(NotPrintable, match="Mai Tran is longer than one page: shorten your"):
        print_letter(letter_from(reading, own="line\n" * 60))
    with pytest.raises(NotPrintable, match="shorten the names of the drills"):
        print_letter(letter_from(with_names(reading, drill="long name " * 300)))


@pytest.fixture
def drawn(tmp_path, reading) -> bytes:
    """The letter as a picture (portable pixmap), by Poppler."""
    if not shutil.which("pdftoppm"):
        if os.environ.get("LADDER_NEED_POPPLER") == "1":
            pytest.fail("pdftoppm is missing")
        pytest.skip("pdftoppm is missing")
    source = tmp_path / "letter.pdf"
    source.write_bytes(print_letter(letter_from(reading, own="Nguyễn & Ольга")))
    done = subprocess.run(
        ["pdftoppm", "-r", "50", "-singlefile", source], capture_output=True, check=True
    )
    assert done.stderr == b""
    return done.stdout


@pytest.mark.django_db
def test_another_program_draws_the_letter_in_black_on_white(drawn):
    # A4 at 50 dots an inch is 413.4 by 584.6.
    header, pixels = re.match(rb"P6\s(\d+) (\d+)\s255\n", drawn), drawn[-414 * 585 * 3 :]
    assert header is not None
    assert [int(side) for side in header.groups()] == [414, 585]
    assert pixels[0::3] == pixels[1::3] == pixels[2::3]
    dark = sum(level < 128 for level in pixels[0::3]) / (414 * 585)
    assert 0.01 < dark < 0.2


def surface_called(key: str) -> Surface:
    return Surface.objects.get(key=key)


# --- what it says --------------------------------------------------------------------


def climb_to_the_walkover(cast: Cast) -> None:
    """A believable record for Mai, thirty weeks of it: stage 3 opens in the last twelve."""
    drills = Drill.objects.in_bulk(field_name="key")
    surface = surface_called("sprung-dance-floor")
    rows = []
    for week in range(30):
        shapes = {"hollow-hold": 10, "arch-hold": 10, "front-support": 12, "wall-handstand": 6}
        values = {drill: float(least + week) for drill, least in shapes.items()}
        clean = {"safe-fall": (2, 0)}
        values["name-the-shape"] = 5.0
        if week > 18:
            values |= {"bridge-hold": float(week), "bridge-line": 2.0}
            clean |= {"kick-over-block": (3, 2), "back-bend-raised": (3, 2)}
        if week > 22:
            clean["back-walkover"] = (3, 3)
        for drill in [*values, *clean]:
            turns, support = clean.get(drill, (2, 0))
            rows.append(
                DayTally(
                    child=cast.mai,
                    drill=drills[drill],
                    surface=surface,
                    support=support,
                    author=cast.omar,
                    day=TODAY - 7 * (30 - week) * DAY,
                    turns=turns,
                    clean=turns if drill in clean else 0,
                    graded=turns,
                    graded_clean=turns if drill in clean else 0,
                    best=values.get(drill),
                    best_graded=values.get(drill),
                    second_graded=values.get(drill),
                    stop_signs=0,
                    first_at=NOW - 7 * (30 - week) * DAY,
                    first_id=uuid.uuid4(),
                    first_clean=drill in clean or None,
                    first_graded=True,
                )
            )
    DayTally.objects.bulk_create(rows)


def said(letter: Letter) -> str:
    return "\n".join(letter.texts())


@pytest.fixture
def climbed(cast: Cast) -> Cast:
    climb_to_the_walkover(cast)
    return cast


def hurt(cast: Cast, place: str, day: datetime.date) -> None:
    at = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
    Pain.objects.create(
        id=uuid.uuid4(), child=cast.mai, place=place, day=day, at=at, by=cast.omar,
        received_at=at, digest="d",
    )  # fmt: skip


def pause(cast: Cast, day: datetime.date) -> None:
    at = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
    Pause.objects.create(child=cast.mai, reason="a sprain", by=cast.petra, at=at, day=day)


def test_a_letter_tells_from_the_record_where_the_child_stands(climbed):
    text = said(write_letter(climbed.mai, climbed.omar, NOW))
    assert "Lantern Yard\nMill hall, 4 Weir Lane · 4 March 2026\n" in text
    assert "Backward tumbling: where Mai Tran stands" in text
    assert "Open on our ladder: Back walkover, spotted." in text
    assert "the wall; Kick-over from a raised block; Back bend to a raised mat; Back walk" in text
    assert "What has come since 10 December 2025" in text
    assert re.search(r"New on the ladder: Back walkover, spotted \(\d+ \w+ 20\d\d\)\.", text)
    assert "Done for the first time: Back walkover." in text
    assert "Next on the ladder: Back walkover, unspotted. It still asks for: calm, st" in text
    assert "Then a director looks too, and decides." in text
    assert "Next on the ladder: Handspring lead-ups. It still asks for: Shoulder shrugs" in text
    assert "that is why we name no date" in text
    assert text.count("Omar\nfor Lantern Yard") == 1


def test_a_letter_about_a_child_with_no_record_begins_at_the_beginning(cast):
    text = said(write_letter(cast.mai, cast.omar, NOW))
    assert "Open on our ladder: Shapes and supports." in text
    assert "Next on the ladder: Bridge and kick-over." in text
    assert "What has come" not in text
    assert "we worked at" not in text


def test_weeks_in_which_nothing_opened_are_told_kindly(log, cast):
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - 100 * DAY, support=0)
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - 7 * DAY, support=0)
    text = said(write_letter(cast.mai, cast.omar, NOW))
    assert "These weeks went into practice that shows later" in text
    assert "New on the ladder" not in text


def test_weeks_without_a_turn_are_not_called_practice(log, cast):
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - 100 * DAY, support=0)
    assert "These weeks" not in said(write_letter(cast.mai, cast.omar, NOW))


def test_of_the_stages_opened_by_a_placing_the_furthest_is_told(cast):
    at = NOW - 7 * DAY
    surface = read(cast.mai, TODAY).ladder.engine.surfaces[0]
    Placing.objects.create(
        child=cast.mai, stage=7, surface=surface_called(surface), reason="seen", by=cast.petra,
        at=at, day=at.date(), ladder=LadderVersion.objects.get(),
    )  # fmt: skip
    text = said(write_letter(cast.mai, cast.omar, NOW))
    assert "Open on our ladder: Handspring, light touch." in text
    assert "Next on the ladder: Back walkover, unspotted." in text
    assert "Next on the ladder: Handspring, unspotted." in text


def test_a_skill_on_re_check_is_told_as_more_help(log, climbed):
    day = TODAY - 3 * DAY
    log(climbed.mai, "back-walkover", "0", day=day, faults=("drops-in",))
    text = said(write_letter(climbed.mai, climbed.omar, NOW))
    assert "For now there is more help again at: Back walkover." in text
    assert "drop" not in text.lower()


@pytest.mark.parametrize(("days", "told"), [(0, True), (21, True), (22, False)])
def test_something_that_hurt_is_told_for_twenty_one_days(days, told, cast):
    hurt(cast, "wrist", TODAY - days * DAY)
    text = said(write_letter(cast.mai, cast.omar, NOW))
    assert ("something hurt in class; the coach wrote down: Wrist." in text) is told
    assert ("Please no practice at home until nothing hurts any more." in text) is told
    assert ("A few minutes on a mat or a carpet" in text) is not told


def test_a_pause_is_told_without_its_reason_and_asks_for_rest_at_home(climbed):
    pause(climbed, TODAY - 2 * DAY)
    hurt(climbed, "wrist", TODAY - 2 * DAY)
    text = said(write_letter(climbed.mai, climbed.omar, NOW))
    assert "Tumbling has been paused for Mai since 2 March 2026." in text
    assert "What stays open for Mai" in text
    assert "Next on the ladder, once the pause is over: Back walkover, unspotted." in text
    assert "Rest. Please no practice at home either" in text
    assert "may practise" not in text
    assert "sprain" not in text


def test_at_home_only_shapes_are_practised(climbed):
    letter = write_letter(climbed.mai, climbed.omar, NOW)
    (home,) = (each for each in letter.sections if each.heading == "What helps at home")
    first, second = home.paragraphs
    assert [shape in first for shape in ("the hollow", "the arch", "the front support")] == [
        True
    ] * 3
    assert "no backward tumbling at home, on beds or trampolines" in second
    assert not re.search("bridge|walkover|handspring|handstand|kick", first)


def four_letters(log: Logged, cast: Cast) -> list[Letter]:
    new = write_letter(cast.mai, cast.omar, NOW)
    climb_to_the_walkover(cast)
    plain = write_letter(cast.mai, cast.omar, NOW)
    log(cast.mai, "back-walkover", "0", day=TODAY - 3 * DAY, faults=("drops-in",))
    hurt(cast, "back", TODAY - 3 * DAY)
    sore = write_letter(cast.mai, cast.omar, NOW)
    pause(cast, TODAY - 2 * DAY)
    return [new, plain, sore, write_letter(cast.mai, cast.omar, NOW)]


def test_no_letter_says_a_pronoun_another_child_a_score_or_that_anybody_is_safe(log, cast):
    log(cast.ilse, "hollow-hold", [40.0], support=0)
    for letter in four_letters(log, cast):
        text = text_of(print_letter(letter))
        assert not re.search(r"\b(she|he|her|hers|him|his|herself|himself)\b", text, re.IGNORECASE)
        assert not re.search(r"Ilse|Brand|Rosa|Vidal", text)
        assert "%" not in text
        assert not re.search(r"\d+ (of|out of|/) ?\d+|\bscore|\bbetter than|\bother child", text)
        assert not re.search(r"\bsafe(ly)?\b", text.replace("Safe fall", ""), re.IGNORECASE)


def test_every_letter_carries_the_cautions(log, cast):
    for letter in four_letters(log, cast):
        text = text_of(print_letter(letter))
        assert "counts and reminds; a qualified coach in the room decides, each turn" in text
        assert "local law, your insurer, the governing body and licensed medical advice" in text
        assert "no return until a licensed clinician clears it" in text
        assert "No backward tumbling at home, on beds or trampolines." in text


def test_the_guardian_is_greeted_by_name_and_else_the_family(cast):
    assert write_letter(cast.mai, cast.omar, NOW).greeting == "To the family of Mai Tran,"
    cast.mai.guardian = "Ms. Tran"
    assert write_letter(cast.mai, cast.omar, NOW).greeting == "Dear Ms. Tran,"


@pytest.mark.parametrize("language", ["en", "en-GB", "xx", "", "../x"])
def test_a_language_without_sentences_falls_back_to_english(language, cast):
    cast.mai.letter_language = language
    before = translation.get_language()
    letter = write_letter(cast.mai, cast.omar, NOW)
    assert letter.language == "en"
    assert letter.greeting == "To the family of Mai Tran,"
    assert translation.get_language() == before


def test_the_look_back_is_read_as_of_that_day(climbed):
    earlier = read(climbed.mai, TODAY - LOOK_BACK)
    assert max(earlier.read.state.opened) == "2"
    assert earlier.read.day == datetime.date(2025, 12, 10)


# --- the page and the file -----------------------------------------------------------


def signed_in(staff: Any) -> Client:
    client = Client()
    client.force_login(staff)
    return client


@pytest.fixture(autouse=True)
def _now(request: pytest.FixtureRequest):
    if "cast" not in request.fixturenames:
        yield
        return
    with time_machine.travel(NOW, tick=False):
        yield


def test_the_page_shows_the_sentences_and_a_field_for_one_more(cast):
    answer = signed_in(cast.omar).get(f"/children/{cast.mai.uuid}/letter")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert answer["Cache-Control"] == "no-store"
    assert "Open on our ladder: Shapes and supports." in page
    assert f'formaction="/children/{cast.mai.uuid}/letter.pdf"' in page
    assert '<textarea name="own"' in page
    assert "Ilse" not in page


def test_the_sentence_is_read_on_the_page_before_it_is_printed(cast):
    own = "Mai asked for a hand & got it.\nI <3 that."
    answer = signed_in(cast.omar).post(f"/children/{cast.mai.uuid}/letter", {"own": own})
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "<p>Mai asked for a hand &amp; got it.<br>I &lt;3 that.</p>" in page


def test_the_file_has_the_sentence_that_was_typed(cast):
    own = "Mai asked for a hand & got it.\r\nI <3 that.\0"
    answer = signed_in(cast.omar).post(f"/children/{cast.mai.uuid}/letter.pdf", {"own": own})
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "no-store"
    assert "Mai asked for a hand & got it. I <3 that. What Mai works on" in text_of(answer.content)


def test_the_file_can_be_had_without_a_sentence(cast):
    answer = signed_in(cast.petra).get(f"/children/{cast.mai.uuid}/letter.pdf?own=not+this")
    assert answer.status_code == 200
    assert "Petra for Lantern Yard" in text_of(answer.content)
    assert "not this" not in text_of(answer.content)


@pytest.mark.parametrize(
    ("name", "header"),
    [
        ("Mai Tran", 'attachment; filename="Letter about Mai Tran, 4 March 2026.pdf"'),
        (
            "Łukasz Żak",
            "attachment; filename*=utf-8''Letter%20about%20%C5%81ukasz%20%C5%BBak"
            "%2C%204%20March%202026.pdf",
        ),
        ('../a"b\r\nX: y', 'attachment; filename="Letter about ..-a-b X- y, 4 March 2026.pdf"'),
    ],
)
def test_the_file_name_is_right_or_plain(name, header, cast):
    cast.mai.name = name
    cast.mai.save(update_fields=["name"])
    answer = signed_in(cast.omar).get(f"/children/{cast.mai.uuid}/letter.pdf")
    assert answer.status_code == 200
    assert answer["Content-Disposition"] == header


def refused_with(answer: HttpResponse, sentence: str) -> None:
    assert answer.status_code == 422
    assert answer["Content-Type"].startswith("text/html")
    assert "Content-Disposition" not in answer
    assert sentence in answer.content.decode()


@pytest.mark.parametrize("address", ["letter", "letter.pdf"])
def test_a_sentence_with_a_character_that_has_no_type_is_refused_and_kept_in_the_field(
    address, cast
):
    answer = signed_in(cast.omar).post(f"/children/{cast.mai.uuid}/{address}", {"own": "Bravo 🤸"})
    refused_with(answer, "Mai Tran cannot be printed: no typeface here has 🤸 (U+1F938)")
    assert "Bravo 🤸</textarea>" in answer.content.decode()


def test_a_name_that_has_no_type_is_told_on_the_page_and_refused_as_a_file(cast):
    cast.mai.name = "陈美丽"
    cast.mai.save(update_fields=["name"])
    client = signed_in(cast.omar)
    sentence = (
        "陈美丽 cannot be printed: no typeface here has 陈 (U+9648), 美 (U+7F8E), 丽 (U+4E3D)"
    )
    page = client.get(f"/children/{cast.mai.uuid}/letter")
    assert page.status_code == 200
    assert sentence in page.content.decode()
    refused_with(client.get(f"/children/{cast.mai.uuid}/letter.pdf"), sentence)


@pytest.mark.parametrize("address", ["letter", "letter.pdf"])
def test_a_sentence_that_is_too_long_is_refused_with_its_length(address, cast):
    client = signed_in(cast.omar)
    kept = client.post(f"/children/{cast.mai.uuid}/{address}", {"own": "é" * 300})
    assert kept.status_code == 200
    longer = client.post(f"/children/{cast.mai.uuid}/{address}", {"own": "é" * 301})
    refused_with(longer, "This is 301 characters long; the letter has room for 300.")


def test_a_sentence_of_too_many_lines_is_refused(cast):
    answer = signed_in(cast.omar).post(
        f"/children/{cast.mai.uuid}/letter.pdf", {"own": "a\n" * 150}
    )
    refused_with(answer, "Mai Tran is longer than one page: shorten your sentence.")


@pytest.mark.parametrize("address", ["letter", "letter.pdf"])
@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize(
    ("who", "status"),
    [("omar", 200), ("petra", 200), ("luis", 200), ("ines", 404), ("dora", 404), ("tam", 403)],
)
def test_letters_are_for_the_childs_own_coaches_and_directors(who, status, method, address, cast):
    client = signed_in(getattr(cast, who))
    answer = getattr(client, method)(f"/children/{cast.mai.uuid}/{address}")
    assert answer.status_code == status
    assert status == 200 or b"Mai" not in answer.content


@pytest.mark.parametrize("address", ["letter", "letter.pdf"])
def test_a_letter_needs_a_sign_in_and_is_not_changed_by_other_methods(address, cast):
    answer = Client().get(f"/children/{cast.mai.uuid}/{address}")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")
    assert signed_in(cast.omar).put(f"/children/{cast.mai.uuid}/{address}").status_code == 405
    assert signed_in(cast.omar).get(f"/children/{uuid.uuid4()}/{address}").status_code == 404
