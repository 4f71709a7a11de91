"""All letters of an invented studio in all languages, each held against the raw record."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from readiness.letters.facts import ChildFacts
from readiness.letters.kept.keeping import ToKeep, drawn, keep
from readiness.letters.letter import Letter, Sender, letter_facts_of, senders, write_from
from studio.models import Child, ClassGroup, Staff
from studio.people.today import local_today
from tests.support.letters.files import folded, text_by_poppler
from tests.support.letters.judge import Claim, Judge
from tests.support.letters.lies import Lie, Other, altered, moved, shortened
from tests.support.letters.poppler import is_missing
from tests.support.letters.record import RawRecord
from tests.support.letters.table import LANGUAGES, PARTS, Table

# The same studio in a break, when nothing is logged: who is long away, and of whom there is
# little to say.
LATER = (datetime.timedelta(0), datetime.timedelta(weeks=5), datetime.timedelta(weeks=12))
OWN = "2 × 3 = 6!"


@dataclass
class Told:
    """What was read. wrong, missed: what was false and what false thing was not found; both are
    to be empty. unmet: kinds of sentences that no letter had."""

    letters: Counter[str] = field(default_factory=Counter)
    files: Counter[str] = field(default_factory=Counter)
    notes: Counter[str] = field(default_factory=Counter)
    sentences: Counter[str] = field(default_factory=Counter)
    claims: Counter[str] = field(default_factory=Counter)
    lies: Counter[str] = field(default_factory=Counter)
    altered: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)
    unmet: list[str] = field(default_factory=list)

    def as_data(self) -> dict[str, Any]:
        counted = ("letters", "files", "notes", "sentences", "claims", "lies")
        return {name: sum(getattr(self, name).values()) for name in counted} | {
            "false": len(self.wrong),
            "missed": len(self.missed),
            "by_language": {name: dict(getattr(self, name)) for name in counted},
            "altered": dict(self.altered),
            "what_is_false": self.wrong,
            "what_was_missed": self.missed,
            "in_no_letter": self.unmet,
        }

    def in_words(self) -> str:
        told = self.as_data()
        counted = ("letters", "files", "notes", "sentences", "claims", "false")
        lines = [f"{each}: {told[each]}" for each in counted]
        lines += [f"  {name}: {dict(counts)}" for name, counts in told["by_language"].items()]
        if self.lies:
            lines += [f"lies told: {told['lies']}, not found: {told['missed']}"]
            lines += [f"  {what}: {number}" for what, number in self.altered.most_common()]
        lines += [f"in no letter: {', '.join(self.unmet) or 'nothing'}"]
        lines += [f"FALSE {each}" for each in self.wrong]
        return "\n".join([*lines, *(f"NOT FOUND {each}" for each in self.missed)])


@dataclass
class About:
    """What is written about one child, and the record that it is held against."""

    facts: ChildFacts
    sender: Sender
    record: RawRecord
    staff: Staff
    now: datetime.datetime

    def letters(self, language: str) -> Iterator[Letter]:
        """As it is by itself; where one waits, with what a director ticks; and where one was
        printed before, the letter that corrects it, with a sentence of the coach's."""
        self.facts.now.child.letter_language = language
        yield write_from(self.facts, self.sender)
        if self.record.waits_for_review():
            yield write_from(self.facts, self.sender, review=True)
        day = self.record.printed_on()
        if day:
            yield write_from(self.facts, self.sender, OWN, replaces=day)

    def print(self) -> None:
        letter = write_from(self.facts, self.sender)
        keep(ToKeep(self.record.child, letter, self.record.today, self.staff), self.now)


def about(children: Sequence[Child], staff: Staff, now: datetime.datetime) -> list[About]:
    facts, sent = letter_facts_of(children, now), senders(children, staff)
    days = local_today(children, now)
    return [
        About(facts[child.pk], sent[child.pk], RawRecord(child, days[child.pk]), staff, now)
        for child in children
    ]


