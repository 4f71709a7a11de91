"""What a letter to a family says."""

import datetime
import re
import uuid

import pytest
from django.utils import translation

from progression.models import LadderVersion
from readiness.letters.letter import LOOK_BACK, Letter, write_letter
from readiness.letters.sheet import print_letter
from readiness.models import Pain, Pause, Placing
from readiness.record.standings import read
from tests.support.cast import NOW, TODAY, Cast, Logged
from tests.support.letters import DAY, climb_to_the_walkover, surface_called, text_of


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
