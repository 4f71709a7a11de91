"""What a letter to a family says."""

import copy
import datetime
import re
import uuid
from dataclasses import replace

import pytest
import time_machine
from django.utils import translation

from progression.models import LadderVersion
from readiness.engine.levels import Support
from readiness.engine.reading import StageReading
from readiness.engine.replay.state import Cause, WayBack
from readiness.letters.decided import Signed
from readiness.letters.facts import ChildFacts
from readiness.letters.letter import Letter, Sender, compose, letter_facts, write_letter
from readiness.letters.sheet import print_letter
from readiness.models import DayTally, Pain, PainGone, Pause, Placing
from readiness.record.ladders import NamedLadder
from readiness.record.standings import read
from studio.models import Location
from tests.support.cast import NOW, TODAY, Cast, Logged, give_consent
from tests.support.guards import forget_answers
from tests.support.letters.files import (
    DAY,
    called,
    climb_to_the_walkover,
    said,
    stage_called,
    surface_called,
    text_of,
)


def hurt(cast: Cast, place: str, day: datetime.date) -> None:
    at = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
    Pain.objects.create(
        id=uuid.uuid4(), child=cast.mai, place=place, day=day, at=at, by=cast.omar,
        received_at=at, digest="d",
    )  # fmt: skip


def pause(cast: Cast, day: datetime.date) -> None:
    at = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
    Pause.objects.create(child=cast.mai, reason="a sprain", by=cast.petra, at=at, day=day)


def headings(letter: Letter) -> list[str]:
    return [section.heading for section in letter.sections]


def test_a_letter_tells_from_the_record_where_the_child_stands(climbed):
    letter = write_letter(letter_facts(climbed.mai, NOW), climbed.omar)
    text = said(letter)
    assert "Lantern Yard\nMill hall, 4 Weir Lane · 4 March 2026\n" in text
    assert letter.title == "What Mai Tran works on"
    assert "In the last four weeks Mai worked on this:\n" in text
    assert f"\n• {called('back-walkover')}" in text
    assert "For that, a coach’s hand touches lightly." in text
    assert "What has come since 10 December 2025" in text
    assert f"On our record for the first time: {called('back-walkover')}; " in text
    assert f"What comes next is “{stage_called(4)}”, when the pieces below it are steady." in text
    assert "Then our director looks, and decides." in text
    assert f"Beside it comes “{stage_called(5)}”. It asks for: {called('hollow-hold')}" not in text
    assert f"Beside it comes “{stage_called(5)}”. It asks for: {called('shrugs-pushup')}; " in text
    assert "We name no day." in text
    assert text.count("Omar\nfor Lantern Yard") == 1


def test_it_closes_with_where_and_when_to_ask_if_the_hall_says_so(climbed):
    facts = letter_facts(climbed.mai, NOW)
    assert "Questions" not in said(write_letter(facts, climbed.omar))
    Location.objects.filter(pk=climbed.hall.pk).update(questions="the desk, Mondays, 16:00.\n")
    letter = write_letter(facts, climbed.omar)
    assert "\nQuestions are welcome: the desk, Mondays, 16:00.\nWith kind regards," in said(letter)
    assert "Questions are welcome: the desk, Mondays, 16:00." in text_of(print_letter(letter))
    facts.now.child.letter_language = "de"
    letter = write_letter(facts, climbed.omar)
    assert letter.questions == "Fragen sind willkommen: the desk, Mondays, 16:00."


def test_where_to_ask_is_that_of_the_childs_hall(climbed):
    Location.objects.filter(pk=climbed.other_hall.pk).update(questions="the quay, 09:00")
    letter = write_letter(letter_facts(climbed.mai, NOW), climbed.omar)
    assert letter.questions == ""


