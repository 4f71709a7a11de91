"""Bringing a roster in: what its lines may name, reading the file into a plan, and storing it."""

import datetime
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db.models import QuerySet
from django.utils.translation import gettext_lazy

from studio import access
from studio.imports.bring_in import FileOptions, ImportKind
from studio.imports.date_column import ORDERS
from studio.imports.refused_file import RefusedLine
from studio.imports.table_file import Table, read_table
from studio.imports.words import Word, said_before
from studio.models import Child, ClassGroup, ImportDraft, Staff
from studio.people.class_lists import join, leave
from studio.people.consents import NewAnswer, answer_on, consents_of, write_down
from studio.people.names import fold_name
from studio.people.records import all_records
from studio.people.today import site_today
from studio.people.told_apart import name_classes
from studio.roster.lines import COLUMNS, ParsedRoster, parse_roster
from studio.roster.match import plan_roster
from studio.roster.plan import Leaving, Plan, PlannedChild, Question
from studio.roster.questions import in_either_order
from studio.roster.undo import fields_before, note, undo, what_rests_on


@dataclass(frozen=True)
class Scope:
    """The children that lines may be matched with, and the classes that may be named."""

    children: QuerySet[Child]
    groups: QuerySet[ClassGroup]
    # Who brings it in; nobody for a command at the server.
    by: Staff | None = None

    @classmethod
    def of(cls, staff: Staff, today: datetime.date) -> "Scope":
        children = Child.objects.filter(pk__in=all_records(access.children_in_lists(staff, today)))
        return cls(children, access.visible_classes(staff), staff)

    @classmethod
    def everything(cls) -> "Scope":
        """For a command at the server, where nobody is signed in."""
        return cls(Child.objects.all(), ClassGroup.objects.all())

    def class_names(self) -> dict[str, ClassGroup]:
        """Classes by the name to write in a file; with the location where two share a name."""
        groups = list(self.groups.select_related("location").order_by("name", "pk"))
        name_classes(groups)
        counts = Counter(fold_name(group.name) for group in groups)
        return {
            g.name if counts[fold_name(g.name)] == 1 else f"{g.name} ({g.location.name})": g
            for g in groups
        }


@dataclass(frozen=True)
class Reading:
    """A file, read. ``plan`` is None if the whole of it could not be read or the order of
    the dates must be asked for: ``parsed`` has which."""

    table: Table
    parsed: ParsedRoster
    plan: Plan | None
    # While the order of the dates is asked for: what is asked besides, whatever the order.
    asked: tuple[Question, ...] = ()

    @property
    def readable(self) -> bool:
        return self.plan is not None

    @property
    def has_lines(self) -> bool:
        return self.plan is not None and bool(self.plan.children)

    @property
    def has_news(self) -> bool:
        """Questions count: their answers may be posted together with the confirmation."""
        plan = self.plan
        return plan is not None and bool(plan.new or plan.changed or plan.questions or plan.leaves)

    @property
    def digest(self) -> str:
        return self.plan.digest if self.plan else ""

    @property
    def left_out(self) -> list[RefusedLine]:
        return self.plan.left_out() if self.plan else []

    @property
    def words(self) -> tuple[Word, ...]:
        return self.parsed.words

    @property
    def counts(self) -> dict[str, int]:
        kinds = ("new", "changed", "same")
        counts = {kind: len(self.plan.of_kind(kind)) if self.plan else 0 for kind in kinds}
        return {**counts, "leaves": len(self.plan.leaves) if self.plan else 0}


def read_roster(data: bytes, options: FileOptions, scope: Scope, today: datetime.date) -> Reading:
    """What is in a file and what would change. Changes nothing. Raises TableFileError."""
    table = read_table(data, encoding=options.encoding, delimiter=options.delimiter)
    reading = _read(table, options, scope, today)
    if not reading.parsed.dates.ask:
        return reading
    # All questions at once: what is asked in either order is asked beside the order.
    either = [_read(table, replace(options, dates=order), scope, today) for order in ORDERS]
    words = {word.field: word for each in reversed(either) for word in each.words}
    plans = {str(label): each.plan for label, each in zip(ORDERS.values(), either, strict=True)}
    asked = in_either_order({order: plan.questions for order, plan in plans.items() if plan})
    parsed = replace(reading.parsed, words=tuple(words.values()))
    return replace(reading, parsed=parsed, asked=asked)


