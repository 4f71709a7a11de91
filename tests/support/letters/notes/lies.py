"""Something false in the place of each thing that a true note for the door claims: another day,
hour, name, hall, telephone, number, drill, sign or help, a word or a whole sentence left out."""

import datetime
import re
from collections.abc import Iterator

from tests.support.letters.lies import SOMEBODY_ELSE
from tests.support.letters.notes.event import Event
from tests.support.letters.notes.judge import NoteClaim
from tests.support.letters.notes.table import NoteTable
from tests.support.letters.table import Value

DAY = datetime.timedelta(days=1)
NAMED = ("name", "full_name", "coach", "told", "class", "hall")
# What was altered, and the note as it would read then.
Lie = tuple[str, str]


def lies(words: str, claim: NoteClaim, event: Event, table: NoteTable) -> Iterator[Lie]:
    said = claim.said
    for value in said.values:
        for what, text in false_texts(value, event, table):
            told = said.text[: value.begins] + text + said.text[value.begins + len(value.text) :]
            yield what, words.replace(said.text, told, 1)
    for number in re.findall(r"\d+", table.own_words(said.kind)):
        told = said.text.replace(number, str(int(number) + 1))
        yield "number", words.replace(said.text, told, 1)
    for word in re.finditer(r"\S+", said.text):
        left = f"{said.text[: word.start()]}{said.text[word.end() + 1 :]}".strip()
        yield "a word", words.replace(said.text, left, 1)
    yield "a sentence", words.replace(said.text, "", 1)


def false_texts(value: Value, event: Event, table: NoteTable) -> Iterator[tuple[str, str]]:
    if value.what == "day":
        day = event.record.today
        yield "day", table.said_note_day(day + DAY)
        yield "month", table.said_note_day(day + 31 * DAY)
        yield "year", table.said_note_day(day - 364 * DAY)
        yield (
            "weekday",
            table.said_note_day(day).replace(
                table.rows["weekdays"][day.weekday()], table.rows["weekdays"][day.weekday() - 1]
            ),
        )
    elif value.what == "clock":
        hour, minute = (int(part) for part in value.text.split(":"))
        yield "hour", f"{(hour + 1) % 24:02}:{minute:02}"
        yield "hour", f"{hour:02}:{(minute + 1) % 60:02}"
    elif value.what in NAMED:
        yield "name", SOMEBODY_ELSE
    elif value.what in ("phone", "emergency"):
        yield "telephone", f"{value.text}0"
    elif value.what in ("clear", "full"):
        yield "number", str(value.read - 1)
        yield "number", str(value.read + 1)
    else:
        others = [key for key in table.keys[value.what].values() if key != value.read]
        if value.what == "drill":
            others = [key for key in others if key not in event.drills()][:2]
        yield from ((value.what, table.said_key(value.what, key)) for key in others)