def test_an_opening_is_dated_by_the_evening_that_earned_it(climbed):
    since = read(climbed.mai, TODAY).read.state.opened["3"].since
    assert DayTally.objects.filter(child=climbed.mai, day=since - DAY).exists()
    evening = f"{since - DAY:%-d %B %Y}"
    text = said(write_letter(letter_facts(climbed.mai, NOW), climbed.omar))
    assert f"New on the ladder: {stage_called(3)} ({evening})." in text


def test_a_letter_about_a_child_with_no_record_begins_at_the_beginning(cast):
    letter = write_letter(letter_facts(cast.mai, NOW), cast.omar)
    assert headings(letter) == ["In class", "How it goes on", "What helps at home"]
    assert "Mai is at the beginning of our ladder: shapes held still" in said(letter)
    assert "“Not yet” is no mark." in said(letter)


def test_weeks_in_which_nothing_opened_are_told_kindly(log, cast):
    for weeks in (14, 3, 2, 1):
        log(cast.mai, "hollow-hold", [5.0], day=TODAY - 7 * weeks * DAY, support=0)
    text = said(write_letter(letter_facts(cast.mai, NOW), cast.omar))
    assert "These weeks went into practice. A skill stands on what has become steady." in text
    assert "New on the ladder" not in text


@pytest.mark.parametrize(
    ("evenings", "told"),
    [
        (0, "There are no turns of Mai on our record from these weeks."),
        (1, "turns of Mai on our record from only a few evenings, too few to say more. It was"),
        (2, "turns of Mai on our record from only a few evenings, too few to say more. It was"),
        (3, "These weeks went into practice."),
    ],
)
def test_few_evenings_are_too_little_to_say_more(evenings, told, log, cast):
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - 100 * DAY, support=0)
    for weeks in range(1, evenings + 1):
        log(cast.mai, "hollow-hold", [5.0], day=TODAY - 7 * weeks * DAY, support=0)
    text = said(write_letter(letter_facts(cast.mai, NOW), cast.omar))
    assert told in text
    assert ("Steps grow from weeks that follow each other." in text) is (evenings < 3)


@pytest.mark.parametrize(
    ("first", "since"),
    [(83, "11 December 2025"), (84, "10 December 2025"), (99, "10 December 2025")],
)
def test_a_letter_tells_since_the_term_began_or_the_first_class_if_that_is_later(
    first, since, log, cast
):
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - first * DAY, support=0)
    assert f"What has come since {since}" in headings(
        write_letter(letter_facts(cast.mai, NOW), cast.omar)
    )


def place(cast: Cast, stage: int, days_ago: int) -> None:
    at = NOW - days_ago * DAY
    surface = read(cast.mai, TODAY).ladder.engine.surfaces[0]
    Placing.objects.create(
        child=cast.mai, stage=stage, surface=surface_called(surface), reason="seen",
        by=cast.petra, at=at, day=at.date(), ladder=LadderVersion.objects.get(),
    )  # fmt: skip


def test_a_placing_is_told_as_a_beginning_and_not_as_progress(log, cast):
    place(cast, stage=7, days_ago=20)
    for days in (20, 14, 7):
        log(cast.mai, "hollow-hold", [60.0], day=TODAY - days * DAY, support=0)
        log(cast.mai, "arch-hold", [60.0], day=TODAY - days * DAY, support=0)
    letter = write_letter(letter_facts(cast.mai, NOW), cast.omar)
    text = said(letter)
    assert (
        f"On 12 February 2026 Petra watched Mai and chose where to begin: {stage_called(7)}."
        in (text)
    )
    assert "that is no mark on another teacher." in text
    for progress in ("New on the ladder", "now does", "for the first time", "How it goes on"):
        assert progress not in text


def test_a_skill_on_re_check_is_told_as_such_and_nothing_is_called_open(log, climbed):
    day = TODAY - 3 * DAY
    log(climbed.mai, "back-walkover", "0", day=day, faults=("drops-in",))
    letter = write_letter(letter_facts(climbed.mai, NOW), climbed.omar)
    text = said(letter)
    # It was a light touch before: hands had not left.
    assert "On 1 March 2026 more help came for Mai at this: " in text
    assert "For now, a coach’s hands carry part of the weight." in text
    assert "help comes back at once, and leaves again step by step." in text
    assert "How it goes on" not in headings(letter)
    assert not re.search(r"\bopen\b|drop", text, re.IGNORECASE)


