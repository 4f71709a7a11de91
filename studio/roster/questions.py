"""What is asked of a line that may be of a child who is told of already."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from django.utils.translation import gettext as _

from studio.models import Child
from studio.roster.lines import RosterLine
from studio.roster.plan import Question, Side, describe, side_of_child, side_of_line

NEW_CHILD = "new"
# After a child's uuid: the file is right about name and birth.
AS_FILE = ":file"


def same_as(line: RosterLine) -> tuple[str, str]:
    """The answer for the child of another line."""
    return f"line:{line.line}", _("The same child as on line %(line)d") % {"line": line.line}


def sides_of(
    line: RosterLine, groups: Iterable[Sequence[RosterLine]], children: Iterable[Child]
) -> tuple[Side, ...]:
    others = [side_of_line(group[0]) for group in groups]
    return (side_of_line(line), *others, *(side_of_child(child) for child in children))


def whose_id(line: RosterLine, earlier: RosterLine) -> Question:
    """One id stands on two lines."""
    where = {"id": line.list_id, "line": earlier.line, "other": line.line}
    sentence = _(
        "The id %(id)s stands on lines %(line)d and %(other)d: for %(one)s, and for %(two)s. "
        "Are they one child?"
    ) % {**where, "one": earlier.name, "two": line.name}
    two = _("Two children: %(id)s belongs to line %(line)d, and line %(other)d has no id") % where
    options = (same_as(earlier), (NEW_CHILD, two))
    return Question(line.line, line.name, sentence, options, sides_of(line, [[earlier]], ()))


def may_be(
    row: RosterLine, groups: Sequence[Sequence[RosterLine]], children: Sequence[Child]
) -> Question:
    """A line is alike to other lines, or to children here."""
    options = [same_as(group[0]) for group in groups]
    for child in children:
        who = {"child": describe(child)}
        options += [
            (str(child.uuid), _("%(child)s: name and birth stay as they are here") % who),
            (f"{child.uuid}{AS_FILE}", _("%(child)s: the file has it right") % who),
        ]
    options.append((NEW_CHILD, _("Another child, new here")))
    sentence = _("%(name)s may be a child who is told of already. Is it the same child?")
    return Question(
        row.line,
        row.name,
        sentence % {"name": row.name},
        tuple(options),
        sides_of(row, groups, children),
    )


def in_either_order(asked: Mapping[str, Sequence[Question]]) -> tuple[Question, ...]:
    """By the order in which dates would be read, the questions that would be asked: each line
    once, as it is told in each order, with whatever may be answered in any."""
    found: dict[int, Question] = {}
    for order, questions in asked.items():
        for question in questions:
            own, *others = question.sides or [None]
            told = (replace(own, title=f"{own.title}, {order}"),) if own else ()
            known = found.get(question.line, replace(question, options=(), sides=()))
            found[question.line] = replace(
                known,
                options=tuple(dict.fromkeys((*known.options, *question.options))),
                sides=tuple(dict.fromkeys((*told, *known.sides, *filter(None, others)))),
            )
    return tuple(found[line] for line in sorted(found))
