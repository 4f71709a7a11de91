"""The words of the notes for the door, held to a table of their own.

The sentences, the red flags among them, are common practice, no source; the days after a knock are
those of the UK Concussion Guidelines for Grassroots Sport, 2023 (nothing with a risk to the head
before 14 days without symptoms, full return not before day 21).
"""

import datetime
import re

import pytest
from django.conf import settings as site
from django.utils import translation

from readiness.door_note.words import DID, RED_FLAGS, note_words, seen_text
from readiness.door_note.words import SEEN as SEEN_WORDS
from tests.support.letters.readability import BARS, counted

HEAD = (
    "Wednesday 4 March 2026, 17:40, Blue, Mill hall. For the family of Mai Tran. "
    "Given by Omar to Lan Tran. "
)
FOOT = " Questions: 030 55. Emergency: 112."
FALL = (
    "In today's class Mai fell, at “Back walkover”. Mai said that nothing hurts. We are not "
    "clinicians. What we did: stopped for today. Tonight and tomorrow please look for pain, "
    "swelling, a limp, an arm that is not used, a stiff or sore neck or back. Then no sport; ask a "
    "clinician and call us. If Mai tells of a knock to the head, call us tonight."
)
KNOCK = (
    "In today's class Mai had a knock to the head, at “Back walkover”. Mai stopped at once. We "
    "cannot say what it is, and signs can come hours later. Somebody should stay with Mai for 24 "
    "hours. Call 112 at once for any of these: a sore or painful neck · a fit · passing out · "
    "being hard to wake · vomiting more than once · a headache that is bad or grows · seeing "
    "double or not seeing · weak or tingling arms or legs · growing confusion · growing "
    "restlessness or anger · a dent or swelling of the skull. In any case have Mai seen by a "
    "licensed clinician before any sport. First two days: easy days, little screen, no cycling, "
    "no climbing. Ask a clinician before giving medicine. School comes before sport. All tumbling "
    "is paused. Our rule for children: nothing with the head down before 14 days without any "
    "sign, the whole of it not before day 21, step by step, only with a clinician's yes in "
    "writing. A stricter rule counts."
)
HANDS = (
    "In today's class, at “Back walkover”, one turn slowed half way. From now on a coach's hands "
    "are there again. It is our rule for everybody; hands leave again step by step. Mai told us: "
    "nothing hurts. Please no practice at home and no reward for going."
)
VALUES = {
    "date": "Wednesday 4 March 2026", "time": "17:40", "class": "Blue", "hall": "Mill hall",
    "full_name": "Mai Tran", "name": "Mai", "coach": "Omar", "told": "Lan Tran",
    "drill": "Back walkover", "seen": "one turn slowed half way", "did": "stopped for today",
    "nothing_hurts": True, "phone": "030 55", "emergency": "112", "clear_days": 14, "full_day": 21,
}  # fmt: skip
SEEN = {
    "half-hearted": "one turn slowed half way",
    "feet-move": "the feet moved before the jump",
    "caught": "a coach had to catch",
    "arms-give": "the arms bent",
    "turns-in-air": "one turn went sideways",
    "drops-in": "the last part of the back bend was a drop",
    "reaches-behind": "a hand went behind",
    "head-touches": "a turn was not sure",
}
TRANSLATED = [code for code in site.LETTER_LANGUAGES if code != "en"]
ENGLISH_WORDS = re.compile(r"\b(the|and|today's|with|from|please|call|of|not)\b", re.IGNORECASE)
KINDS = ("fall", "head", "hands")
NEVER = (" safe", "better than", "other child", "%", "score", "stage")


def in_a_row(words):
    """The list as a sentence: with a dot between its parts and a full stop after."""
    said = [
        part.replace(":\n· ", ": ").replace("\n· ", " · ") + ("." if "\n" in part else "")
        for part in words.split("\n\n")
    ]
    return " ".join(said)


@pytest.mark.parametrize(("kind", "body"), [("fall", FALL), ("head", KNOCK), ("hands", HANDS)])
def test_each_note_says_what_the_table_says(kind, body):
    words = in_a_row(note_words(kind, VALUES))
    assert words == HEAD + body + FOOT
    assert not [word for word in NEVER if word in words.lower()]


@pytest.mark.parametrize(
    ("kind", "value", "sentence"),
    [
        ("fall", "did", "What we did: stopped for today. "),
        ("fall", "nothing_hurts", "Mai said that nothing hurts. "),
        ("hands", "nothing_hurts", "Mai told us: nothing hurts. "),
        ("hands", "phone", "Questions: 030 55. "),
        ("fall", "emergency", " Emergency: 112."),
        ("fall", "time", ", 17:40"),
    ],
)
def test_what_is_not_on_record_leaves_its_sentence_out(kind, value, sentence):
    whole = in_a_row(note_words(kind, VALUES))
    assert sentence in whole
    assert in_a_row(note_words(kind, VALUES | {value: ""})) == whole.replace(sentence, "")


@pytest.mark.parametrize("kind", ["fall", "head"])
def test_a_note_says_what_happened_though_it_was_at_no_drill(kind):
    whole = in_a_row(note_words(kind, VALUES))
    at_none = in_a_row(note_words(kind, VALUES | {"drill": ""}))
    assert at_none == whole.replace(", at “Back walkover”", "")


def test_what_to_look_for_after_a_knock_is_there_without_a_number():
    words = in_a_row(note_words("head", VALUES | {"emergency": ""}))
    assert "Call the emergency number at once for any of these: a sore or painful neck" in words


def test_what_was_seen_is_said_in_words_of_its_own():
    assert {fault: seen_text([fault]) for fault in SEEN} == SEEN
    assert seen_text([]) == "a turn was not sure"
    # A catch says more than the fault beside it.
    assert seen_text(["arms-give", "caught"]) == "a coach had to catch"


def test_a_note_tells_the_time_of_the_hall_only(settings):
    from readiness.door_note.words import time_text

    assert time_text(datetime.time(17, 5)) == "17:05"
    assert time_text(None) == ""


def words_in(language, kind):
    with translation.override(language):
        values = VALUES | {
            "drill": "…",
            "date": "…",
            "seen": str(SEEN_WORDS["arms-give"]),
            "did": str(DID["shapes"]),
        }
        return note_words(kind, values)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("language", TRANSLATED)
def test_a_note_is_in_one_language_and_says_as_much_as_the_english(language, kind):
    said, english = words_in(language, kind), words_in("en", kind)
    assert not ENGLISH_WORDS.findall(said.replace("Mill hall", "").replace("Lan Tran", ""))
    assert said.count("\n") == english.count("\n")
    # Numbers that a family acts on: the emergency number, the hours, the days.
    assert sorted(re.findall(r"\d+", said)) == sorted(re.findall(r"\d+", english))


@pytest.mark.parametrize("language", TRANSLATED)
def test_each_red_flag_is_said_once_in_every_language(language):
    with translation.override(language):
        flags = {str(flag) for flag in RED_FLAGS}
    assert len(flags) == len(RED_FLAGS) == 11
    assert all(f"\n· {flag}" in words_in(language, "head") for flag in flags)


@pytest.mark.parametrize("language", BARS)
def test_door_notes_are_read_as_easily_as_letters(language):
    formula, bar = BARS[language]
    text = (
        " ".join(words_in(language, kind) for kind in KINDS).replace("\n· ", ". ").replace("…", "")
    )
    assert counted(text, language).words >= 100
    assert formula(counted(text, language)) >= bar