def test_where_the_hands_had_never_left_they_are_not_said_to_be_back(log, climbed):
    rows = DayTally.objects.filter(child=climbed.mai, drill__key="back-walkover")
    rows.exclude(day=max(rows.values_list("day", flat=True))).delete()
    log(climbed.mai, "back-walkover", "0", day=TODAY - 3 * DAY, faults=("drops-in",))
    text = said(write_letter(letter_facts(climbed.mai, NOW), climbed.omar))
    assert "Since 1 March 2026 we go over this once more, with hands as before: " in text
    assert "came" not in text.split("For now")[0].split("More help")[1]


def test_hands_that_had_left_are_said_to_have_come_back_on_the_first_evening_of_it(climbed):
    reading = read(climbed.mai, TODAY)
    walkover = reading.read.state.drills["back-walkover"]
    walkover.steps = {"3:light-touch", "3:standing-by"}
    causes = (
        Cause("lately", TODAY - 17 * DAY, ("3",), Support.STANDING_BY),
        Cause("stop-sign", TODAY - 10 * DAY, ("3",), Support.HANDS_ON),
        Cause("stop-sign", TODAY - 3 * DAY, ("3",), Support.HANDS_ON),
    )
    walkover.way_back = WayBack(Support.HANDS_ON, TODAY - 3 * DAY, causes)
    text = said(compose(ChildFacts(reading), Sender("Lantern Yard", "Mill hall", "Omar"), ""))
    assert "On 22 February 2026 a coach’s hands came back for Mai at this: " in text


def test_a_signature_on_evidence_that_has_changed_is_not_told_as_more_help(climbed):
    reading = read(climbed.mai, TODAY)
    walkover = reading.read.state.drills["back-walkover"]
    cause = Cause("evidence-changed", TODAY - 3 * DAY, ("3",), Support.STANDING_BY)
    walkover.way_back = WayBack(Support.STANDING_BY, TODAY - 3 * DAY, (cause,))
    text = said(compose(ChildFacts(reading), Sender("Lantern Yard", "Mill hall", "Omar"), ""))
    assert f"Since 1 March 2026 we go over this once more: {called('back-walkover')}" in text
    assert "more help came" not in text


def test_after_a_long_time_away_the_hands_come_first(log, cast):
    climb_to_the_walkover(cast)
    away = datetime.timedelta(days=40)
    log(cast.mai, "hollow-hold", [5.0], day=TODAY - 7 * DAY + away, support=0)
    with time_machine.travel(NOW + away, tick=False):
        text = said(write_letter(letter_facts(cast.mai, NOW + away), cast.omar))
    assert "Mai is back since 6 April 2026." in text
    assert "More than 4 weeks went by without a turn at this: " in text
    assert "everybody here starts with our hands again, and so does Mai." in text


@pytest.mark.parametrize("answer", ["no", "nothing", "yes"])
def test_without_a_yes_to_a_coachs_hands_no_help_and_no_next_step_is_told(answer, climbed):
    if answer == "no":
        give_consent(climbed.mai, yes=False, day=TODAY - DAY)
    elif answer == "nothing":
        forget_answers(climbed.mai)
    text = said(write_letter(letter_facts(climbed.mai, NOW), climbed.omar))
    for sentence in ("For that, ", "What comes next is"):
        assert (sentence in text) is (answer == "yes")


HURT = "On {day} we wrote down that something hurt: Wrist. We cannot say what it is. Our rule is to"