@dataclass
class Reader:
    """Reads the letters of some children on a day; what it read is added up in ``told``. each: of
    how many children the claims of one kind are altered; files: how many letters of a language
    are printed and read back, so that what was judged is what the family holds."""

    told: Told
    lies: bool
    each: int = 3
    files: int = 3
    met: set[tuple[str, str]] = field(default_factory=set)
    # Of what lies are to be told: kinds with the places of their patterns; and of what they were.
    places: set[tuple[str, str, str]] = field(default_factory=set)
    lied: set[tuple[str, str, str]] = field(default_factory=set)

    def read(self, written: Sequence[About]) -> None:
        tables = {name: Table(name, written[0].record.content) for name in LANGUAGES}
        for language, table in tables.items():
            read = {each.record: self._judged(each, language, table) for each in written}
            if self.lies:
                self._lie(language, table, read)

    def _judged(self, each: About, language: str, table: Table) -> list[Claim]:
        claims = []
        for number, letter in enumerate(each.letters(language)):
            judge = Judge(each.record, table, letter.own)
            judge.judge(letter)
            claims += judge.claims
            name = each.record.child.name
            self.told.wrong += [f"{language} {name}: {text}" for text in judge.objections]
            self.told.letters[language] += 1
            if number == 0 and self.told.files[language] < self.files:
                lacking = not_on_the_page(letter)
                self.told.wrong += [f"{language} {name}: not on the page: {t}" for t in lacking]
                self.told.files[language] += 1
        found = [claim for claim in claims if claim.part in PARTS]
        self.met |= {(claim.part, claim.said.kind) for claim in found}
        self.told.sentences[language] += len(found)
        self.told.claims[language] += sum(claim.count for claim in found)
        return found

    def _lie(self, language: str, table: Table, read: dict[RawRecord, list[Claim]]) -> None:
        """Of each kind of claim, in the letters of the first children who have it."""
        others: list[Other] = [
            (record, {(claim.part, claim.said.kind) for claim in claims})
            for record, claims in read.items()
            if not record.paused_since()
        ]
        told: dict[tuple[str, str], int] = defaultdict(int)
        for record, claims in read.items():
            for claim in {(c.part, c.said.kind): c for c in claims if c.true}.values():
                kind = claim.part, claim.said.kind
                told[kind] += 1
                if told[kind] > self.each:
                    continue
                self._hold_as_it_is(language, table, claim, record)
                self.places |= {(language, kind[1], value.what) for value in claim.said.values}
                if told[kind] == 1:
                    self._tell(language, table, shortened(claim, record, table))
                    self._tell(language, table, moved(claim, others))
                self._tell(language, table, altered(claim, record, table))

    def _hold_as_it_is(self, language: str, table: Table, claim: Claim, record: RawRecord) -> None:
        """Or a lie would be found for another reason than what is altered."""
        true = Lie("nothing", claim.said.kind, claim.paragraph, claim.part, claim.heading, record)
        if true.is_found(table):
            self.told.missed.append(f"{language} true and yet refused: {claim.paragraph}")

    def _tell(self, language: str, table: Table, lies: Iterator[Lie]) -> None:
        for lie in lies:
            self.told.lies[language] += 1
            self.told.altered[lie.what] += 1
            self.lied.add((language, lie.kind, lie.place))
            if not lie.is_found(table):
                self.told.missed.append(f"{language} {lie.what} in {lie.kind}: {lie.text}")

    def finish(self, table: Table) -> None:
        kinds = {(part, kind) for part in PARTS for kind in table.rows[part]}
        if self.lies:
            without = sorted(self.places - self.lied)
            self.told.missed += [f"no lie was told: {' '.join(each)}" for each in without]
        self.told.unmet = sorted(f"{part}.{kind}" for part, kind in kinds - self.met)


def not_on_the_page(letter: Letter) -> list[str]:
    """Of what was judged: what pdftotext does not find in the printed file. Where a line breaks
    does not matter."""
    told = "".join(text_by_poppler(drawn(letter)).split())
    paragraphs = (text for each in letter.sections for text in (each.heading, *each.paragraphs))
    judged = (letter.title, letter.own, *paragraphs, letter.questions, letter.cautions)
    texts = (text.removeprefix("• ") for text in judged)
    return [text for text in texts if "".join(folded(text).split()) not in told]


def children_of(group: str | None) -> list[Child]:
    """Those of a class, or all."""
    children = Child.objects.filter(merged_into=None).order_by("pk")
    if group:
        children = children.filter(classes=ClassGroup.objects.get(name=group))
    return list(children)


def read_all(
    now: datetime.datetime,
    group: str | None = None,
    lies: bool = False,
    later: Sequence[datetime.timedelta] = LATER,
    each: int = 3,
) -> Told:
    """The letters of a class or of all, today and in a break. ``each``: see Reader; as many are
    printed and read back, where there is a pdftotext."""
    children = children_of(group)
    director = Staff.objects.filter(role=Staff.Role.DIRECTOR).order_by("pk")[0]
    files = 0 if is_missing("pdftotext") else each
    reader, printed = Reader(Told(), lies, each, files), False
    for wait in later:
        written = about(children, director, now + wait)
        if not printed:
            written[0].print()
            printed = True
        reader.read(written)
    reader.finish(Table("en", written[0].record.content))
    return reader.told
