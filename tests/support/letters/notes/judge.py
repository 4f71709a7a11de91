"""Judges a note for the door by the raw record: each sentence is one that the language's table
knows and is so, and all of those that its kind has are there."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests.support.letters.notes.event import Event
from tests.support.letters.notes.table import NoteTable
from tests.support.letters.table import UNKNOWN, Said

Question = Callable[[Said], Any]
FLAGS = 11
HEAD, FOOT = ("place", "family", "given"), ("questions", "emergency")
# Of each kind of note, what it says, in the order of reading. That nothing hurts is said in the
# same words in two kinds of note in one language.
WHOLE = {
    "fall": (
        *HEAD, "fell", "nothing", "clinicians", "did", "look_for", "no_sport", "tells_of_knock",
        *FOOT,
    ),
    "head": (
        *HEAD, "knock", "stopped", "cannot_say", "stay", "call", *["flag"] * FLAGS, "seen_by",
        "two_days", "medicine", "school", "paused", "rule", "stricter", *FOOT,
    ),
    "hands": (*HEAD, "seen", "hands", "everybody", "nothing", "no_practice", *FOOT),
}  # fmt: skip
ONE_OF = {
    "place_desk": "place", "fell_at": "fell", "knock_at": "knock", "said_nothing": "nothing",
    "told_nothing": "nothing",
}  # fmt: skip


@dataclass(frozen=True)
class NoteClaim:
    said: Said
    true: bool


@dataclass
class NoteJudge:
    event: Event
    table: NoteTable

    def objections(self, words: str) -> list[str]:
        claims = self.claims(words)
        wrong = [
            f"unknown: {each.said.text}" if each.said.kind == UNKNOWN else each.said.text
            for each in claims
            if not each.true
        ]
        kinds = tuple(ONE_OF.get(each.said.kind, each.said.kind) for each in claims)
        flags = [each.said.get("flag") for each in claims if each.said.kind == "flag"]
        if kinds != WHOLE[self.event.kind]:
            wrong.append(f"not the whole of a note: {' '.join(kinds)}")
        if flags != [str(at) for at in range(len(flags))]:
            wrong.append("the signs to look for")
        return wrong

    def claims(self, words: str) -> list[NoteClaim]:
        """One space is as good as another: French has a narrow one before its colon."""
        lines = words.replace("\u00a0", " ").split("\n")
        said = [each for line in lines if line for each in self.table.sentences(line)]
        return [NoteClaim(each, self._is_true(each)) for each in said]

    def _is_true(self, said: Said) -> bool:
        named = all(name == self.event.record.child.called for name in said.all("name"))
        question = self._questions().get(said.kind)
        return named and question is not None and bool(question(said))

    def _questions(self) -> dict[str, Question]:
        kind = self.event.kind
        of_fall = ("clinicians", "look_for", "no_sport", "tells_of_knock")
        of_head = ("stopped", "cannot_say", "stay", "flag", "seen_by", "two_days", "medicine",
                   "school", "stricter")  # fmt: skip
        return {
            **self._of_the_frame(),
            **self._of_the_evening(),
            **dict.fromkeys(of_fall, lambda said: kind == "fall" and self.event.fell()),
            **dict.fromkeys(of_head, lambda said: kind == "head" and self.event.knocked()),
            "everybody": lambda said: kind == "hands",
            "no_practice": lambda said: kind == "hands",
        }

    def _of_the_frame(self) -> dict[str, Question]:
        event, record = self.event, self.event.record
        return {
            "place": lambda said: (
                event.meeting is not None
                and said.get("class") == event.meeting.group.name
                and self._there_and_then(said)
            ),
            "place_desk": lambda said: event.meeting is None and self._there_and_then(said),
            "family": lambda said: said.get("full_name") == record.child.name,
            "given": lambda said: (said.get("coach"), said.get("told")) == (
                event.given["coach"], event.given["told"],
            ),
            "questions": lambda said: event.told_of_hall("phone", said.get("phone")),
            "emergency": self._is_the_number,
        }  # fmt: skip

    def _there_and_then(self, said: Said) -> bool:
        on_the_day = said.get("day") == self.event.record.today
        on_time = said.get("clock") in self.event.clocks()
        return on_the_day and on_time and self.event.told_of_hall("name", said.get("hall"))

    def _is_the_number(self, said: Said) -> bool:
        return self.event.told_of_hall("emergency_number", said.get("emergency"))

    def _of_the_evening(self) -> dict[str, Question]:
        event, record = self.event, self.event.record
        head = record.content["head_knock"]
        return {
            "fell": lambda said: event.fell() and not event.drills(),
            "fell_at": lambda said: event.fell() and said.get("drill") in event.drills(),
            "knock": lambda said: event.knocked() and not event.drills(),
            "knock_at": lambda said: event.knocked() and said.get("drill") in event.drills(),
            "did": lambda said: said.get("did") == event.given["did"],
            "said_nothing": lambda said: event.given["hurts"] == "nothing",
            "told_nothing": lambda said: event.given["hurts"] == "nothing",
            "call": self._is_the_number,
            "paused": lambda said: record.paused_since() is not None,
            "rule": lambda said: (said.get("clear"), said.get("full")) == (
                head["clear_days"], head["full_return_day"],
            ),
            "seen": lambda said: (
                event.turn is not None
                and (said.get("drill"), said.get("seen")) == (event.turn.drill_key, event.seen())
            ),
            "hands": lambda said: event.hands_are_back(),
        }  # fmt: skip