def test_something_that_hurt_is_told_until_somebody_says_that_it_is_gone(cast):
    hurt(cast, "wrist", TODAY - 30 * DAY)
    text = said(write_letter(letter_facts(cast.mai, NOW), cast.omar))
    assert HURT.format(day="2 February 2026") in text
    assert "Please no practice at home until nothing hurts any more." in text
    assert "A few minutes on a mat or a carpet" not in text
    assert "we left out" not in text.lower()
    PainGone.objects.create(
        id=uuid.uuid4(), child=cast.mai, place="wrist", day=TODAY, at=NOW, by=cast.omar,
        received_at=NOW, digest="d",
    )  # fmt: skip
    text = said(write_letter(letter_facts(cast.mai, NOW), cast.omar))
    assert "hurt:" not in text
    assert "A few minutes on a mat or a carpet" in text


@pytest.mark.parametrize(("days", "told"), [(0, True), (21, True), (22, False)])
def test_under_a_ladder_that_does_not_ask_it_is_told_for_twenty_one_days(days, told, cast):
    hurt(cast, "wrist", TODAY - days * DAY)
    reading = read(cast.mai, TODAY)
    content = copy.deepcopy(dict(reading.ladder.content))
    content["pain_rule"] = {"again_days": 21}
    facts = ChildFacts(replace(reading, ladder=NamedLadder(1, content)))
    assert (facts.hurt_lately() is not None) is told


def test_a_pause_is_told_without_its_reason_and_names_no_next_step(climbed):
    pause(climbed, TODAY - 2 * DAY)
    hurt(climbed, "wrist", TODAY - 2 * DAY)
    letter = write_letter(letter_facts(climbed.mai, NOW), climbed.omar)
    text = said(letter)
    assert letter.title == "A pause for Mai Tran"
    assert headings(letter) == ["A pause for now"]
    assert "Tumbling has been paused for Mai since 2 March 2026." in text
    assert "and our director has written it down." in text
    assert stage_called(4) not in text
    assert "sprain" not in text


class AtTheTop(ChildFacts):
    def highest_stage(self) -> str:
        return "9"

    def next_stages(self) -> list[StageReading]:
        return []


def test_a_child_at_the_top_is_not_told_not_yet(climbed):
    facts = AtTheTop(read(climbed.mai, TODAY))
    text = said(compose(facts, Sender("Lantern Yard", "Mill hall", "Omar"), ""))
    assert f"Mai has come to the last part of our ladder: {stage_called(9)}." in text
    assert "What comes now is keeping it steady: new floors, and the dance, one at a time." in text
    assert "not yet" not in text.lower()
    assert "when the pieces below" not in text


def signed(cast: Cast, climbed_day: datetime.date) -> Signed:
    surface = read(cast.mai, TODAY).ladder.engine.surfaces[2]
    return Signed("4", surface, climbed_day, "Petra")


class SignedForTheWalkover(ChildFacts):
    def without_hands(self) -> list[tuple[Signed, str]]:
        return [(each, "back-walkover") for each in self.signed]


def test_a_signature_is_told_with_who_gave_it_when_and_for_which_floor(climbed):
    given = signed(climbed, TODAY - 9 * DAY)
    facts = SignedForTheWalkover(read(climbed.mai, TODAY), (given,))
    text = said(compose(facts, Sender("Lantern Yard", "Mill hall", "Omar"), ""))
    assert "On 23 February 2026 Petra agreed that Mai does this in our class without a" in text
    assert f"coach’s hands: {called('back-walkover')}" in text
    assert f"It holds for one kind of floor: {facts.surface_name(given.surface)}, and easi" in text
    assert "not for home, a garden or a stage." in text


def test_families_read_a_drills_own_line_and_its_name_where_there_is_none(reading_of):
    told = reading_of("Rock: from side to side.")
    assert (
        told.line("hollow-hold"),
        told.line_within("hollow-hold"),
        told.drill_name("hollow-hold"),
    ) == (
        "Rock: from side to side.",
        "Rock (from side to side)",
        "Rock",
    )
    plain = reading_of(None)
    assert (plain.line("hollow-hold"), plain.line_within("hollow-hold")) == (
        "Hollow hold.",
        "Hollow hold",
    )


