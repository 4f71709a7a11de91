"""What bringing in a roster would change: for each child in it, and what is asked and refused."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.imports.refused_file import RefusedLine
from studio.models import Child, ClassGroup
from studio.people.consent_words import answer_word
from studio.people.consents import NO, NOT_ASKED, YES, Answer
from studio.roster.lines import RosterLine


@dataclass(frozen=True)
class Change:
    """One change in words: what changes, from what, to what."""

    what: str
    before: str
    after: str


@dataclass(frozen=True)
class PlannedChild:
    """One child of the file: None in ``child`` for a new one; its ``lines`` and what they say
    together (``row``)."""

    lines: tuple[int, ...]
    row: RosterLine
    child: Child | None
    values: Mapping[str, object]
    # The classes that the file names, and those of them that are new.
    named: tuple[ClassGroup, ...]
    joins: tuple[ClassGroup, ...]
    changes: tuple[Change, ...]
    note: str = ""

    @property
    def kind(self) -> str:
        if self.child is None:
            return "new"
        return "changed" if self.changes else "same"


@dataclass(frozen=True)
class Side:
    """One of those who may be one child: where it is told of, and what is told, by FACTS."""

    title: str
    facts: tuple[str, ...]


@dataclass(frozen=True)
class Question:
    """A line that may be of more than one child. ``options`` are (answer, words) to choose from,
    ``sides`` the line and those whom it may mean, to be looked at side by side."""

    line: int
    name: str
    sentence: str
    options: tuple[tuple[str, str], ...]
    sides: tuple[Side, ...] = ()

    @property
    def rows(self) -> list[tuple[str, list[tuple[str, bool]]]]:
        """By fact: what each side says, and whether that is other than what the line says."""
        rows = []
        for place, label in enumerate(FACTS):
            said = [side.facts[place] for side in self.sides]
            if any(said):
                rows.append((str(label), [(text, text != said[0]) for text in said]))
        return rows


@dataclass(frozen=True)
class Leaving:
    """A child who is in a class that the file names, but not for this child; ``chosen``: somebody
    said that the child leaves it."""

    child: Child
    group: ClassGroup
    chosen: bool

    @property
    def key(self) -> str:
        return f"{self.group.uuid}:{self.child.uuid}"


@dataclass(frozen=True)
class Plan:
    children: tuple[PlannedChild, ...]
    questions: tuple[Question, ...]
    refused: tuple[RefusedLine, ...]
    leaving: tuple[Leaving, ...] = ()

    def of_kind(self, kind: str) -> list[PlannedChild]:
        return [planned for planned in self.children if planned.kind == kind]

    @property
    def new(self) -> list[PlannedChild]:
        return self.of_kind("new")

    @property
    def changed(self) -> list[PlannedChild]:
        return self.of_kind("changed")

    @property
    def same(self) -> list[PlannedChild]:
        return self.of_kind("same")

    @property
    def leaves(self) -> list[Leaving]:
        return [leaving for leaving in self.leaving if leaving.chosen]

    @property
    def refused_lines(self) -> int:
        return len({item.line for item in self.refused})

    @property
    def digest(self) -> str:
        """Equal for two plans that would do the same."""
        content = [
            [
                (p.lines, p.kind, sorted(p.values.items()), [g.pk for g in p.joins])
                for p in self.children
            ],
            [(leaving.key, leaving.chosen) for leaving in self.leaving],
            self.questions,
            self.refused,
        ]
        return hashlib.sha256(repr(content).encode()).hexdigest()

    def left_out(self) -> list[RefusedLine]:
        """Every line that would not be taken: the refused, and those with an open question."""
        open_questions = [RefusedLine(q.line, "", q.sentence) for q in self.questions]
        return sorted([*self.refused, *open_questions], key=lambda item: item.line)


FACTS = (
    gettext_lazy("Name"),
    gettext_lazy("Name used"),
    gettext_lazy("Born"),
    gettext_lazy("Class"),
    gettext_lazy("Guardian"),
    gettext_lazy("Id"),
)


def side_of_line(line: RosterLine) -> Side:
    return Side(
        _("Line %(line)d") % {"line": line.line},
        (
            line.name,
            line.name_used,
            line.born,
            ", ".join(line.classes),
            line.guardian,
            line.list_id,
        ),
    )


def side_of_child(child: Child) -> Side:
    born = child.born or str(child.birth_year or "")
    classes = ", ".join(sorted(group.name for group in child.classes.all()))
    return Side(
        _("Here already"),
        (child.name, child.name_used, born, classes, child.guardian, child.list_id),
    )


def describe(child: Child) -> str:
    """Enough of a child to tell it from one of the same name."""
    parts = [
        child.name,
        _("born %(month)s") % {"month": child.born} if child.born else "",
        ", ".join(sorted(group.name for group in child.classes.all())),
        child.guardian,
        _("id %(id)s") % {"id": child.list_id} if child.list_id else "",
    ]
    return " · ".join(part for part in parts if part)


def values_to_write(
    row: RosterLine, child: Child | None, consent: Answer = NOT_ASKED
) -> dict[str, object]:
    """The fields to write: those that the file has, where they differ from the child's. A year
    without a month takes no month away.

    ``consent``: the child's answer today. A list's yes does not undo a no that stands: that is
    done on the child's page.
    """
    wanted: dict[str, object] = {
        "name": row.name,
        "birth_year": row.birth_year,
        "birth_month": row.birth_month,
    }
    if child is None and row.given:
        wanted["name_used"] = row.given
    texts = {
        "list_id": row.list_id,
        "name_used": row.name_used,
        "guardian": row.guardian,
        "letter_language": row.language,
    }
    wanted |= {name: text for name, text in texts.items() if text}
    if child is not None:
        if row.birth_month is None and child.birth_year == row.birth_year:
            del wanted["birth_month"]
        if child.left_on is not None:
            wanted["left_on"] = None
        wanted = {name: value for name, value in wanted.items() if getattr(child, name) != value}
    if row.consent is not None and consent not in (NO, YES if row.consent else NO):
        wanted["consent"] = row.consent
    return wanted


def changes_in_words(
    child: Child | None,
    values: Mapping[str, object],
    joins: Sequence[ClassGroup],
    consent: Answer = NOT_ASKED,
) -> tuple[Change, ...]:
    """The same in words, for a child who is here already."""
    if child is None:
        return ()
    labels = {
        "name": _("name"),
        "name_used": _("name used"),
        "list_id": _("id"),
        "guardian": _("guardian"),
        "letter_language": _("language of letters"),
        "birth_year": _("year of birth"),
        "birth_month": _("month of birth"),
        "left_on": _("left on"),
    }
    changes = [
        Change(labels[name], _in_words(getattr(child, name)), _in_words(value))
        for name, value in values.items()
        if name != "consent"
    ]
    if "consent" in values:
        before, after = answer_word(consent), answer_word(YES if values["consent"] else NO)
        changes.append(Change(_("consent to hands-on spotting"), before, after))
    return (*changes, *(Change(_("class"), "", group.shown) for group in joins))


def _in_words(value: object) -> str:
    return "" if value is None else str(value)
