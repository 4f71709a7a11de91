"""Which child each line of a roster means.

Never guessed: where two children fit a line, or two lines fit a child, staff are asked.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from django.utils.translation import gettext as _

from studio.imports.refused_file import RefusedLine
from studio.models import Child, ClassGroup
from studio.people.alike import Likes, who_of
from studio.people.consents import NOT_ASKED, Answer
from studio.people.names import fold_name
from studio.roster.lines import RosterLine
from studio.roster.plan import (
    Plan,
    PlannedChild,
    Question,
    changes_in_words,
    describe,
    values_to_write,
)
from studio.roster.questions import AS_FILE, NEW_CHILD, may_be, same_as, sides_of, whose_id

# Name, year and month of birth; a child who came back after a restore has neither yet.
Key = tuple[str, int | None, int | None]


def plan_roster(
    lines: Sequence[RosterLine],
    *,
    children: Sequence[Child],
    groups: Mapping[str, ClassGroup],
    foreign_ids: frozenset[str] = frozenset(),
    choices: Mapping[int, str] | None = None,
    consents: Mapping[int, Answer] | None = None,
) -> Plan:
    """What would change.

    ``children`` are those that may be matched, with their classes fetched; ``groups`` maps
    class names to classes; ``foreign_ids`` are ids that belong to children out of sight.
    ``choices`` answers questions by line: a child's uuid (with AS_FILE: and the file is right
    about name and birth), NEW_CHILD, or "line:N" for the child of line N. ``consents``: the
    children's answers to hands-on spotting today.
    """
    planner = _Planner(children, groups, foreign_ids, choices or {}, consents or {})
    planner.group(lines)
    planner.ask_about_alike()
    for group in planner.grouped:
        planner.place(group)
    return Plan(
        tuple(planner.planned),
        tuple(sorted(planner.questions, key=lambda question: question.line)),
        tuple(planner.refused),
    )


class _Planner:
    def __init__(
        self,
        children: Sequence[Child],
        groups: Mapping[str, ClassGroup],
        foreign_ids: frozenset[str],
        choices: Mapping[int, str],
        consents: Mapping[int, Answer],
    ) -> None:
        self.groups, self.foreign_ids, self.choices = groups, foreign_ids, choices
        self.consents = consents
        self.by_id: dict[str, Child] = {}
        self.by_key: dict[Key, list[Child]] = {}
        self.by_name: dict[str, list[Child]] = {}
        # Of several records of one child that fit, the one that stands for it.
        for child in sorted(children, key=lambda child: child.root != child.pk):
            if child.list_id:
                self.by_id[child.list_id] = child
            key = (child.name_key, child.birth_year, child.birth_month)
            for fitting in (
                self.by_key.setdefault(key, []),
                self.by_name.setdefault(child.name_key, []),
            ):
                if child.root not in {other.root for other in fitting}:
                    fitting.append(child)
        # The lines that mean one child, and for each key how many lines or groups claim it.
        self.grouped: list[list[RosterLine]] = []
        self.claims: Counter[Key] = Counter()
        self.taken: dict[int, int] = {}
        self.planned: list[PlannedChild] = []
        self.questions: list[Question] = []
        self.refused: list[RefusedLine] = []
        standing = {child.pk: child for child in children}
        self.likes = Likes((who_of(c), standing.get(c.root, c)) for c in children)
        # By the first line of a group, whom it was said to be; and where the file is not right.
        self.said: dict[int, Child] = {}
        self.as_here: set[int] = set()

    # Which lines mean the same child.

    def group(self, lines: Sequence[RosterLine]) -> None:
        by_id: dict[str, list[RosterLine]] = {}
        by_key: dict[Key, list[list[RosterLine]]] = {}
        for line in lines:
            without_id = self._group_by_id(line, by_id) if line.list_id else line
            if without_id is not None:
                self._group_by_key(without_id, by_key)

    def _open_group(self, line: RosterLine) -> list[RosterLine]:
        opened = [line]
        self.grouped.append(opened)
        self.claims[line.key] += 1
        return opened

    def _group_by_id(
        self, line: RosterLine, by_id: dict[str, list[RosterLine]]
    ) -> RosterLine | None:
        """The line without its id, if that was said to be another child's."""
        earlier = by_id.get(line.list_id)
        answer = self.choices.get(line.line, "")
        if earlier is None:
            by_id[line.list_id] = self._open_group(line)
        elif earlier[0].key == line.key or answer == f"line:{earlier[0].line}":
            earlier.append(line)
        elif answer == NEW_CHILD:
            return replace(line, list_id="")
        else:
            self.questions.append(whose_id(line, earlier[0]))
        return None

    def _group_by_key(self, line: RosterLine, by_key: dict[Key, list[list[RosterLine]]]) -> None:
        earlier = by_key.setdefault(line.key, [])
        answer = self.choices.get(line.line, "")
        answered = next((g for g in earlier if answer == f"line:{g[0].line}"), None)
        repeated = next((g for g in earlier if is_repeat(g[0], line)), None)
        if answered is not None:
            answered.append(line)
        elif not earlier or self._settles(line, answer):
            earlier.append(self._open_group(line))
        elif repeated is not None:
            repeated.append(line)
        else:
            self.claims[line.key] += 1
            self._ask(line, self._twice(line, earlier[0][0]), earlier)

    def _settles(self, line: RosterLine, answer: str) -> bool:
        fitting = {str(child.uuid) for child in self.by_key.get(line.key, [])}
        return answer == NEW_CHILD or answer in fitting

    @staticmethod
    def _twice(line: RosterLine, earlier: RosterLine) -> str:
        return _(
            "%(name)s, with this birth, stands on line %(earlier)d too. Is it the same child?"
        ) % {"name": line.name, "earlier": earlier.line}

    def _ask(
        self, line: RosterLine, sentence: str, earlier: Sequence[list[RosterLine]] = ()
    ) -> None:
        options = [same_as(group[0]) for group in earlier]
        fitting = self.by_key.get(line.key, [])
        if line.list_id in self.by_id:
            fitting = [self.by_id[line.list_id]]
        elif line.list_id:
            fitting = [child for child in fitting if not child.list_id]
        options += [(str(child.uuid), describe(child)) for child in fitting]
        if line.list_id not in self.by_id:
            options.append((NEW_CHILD, _("Another child, new here")))
        sides = sides_of(line, earlier, fitting)
        self.questions.append(Question(line.line, line.name, sentence, tuple(options), sides))

    # Who would be new, and is alike to a child here or on another line.

    def ask_about_alike(self) -> None:
        found = [(group, *self._find(_together(group))) for group in self.grouped]
        here = {child.root for _group, child, _question in found if child}
        groups = Likes((who_of(group[0]), group) for group, child, _q in found if child)
        self.grouped = []
        for group, child, question in found:
            row = group[0]
            if child is None and not question and row.list_id not in self.foreign_ids:
                lines = groups.of(who_of(row))
                children = [c for c in self.likes.of(who_of(row)) if c.root not in here]
                if not self._is_settled(group, lines, children):
                    continue
            if child is None:
                groups.add(who_of(row), group)
            self.grouped.append(group)

    def _is_settled(
        self,
        group: list[RosterLine],
        lines: Sequence[list[RosterLine]],
        children: Sequence[Child],
    ) -> bool:
        """Whether the group stands for a child of its own; if not, it was put to another group or
        is asked about."""
        row = group[0]
        answer = self.choices.get(row.line, "")
        same = next((other for other in lines if answer == f"line:{other[0].line}"), None)
        if same is not None:
            same.extend(group)
            return False
        chosen = [c for c in children if answer.removesuffix(AS_FILE) == str(c.uuid)]
        if chosen:
            self.said[row.line] = chosen[0]
            if not answer.endswith(AS_FILE):
                self.as_here.add(row.line)
        elif answer != NEW_CHILD and (lines or children):
            self.questions.append(may_be(row, lines, children))
            return False
        return True

    # Which child a group of lines means.

    def place(self, lines: list[RosterLine]) -> None:
        row = _together(lines)
        child, question = self._find(row)
        if row.list_id in self.foreign_ids:
            self.refused.append(
                RefusedLine(
                    row.line,
                    "id",
                    _("The id %(id)s belongs to a child of another location.")
                    % {"id": row.list_id},
                )
            )
        elif question:
            self._ask(row, question)
        elif child is not None and child.pk in self.taken:
            self._ask(row, self._claimed(row, self.taken[child.pk]))
        else:
            self._plan(lines, row, child)

    @staticmethod
    def _claimed(row: RosterLine, line: int) -> str:
        return _(
            "The child that fits %(name)s is the one of line %(line)d already. Who is this?"
        ) % {"name": row.name, "line": line}

    def _find(self, row: RosterLine) -> tuple[Child | None, str]:
        """The child meant (None: a new one), or a question to ask first."""
        if row.line in self.said:
            return self.said[row.line], ""
        fitting = self.by_key.get(row.key, [])
        answer = self.choices.get(row.line, "")
        known = self.by_id.get(row.list_id)
        if known is not None:
            if answer == str(known.uuid) or self._alike(known, row):
                return known, ""
            return None, _(
                "The id %(id)s is %(child)s here. The file says %(name)s. Is it the same child?"
            ) % {"id": row.list_id, "child": describe(known), "name": row.name}
        if row.list_id:
            fitting = [child for child in fitting if not child.list_id]
        chosen = next((child for child in fitting if answer == str(child.uuid)), None)
        if chosen is not None or answer == NEW_CHILD or not fitting:
            return chosen, ""
        if row.list_id:
            return None, _("%(name)s is here already, without an id. Is it the same child?") % {
                "name": row.name
            }
        if len(fitting) > 1:
            return None, _("More than one child here fits %(name)s. Which one is it?") % {
                "name": row.name
            }
        if self.claims[row.key] > 1:
            return None, _(
                "%(name)s, with this birth, stands in the file more than once, and once here. "
                "Which line is the child who is here?"
            ) % {"name": row.name}
        return fitting[0], ""

    @staticmethod
    def _alike(child: Child, row: RosterLine) -> bool:
        """An id decides alone as long as the name or the birth agrees with it."""
        same_birth = (child.birth_year, child.birth_month) == (row.birth_year, row.birth_month)
        return same_birth or child.name_key == fold_name(row.name)

    # What would be written.

    def _plan(self, lines: list[RosterLine], row: RosterLine, child: Child | None) -> None:
        if waiting := [reason for line in lines for reason in line.open]:
            self.refused += waiting
            return
        if child is not None and row.line in self.as_here and child.birth_year is not None:
            year, month = child.birth_year, child.birth_month
            row = replace(row, name=child.name, birth_year=year, birth_month=month)
        named = groups = [self.groups[name] for name in row.classes]
        if child is None and not groups:
            self.refused.append(
                RefusedLine(
                    row.line,
                    "class",
                    _("A child who is new here needs a class."),
                )
            )
            return
        if child is not None:
            self.taken[child.pk] = row.line
            joined = {group.pk for group in child.classes.all()}
            groups = [group for group in groups if group.pk not in joined]
        consent = self.consents.get(child.pk, NOT_ASKED) if child else NOT_ASKED
        values = values_to_write(row, child, consent)
        self.planned.append(
            PlannedChild(
                lines=tuple(line.line for line in lines),
                row=row,
                child=child,
                values=values,
                named=tuple(named),
                joins=tuple(groups),
                changes=changes_in_words(child, values, groups, consent),
                note=self._note(row, child),
            )
        )

    def _note(self, row: RosterLine, child: Child | None) -> str:
        notes = [_("month of birth missing")] if row.birth_month is None else []
        others = self.by_name.get(fold_name(row.name), []) if child is None else []
        if others:
            notes.append(_of_this_name(others))
        return "; ".join(notes)