@pytest.fixture
def reading_of(cast):
    """Facts under a ladder whose hollow hold has that line for families."""

    def facts(line: str | None) -> ChildFacts:
        reading = read(cast.mai, TODAY)
        content = copy.deepcopy(dict(reading.ladder.content))
        (hollow,) = (each for each in content["drill"] if each["key"] == "hollow-hold")
        hollow.pop("letter", None)
        if line:
            hollow["letter"] = line
        return ChildFacts(replace(reading, ladder=NamedLadder(1, content)))

    return facts


def test_at_home_only_shapes_are_practised(climbed):
    letter = write_letter(letter_facts(climbed.mai, NOW), climbed.omar)
    (home,) = (each for each in letter.sections if each.heading == "What helps at home")
    first, second = home.paragraphs
    assert [shape in first for shape in ("the hollow", "the arch", "the front support")] == [
        True
    ] * 3
    assert "Only these shapes, please, and nothing backward" in second
    assert not re.search("bridge|walkover|handspring|handstand|kick", first)


def four_letters(log: Logged, cast: Cast) -> list[Letter]:
    new = write_letter(letter_facts(cast.mai, NOW), cast.omar)
    climb_to_the_walkover(cast)
    plain = write_letter(letter_facts(cast.mai, NOW), cast.omar)
    log(cast.mai, "back-walkover", "0", day=TODAY - 3 * DAY, faults=("drops-in",))
    hurt(cast, "back", TODAY - 3 * DAY)
    sore = write_letter(letter_facts(cast.mai, NOW), cast.omar)
    pause(cast, TODAY - 2 * DAY)
    return [new, plain, sore, write_letter(letter_facts(cast.mai, NOW), cast.omar)]


def test_no_letter_says_a_pronoun_another_child_a_score_or_that_anybody_is_safe(log, cast):
    log(cast.ilse, "hollow-hold", [40.0], support=0)
    for letter in four_letters(log, cast):
        text = text_of(print_letter(letter))
        assert not re.search(r"\b(she|he|her|hers|him|his|herself|himself)\b", text, re.IGNORECASE)
        assert not re.search(r"Ilse|Brand|Rosa|Vidal", text)
        assert "%" not in text
        assert not re.search(r"\d+ (of|out of|/) ?\d+|\bscore|\bbetter than|\bother child", text)
        assert not re.search(r"\bsafe(ly)?\b|\balone\b", text.replace("Safe fall", ""), re.I)


def test_every_letter_says_what_teachers_do_and_sends_nobody_to_an_insurer(log, cast):
    for letter in four_letters(log, cast):
        text = text_of(print_letter(letter))
        assert "Our teachers decide each turn by what they see." in text
        assert "Mats and hands make accidents rarer, not impossible." in text
        assert "no return before a licensed clinician says yes" in text
        assert "No backward tumbling at home, on beds or trampolines." in text
        assert not re.search("insurer|program|count", text)


def test_the_guardian_is_greeted_by_name_and_else_the_family(cast):
    assert (
        write_letter(letter_facts(cast.mai, NOW), cast.omar).greeting
        == "To the family of Mai Tran,"
    )
    cast.mai.guardian = "Ms. Tran"
    assert write_letter(letter_facts(cast.mai, NOW), cast.omar).greeting == "Dear Ms. Tran,"


@pytest.mark.parametrize("language", ["en", "en-GB", "xx", "", "../x"])
def test_a_language_without_sentences_falls_back_to_english(language, cast):
    cast.mai.letter_language = language
    before = translation.get_language()
    letter = write_letter(letter_facts(cast.mai, NOW), cast.omar)
    assert letter.language == "en"
    assert letter.greeting == "To the family of Mai Tran,"
    assert translation.get_language() == before
