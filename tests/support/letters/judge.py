"""Judges a letter by the raw record, in any of its languages: every sentence is one that the
language's table knows, and what it claims is asked of the log, the decisions and the pauses."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from readiness.letters.letter import Letter
from studio.models import Studio
from tests.support.letters.beside import claims_beside
from tests.support.letters.record import TERM, RawRecord
from tests.support.letters.table import MORE, TIME, UNKNOWN, Said, Table

# A question to the record: whether what was said is so.
Question = Callable[[Said], Any]
# Under which heading a sentence may stand.
HEADINGS = {
    "put_right": ("replaces",),
    "pause": ("pause", "pause_ends"),
    "hands": ("no_yes",),
    "hurt": ("hurt", "hurt_gone"),
    "more_help": ("back", "went_by", "evidence", "as_before", "hands_back", "more_help", "for_now",
                  "away_rule", "same_rule", "stays"),
    "begins": ("placed", "placed_why"),
    "without_hands": ("agreed", "agreed_means"),
    "director": ("review", "review_why"),
    "class": ("top", "beginning", "also_worked", "worked", "line", "for_that"),
    "since": ("opened", "reached", "begun", "no_turns", "few_turns", "practice"),
    "goes_on": ("gap", "beginning_why", "top_next", "next", "beside", "asks", "more_time",
                "director_decides", "no_day"),
    "home": ("rest", "shapes", "only_shapes"),
}  # fmt: skip
IN_A_PAUSE = {"replaces", *HEADINGS["pause"]}
# They stand in every letter and say nothing of the child.
ALWAYS = {"regards", "studio", "cautions"}
# With a value that is always there, and that is no claim by itself.
SPOKEN_TO = {"name", "studio"}
# What the letters call a second time too soon, written out in their sentence.
THREE_WEEKS = 21


@dataclass(frozen=True)
class Claim:
    """A sentence, where it stands, and whether the record carries it. begins: where in the
    paragraph."""

    part: str
    heading: str
    said: Said
    true: bool
    paragraph: str = ""
    begins: int = 0

    @property
    def count(self) -> int:
        """A sentence of n names, days or numbers claims n things; one without any, one."""
        if self.said.kind in ALWAYS:
            return 0
        return sum(value.what not in SPOKEN_TO for value in self.said.values) or 1


@dataclass
class Judge:
    """One letter about the child of a record; ``claims`` fills up. drill, stage: what was spoken
    of last; own: what the coach added."""

    record: RawRecord
    table: Table
    own: str = ""
    drill: str = ""
    stage: str = ""
    claims: list[Claim] = field(default_factory=list)

    @property
    def objections(self) -> list[str]:
        return [
            f"unknown: {claim.said.text}" if claim.said.kind == UNKNOWN else claim.said.text
            for claim in self.claims
            if not claim.true
        ]

    def judge(self, letter: Letter) -> None:
        self._frame(letter)
        for section in letter.sections:
            heading = self.judge_text("headings", "", section.heading)
            for paragraph in section.paragraphs:
                self.judge_text("sentences", heading, paragraph)
        kinds = {claim.said.kind for claim in self.claims if claim.part == "sentences"}
        paused = self.record.paused_since()
        self._other("one part in a pause", not paused or kinds <= IN_A_PAUSE)
        self._other("what helps at home", paused or {"rest", "only_shapes"} & kinds)
        self._other("no “not yet” at the top", "top" not in kinds or "next" not in kinds)
        self._other("words of one language", not letter.lacking)
        for text, true in claims_beside(self.record, self.table, letter.beside):
            self._other(text, true)

    def judge_text(self, part: str, heading: str, text: str) -> str:
        """A heading, a title, a line of the frame, or a paragraph under a heading; the kind."""
        self.drill, begins, kind = "", len(text) - len(text.removeprefix("• ")), ""
        found = [self.table.whole(part, text)]
        if part == "sentences":
            found = list(self.table.sentences(text))
        for said in found:
            kind = said.kind
            true = kind in self.questions[part] and self._is_true(part, heading, said)
            self.claims.append(Claim(part, heading, said, true, text, begins))
            begins += len(said.text) + 1
        return kind

    def _is_true(self, part: str, heading: str, said: Said) -> bool:
        here = part != "sentences" or said.kind in HEADINGS.get(heading, ())
        named = all(name == self.record.child.called for name in said.all("name"))
        return here and named and bool(self.questions[part][said.kind](said))

    @cached_property
    def questions(self) -> dict[str, dict[str, Question]]:
        return {
            "frame": self._of_the_frame(),
            "titles": self._titles(),
            "headings": self._headings(),
            "sentences": self._questions(),
        }

    def _frame(self, letter: Letter) -> None:
        self.judge_text("titles", "", letter.title)
        for text in (letter.greeting, letter.regards, letter.signs, letter.subject):
            self.judge_text("frame", "", text)
        self.judge_text("frame", "", letter.cautions)
        if letter.questions:
            self.judge_text("frame", "", letter.questions)
        self._other("where to ask", bool(letter.questions) == bool(self.record.where_to_ask()))
        self._other(letter.date, letter.date == self.table.said_day(self.record.today))
        self._other(letter.child, letter.child == self.record.child.name)
        self._other(letter.own or "no sentence of a coach's", letter.own == self.own)

    def _other(self, text: str, true: object) -> None:
        self.claims.append(Claim("other", "", Said("other", text), bool(true)))

    def _of_the_frame(self) -> dict[str, Question]:
        child = self.record.child
        return {
            "dear": lambda said: child.guardian and said.get("guardian") == child.guardian,
            "family": lambda said: not child.guardian and said.get("full_name") == child.name,
            "regards": lambda said: True,
            "studio": lambda said: said.get("studio") == Studio.objects.get().name,
            "subject": lambda said: (said.get("full_name"), said.get("date")) == (
                child.name, self.record.today,
            ),
            "cautions": lambda said: True,
            "questions": lambda said: said.get("where") in self.record.where_to_ask(),
        }  # fmt: skip

    def _titles(self) -> dict[str, Question]:
        name, paused = self.record.child.name, self.record.paused_since
        return {
            "pause": lambda said: paused() and said.get("full_name") == name,
            "works_on": lambda said: not paused() and said.get("full_name") == name,
        }

    def _headings(self) -> dict[str, Question]:
        record = self.record
        return {
            "put_right": lambda said: record.printed_on(),
            "pause": lambda said: record.paused_since(),
            "hurt": lambda said: record.hurt_on(),
            "hands": lambda said: record.answer() != "yes",
            "more_help": lambda said: record.watched_again(),
            "begins": lambda said: record.placing(),
            "without_hands": lambda said: record.signed_without_hands(),
            "director": lambda said: record.waits_for_review(),
            "class": self._goes_on,
            "since": lambda said: said.get("date") == record.since,
            "goes_on": self._ahead,
            "home": self._goes_on,
        }

    # --- what the sentences claim -----------------------------------------------------

    def _questions(self) -> dict[str, Question]:
        return {
            "replaces": lambda said: said.get("date") == self.record.printed_on(),
            **self._of_care(),
            **self._of_help_again(),
            **self._of_decisions(),
            **self._of_class(),
            **self._of_what_came(),
            **self._of_what_comes(),
        }

    def _goes_on(self, said: Said) -> bool:
        return not self.record.paused_since()

    def _ahead(self, said: Said) -> bool:
        return self.record.may_look_ahead()

    def _of_care(self) -> dict[str, Question]:
        record = self.record
        return {
            "pause": lambda said: said.get("date") == record.paused_since(),
            "pause_ends": lambda said: record.paused_since(),
            "no_yes": lambda said: record.answer() != "yes",
            "hurt": self._hurt,
            "hurt_gone": lambda said: record.hurt_on() and record.again_days() == THREE_WEEKS,
            "rest": lambda said: record.hurt_on(),
            "shapes": lambda said: self._goes_on(said) and not record.hurt_on(),
            "only_shapes": lambda said: self._goes_on(said) and not record.hurt_on(),
        }

    def _hurt(self, said: Said) -> bool:
        on, places = self.record.hurt_on(), said.all("place")
        return said.get("date") == on and sorted(places) == sorted(self.record.hurt_at(on))

    def _of_help_again(self) -> dict[str, Question]:
        record = self.record
        return {
            "back": lambda said: said.get("date") == record.back_since(),
            "went_by": self._went_by,
            "evidence": self._other_evidence,
            "as_before": self._as_before,
            "hands_back": lambda said: self._went_back(said, hands=True),
            "more_help": lambda said: self._went_back(said, hands=False),
            "for_now": self._helped,
            "away_rule": lambda said: (
                said.get("weeks") == record.away_weeks() and record.watched_again("away")
            ),
            "same_rule": lambda said: record.watched_again(),
            "stays": lambda said: record.watched_again(),
        }

    def _went_by(self, said: Said) -> bool:
        self.drill, weeks = said.get("works"), said.get("weeks")
        return weeks == self.record.away_weeks() and (
            self.record.longest_gap(self.drill) > weeks * 7
        )

    def _other_evidence(self, said: Said) -> bool:
        self.drill = said.get("works")
        signed = [row for row in self.record.decisions("sign") if row.day == said.get("date")]
        return self.record.watched_again("evidence-changed") and any(
            self.drill in self.record.read.stage(row.stage).stage.skills for row in signed
        )

    def _as_before(self, said: Said) -> bool:
        """Something was not clean that evening, where hands had been asked for all along."""
        self.drill, on = said.get("works"), said.get("date")
        if on is None or not self.record.was_unclean(self.drill, on):
            return False
        least, most, _after = self.record.asked_before_and_after(self.drill, on)
        return (least, most) == (3, 3)

    def _went_back(self, said: Said, hands: bool) -> bool:
        """That evening something at the drill was not clean; before it less help was asked."""
        self.drill, on = said.get("works"), said.get("date")
        if on is None or not self.record.was_unclean(self.drill, on):
            return False
        before, _most, after = self.record.asked_before_and_after(self.drill, on)
        return before < 2 <= after if hands else before < after

    def _helped(self, said: Said) -> bool:
        return bool(self.drill) and said.get("help") == self.record.asked_now(self.drill)

    def _of_decisions(self) -> dict[str, Question]:
        record = self.record
        return {
            "placed": self._placed,
            "placed_why": lambda said: record.placing(),
            "agreed": self._agreed,
            "agreed_means": lambda said: record.signed_without_hands(),
            "review": lambda said: record.waits_for_review(said.get("works")),
            "review_why": lambda said: record.waits_for_review(),
        }

    def _placed(self, said: Said) -> bool:
        row = self.record.placing()
        told = said.get("date"), said.get("director"), said.get("stage")
        return row is not None and told == (row.day, row.by.called, str(row.stage))

    def _agreed(self, said: Said) -> bool:
        told = said.get("date"), said.get("director"), said.get("surface")
        return any(
            row.surface is not None
            and told == (row.day, row.by.called, row.surface.key)
            and said.get("works") in self.record.read.stage(row.stage).stage.skills
            for row in self.record.signed_without_hands()
        )

    def _of_class(self) -> dict[str, Question]:
        record = self.record
        return {
            "top": lambda said: said.get("stage") == record.last_stage() in record.open_codes(),
            "beginning": lambda said: record.at_the_beginning(),
            "worked": lambda said: record.evenings_lately(),
            "also_worked": lambda said: (
                record.evenings_lately()
                and (record.watched_again() or record.signed_without_hands())
            ),
            "line": self._worked_on,
            "for_that": self._helped,
        }

    def _worked_on(self, said: Said) -> bool:
        self.drill = said.get("line")
        return self.record.worked_lately(self.drill)

    def _of_what_came(self) -> dict[str, Question]:
        record = self.record
        return {
            "opened": lambda said: all(
                day is not None and record.opened_on(code, day)
                for code, day in zip(said.all("stage"), said.all("date"), strict=True)
            ),
            "reached": lambda said: not record.placing() and all(
                record.newly_met(asked) for asked in said.all("drills")
            ),
            "begun": lambda said: all(
                (first := record.first_day(*drill)) and record.since and first > record.since
                for drill in said.all("drills")
            ),
            "no_turns": lambda said: not record.evenings_of_term(),
            "few_turns": lambda said: 0 < record.evenings_of_term() < 3,
            "practice": lambda said: record.evenings_of_term() >= 3,
        }  # fmt: skip

    def _of_what_comes(self) -> dict[str, Question]:
        record = self.record
        return {
            "gap": lambda said: self._ahead(said) and self._after_a_gap(),
            "beginning_why": lambda said: (
                self._ahead(said) and record.at_the_beginning() and not self._after_a_gap()
            ),
            "top_next": lambda said: (
                self._ahead(said) and record.last_stage() in record.open_codes()
            ),
            "next": self._comes_next,
            "beside": self._comes_next,
            "asks": self._asks,
            "more_time": lambda said: record.sent_back(self.stage),
            "director_decides": lambda said: (
                self.stage and record.read.stage(self.stage).stage.sign_off
            ),
            "no_day": lambda said: self._ahead(said) and record.next_stages(),
        }

    def _after_a_gap(self) -> bool:
        days = self.record.turns.days()
        was_here = bool(days) and days[0] <= self.record.today - TERM
        return was_here and self.record.evenings_of_term() < 3

    def _comes_next(self, said: Said) -> bool:
        self.stage = said.get("stage")
        return self.stage in self.record.next_stages() and self.record.may_look_ahead()

    def _asks(self, said: Said) -> bool:
        """Each drill has a gate of the step that is not met; time is asked for by the others."""
        if not self.stage:
            return False
        record, things = self.record, said.all("drills")
        unmet = [
            gate
            for gate in record.gates(self.stage)
            if not record.met(self.stage, gate, record.today)
        ]
        asked = {record.asked_by(gate) for gate in unmet}
        if MORE in things and len(asked) <= len(set(things) - {MORE, TIME}):
            return False
        if TIME in things and not self._asks_for_time(unmet):
            return False
        return set(things) - {MORE, TIME} <= asked

    def _asks_for_time(self, unmet: list[dict[str, Any]]) -> bool:
        stage = self.record.read.stage(self.stage).stage
        return bool(
            stage.sign_off
            or {gate["kind"] for gate in unmet} - {"reach", "clean", "count"}
            or {gate["drill"] for gate in unmet}.intersection(stage.skills)
        )