def _of_this_name(others: Sequence[Child]) -> str:
    return _("Of this name but of another birth or id, here already: %(children)s") % {
        "children": "; ".join(describe(other) for other in others)
    }


def is_repeat(one: RosterLine, other: RosterLine) -> bool:
    """Whether a line is the same child once more, in another class.

    Everything but the class must agree, and there must be more to go by than a name and a
    month: the day of birth, or the guardian.
    """
    telling = one.whole_birth or bool(one.guardian)
    alike = one.key == other.key and all(
        getattr(one, name) == getattr(other, name)
        for name in ("list_id", "name_used", "birth", "guardian", "language", "consent")
    )
    return telling and alike and not set(one.classes) & set(other.classes)


def _together(lines: list[RosterLine]) -> RosterLine:
    """The lines of one child as one: all classes, and of the rest the last line that has it."""
    first, *more = lines
    row = first
    for line in more:
        consent = row.consent if line.consent is None else line.consent
        row = replace(
            row,
            classes=tuple(dict.fromkeys(row.classes + line.classes)),
            list_id=row.list_id or line.list_id,
            birth_month=row.birth_month or line.birth_month,
            name_used=line.name_used or row.name_used,
            guardian=line.guardian or row.guardian,
            language=line.language or row.language,
            consent=consent,
        )
    return row
