"""Something false in the place of each thing that a true letter claims, in the letter's language:
another day, month, number, name, drill, step, floor or help, something old as new, a word left
out, and what is true of one child told of another."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tests.support.letters.judge import Claim, Judge
from tests.support.letters.record import DAY, LATELY, RawRecord
from tests.support.letters.table import MORE, PLACE, TIME, UNKNOWN, Said, Table, Value

# The record of a child who may tumble, and what the child's letter told.
Other = tuple[RawRecord, set[tuple[str, str]]]
# In no letter of the invented studio.
SOMEBODY_ELSE = "Ilka Morgenrot"
ELSEWHERE = "Heron Lane 7, 09:00 to 09:15"
# Told of each child who may tumble and of whom it is so: false of one of whom it is not told.
TOLD_WHEREVER_SO = {
    "sentences": (
        "pause_ends", "no_yes", "hurt_gone", "rest", "stays", "placed_why", "beginning",
        "beginning_why", "no_turns", "gap", "top", "top_next", "shapes",
    ),
    "headings": ("pause", "hands", "hurt", "more_help", "begins"),
    "titles": ("pause",),
}  # fmt: skip


@dataclass(frozen=True)
class Lie:
    """A text that is false in the letter of the record's child. what: what was altered; place: in
    which place of the pattern, if it was in one."""

    what: str
    kind: str
    text: str
    part: str
    heading: str
    record: RawRecord
    place: str = ""

    def is_found(self, table: Table) -> bool:
        judge = Judge(self.record, table)
        judge.judge_text(self.part, self.heading, self.text)
        return bool(judge.objections)


def altered(claim: Claim, record: RawRecord, table: Table) -> Iterator[Lie]:
    """The claim with one of its values false."""
    for value in claim.said.values:
        for what, text in false_texts(value, claim.said, record, table):
            at = claim.begins + value.begins
            told = claim.paragraph[:at] + text + claim.paragraph[at + len(value.text) :]
            kind, part = claim.said.kind, claim.part
            yield Lie(what, kind, told, part, claim.heading, record, value.what)


def shortened(claim: Claim, record: RawRecord, table: Table) -> Iterator[Lie]:
    """The claim with one of its own words left out. What is another sentence then is no lie by
    that alone: “also worked on this” without its “also”."""
    pattern, spans = table.rows[claim.part][claim.said.kind], set()
    for value in claim.said.values:
        spans |= set(range(value.begins, value.begins + len(value.text)))
    if PLACE.sub("", pattern).strip() == "":
        return
    at = 0
    for word in claim.said.text.split(" "):
        own = not spans & set(range(at, at + len(word)))
        left = (claim.said.text[:at] + claim.said.text[at + len(word) + 1 :]).strip()
        at += len(word) + 1
        if own and left and not is_another(claim, left, table):
            before = claim.paragraph[: claim.begins]
            after = claim.paragraph[claim.begins + len(claim.said.text) :]
            told = before + left + after
            yield Lie("a word", claim.said.kind, told, claim.part, claim.heading, record)


def is_another(claim: Claim, text: str, table: Table) -> bool:
    return table.whole(claim.part, text).kind not in (UNKNOWN, claim.said.kind)


def moved(claim: Claim, others: Iterable[Other]) -> Iterator[Lie]:
    """What is told of one child, told of the first other of whom it is not so."""
    kind = claim.said.kind
    if kind not in TOLD_WHEREVER_SO.get(claim.part, ()):
        return
    record = next((r for r, told in others if (claim.part, kind) not in told), None)
    if record:
        text = claim.said.text
        for value in reversed([v for v in claim.said.values if "name" in v.what]):
            child = record.child
            name = child.called if value.what == "name" else child.name
            text = text[: value.begins] + name + text[value.begins + len(value.text) :]
        yield Lie("whose", kind, text, claim.part, claim.heading, record)


# --- false values --------------------------------------------------------------------


def false_texts(
    value: Value, said: Said, record: RawRecord, table: Table
) -> Iterator[tuple[str, str]]:
    """What is altered, and what stands there instead."""
    if value.what == "date":
        for what, day in false_days(value.read, record):
            yield what, table.said_day(day)
    elif value.what == "weeks":
        yield "number", table.said_weeks(value.read + 1)
        yield "number", table.said_weeks(value.read - 1)
    elif value.what == "help":
        helps = enumerate(table.rows["help"])
        yield from (("help", text) for level, text in helps if level != value.read)
    elif value.what in ("name", "full_name", "guardian", "director", "studio"):
        yield "name", SOMEBODY_ELSE
    elif value.what == "where":
        yield "where to ask", ELSEWHERE
    elif value.what == "drills":
        if value.read not in (MORE, TIME):
            for what, drill in false_drills(said, record):
                yield what, table.said_key("drill", drill)
    else:
        for what, key in false_keys(value, said, record, table):
            yield what, table.said_key(value.what, key)


def false_days(day: datetime.date, record: RawRecord) -> Iterator[tuple[str, datetime.date]]:
    """Another day, month and year; never an evening of the child's, of which it may be so."""
    evenings = set(record.turns.days())
    months = [day.replace(day=min(day.day, 28), month=month) for month in range(1, 13)]
    days = [day + step * DAY for step in (1, -1, 2, -2)]
    for what, found in (("day", days), ("month", months), ("year", [_a_year_before(day)])):
        free = [each for each in found if each != day and each not in evenings]
        yield from ((what, each) for each in free[:1])