def _read(table: Table, options: FileOptions, scope: Scope, today: datetime.date) -> Reading:
    groups = scope.class_names()
    parsed = parse_roster(
        table,
        today=today,
        known_classes=_by_folded_name(groups),
        dates=options.dates,
        usual_class=options.usual,
        said=said_before(ImportDraft.Kind.ROSTER, options.words),
    )
    if parsed.fault or parsed.dates.ask:
        return Reading(table, parsed, None)
    children = list(scope.children.prefetch_related("classes").order_by("pk"))
    answers = consents_of(children)
    planned = plan_roster(
        parsed.lines,
        children=children,
        groups=groups,
        foreign_ids=_foreign_ids((line.list_id for line in parsed.lines), scope),
        choices=options.choices,
        consents={child.pk: answer_on(answers[child.pk], today) for child in children},
    )
    named = [replace(r, column=parsed.used.get(r.column, r.column)) for r in planned.refused]
    refused = sorted([*parsed.refused, *named], key=lambda item: item.line)
    leaving = _who_may_leave(planned, children, options.leaves)
    plan = replace(planned, refused=tuple(refused), leaving=leaving)
    return Reading(table, parsed, plan)


def _who_may_leave(
    plan: Plan, children: Sequence[Child], chosen: Collection[str]
) -> tuple[Leaving, ...]:
    """The children of the classes in the file whom it does not name there, class by class."""
    named = {(p.child.root, g.pk) for p in plan.children if p.child for g in p.named}
    groups = {group.pk: group for planned in plan.children for group in planned.named}
    found = [
        Leaving(child, group, f"{group.uuid}:{child.uuid}" in chosen)
        for child in children
        for group in child.classes.all()
        if child.left_on is None and group.pk in groups and (child.root, group.pk) not in named
    ]
    return tuple(sorted(found, key=lambda one: (one.group.name, one.group.pk, one.child.name_key)))


def _store(reading: Reading, scope: Scope, now: datetime.datetime) -> None:
    assert reading.plan is not None
    answers, children = [], []
    before = [fields_before(planned) for planned in reading.plan.children]
    for planned in reading.plan.children:
        child = _store_child(planned, site_today(now))
        children.append(child)
        if "consent" in planned.values:
            answers.append(NewAnswer(child, child.guardian, bool(planned.values["consent"])))
    for leaving in reading.plan.leaves:
        leave(leaving.child, leaving.group, site_today(now))
    seen_by = scope.by.called if scope.by else ""
    write_down(answers, seen_by, site_today(now), scope.by, now)
    note(reading.plan, children, before, scope.by, now)


def _store_child(planned: PlannedChild, today: datetime.date) -> Child:
    values = {name: value for name, value in planned.values.items() if name != "consent"}
    if "name" in values:
        values["name_key"] = fold_name(planned.row.name)
    child = planned.child
    if child is None:
        child = Child.objects.create(**values)
    elif values:
        for name, value in values.items():
            setattr(child, name, value)
        child.save(update_fields=[*values, "search_key"])
    for group in planned.joins:
        join(child, group, today)
    return child


def _by_folded_name(groups: Mapping[str, ClassGroup]) -> dict[str, str]:
    """How a class may be written: its name, also with its location."""
    names = {fold_name(f"{g.name} ({g.location.name})"): name for name, g in groups.items()}
    return names | {fold_name(name): name for name in groups}


def _foreign_ids(ids: Iterable[str], scope: Scope) -> frozenset[str]:
    """Those of the ids that belong to a child outside the scope."""
    known = Child.objects.filter(list_id__in={i for i in ids if i})
    visible = scope.children.values("pk")
    return frozenset(known.exclude(pk__in=visible).values_list("list_id", flat=True))


ROSTER = ImportKind(
    kind=ImportDraft.Kind.ROSTER,
    name="roster",
    title=gettext_lazy("Bring in a roster"),
    templates="studio/roster",
    scope=lambda staff, now: Scope.of(staff, site_today(now)),
    read=lambda data, options, scope, now: read_roster(data, options, scope, site_today(now)),
    store=_store,
    usual_label=gettext_lazy("Class of lines that name none"),
    columns=COLUMNS,
    rests_on=what_rests_on,
    undo=undo,
    undone_text=gettext_lazy("The roster is undone: everything is as it was before."),
    usual_choices=lambda scope, now: [(name, name) for name in scope.class_names()],
)