def _a_year_before(day: datetime.date) -> datetime.date:
    return day.replace(year=day.year - 1, day=min(day.day, 28))


def false_keys(
    value: Value, said: Said, record: RawRecord, table: Table
) -> Iterator[tuple[str, str]]:
    keys = [key for key in table.keys[value.what].values() if key != value.read]
    if value.what == "stage":
        opened = record.open_codes()
        wrong = [key for key in keys if (key in opened) == (said.kind in ("next", "beside"))]
        yield from (("step", key) for key in wrong[:2])
    elif value.what == "surface":
        yield from (("floor", key) for key in keys[:2])
    elif value.what == "place":
        hurts = {row.place for row in record.hurts()}
        yield from (("place", key) for key in keys if key not in hurts)
    else:
        yield from false_drills(said, record)


def false_drills(said: Said, record: RawRecord) -> Iterator[tuple[str, str]]:
    """Drills of which the sentence is not so; an old one told as new among them. The rows are asked
    here in another way than by the judge, so that a judge who lets all pass is seen."""
    never = [drill for drill in record.drills if not record.turns.days(drill)]
    if said.kind == "begun":
        since = record.since or record.today
        old = [d for d in record.drills if any(day <= since for day in record.turns.days(d))]
        yield from (("new", drill) for drill in old[:1])
        yield from (("drill", drill) for drill in never[:1])
        return
    yield from (("drill", drill) for drill in _not_so(said, record, never)[:2])


def _not_so(said: Said, record: RawRecord, never: list[str]) -> list[str]:
    if said.kind == "line":
        lately = {t.drill_key for t in record.turns.rows if (record.today - t.day) <= LATELY}
        return [drill for drill in record.drills if drill not in lately]
    if said.kind in ("reached", "asks"):
        asked = {
            drill
            for code in record.next_stages()
            for gate in record.gates(code)
            for drill in record.asked_by(gate)
        }
        return [drill for drill in record.drills if drill not in asked]
    if said.kind in ("agreed", "evidence", "review"):
        skills = {skill for stage in record.read.stages for skill in stage.stage.skills}
        return [drill for drill in record.drills if drill not in skills]
    opened = {
        skill for stage in record.read.stages if stage.opening for skill in stage.stage.skills
    }
    return [drill for drill in never if drill not in opened]
