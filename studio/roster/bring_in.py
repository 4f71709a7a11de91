"""Bringing a roster in: read the file, plan what would change, and do it, all at once."""

import datetime
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace

from django.db import transaction
from django.db.models import QuerySet

from studio import access
from studio.imports.table_file import Table, read_table
from studio.imports.unchanged import NotBroughtIn, require_unchanged
from studio.models import Child, ClassGroup, Staff, Studio
from studio.people.names import fold_name
from studio.roster.lines import ParsedRoster, parse_roster
from studio.roster.match import plan_roster
from studio.roster.plan import Plan, PlannedChild


@dataclass(frozen=True)
class RosterOptions:
    """How staff want a file read; None and blank: detected from the file."""

    encoding: str | None = None
    delimiter: str | None = None
    dates: str | None = None
    # The class of lines that name none, and the answers to questions by line.
    usual: str = ""
    choices: Mapping[int, str] = field(default_factory=dict)

    def as_json(self) -> dict[str, object]:
        return asdict(self)

    @classmethod
    def from_json(cls, stored: Mapping[str, object]) -> "RosterOptions":
        """The options stored with a draft; the keys of a JSON object are always text."""
        choices = stored.get("choices", {})
        by_line = {int(k): str(v) for k, v in choices.items()} if isinstance(choices, dict) else {}
        return cls(**{**stored, "choices": by_line})  # type: ignore[arg-type]


@dataclass(frozen=True)
class Scope:
    """The children that lines may be matched with, and the classes that may be named."""

    children: QuerySet[Child]
    groups: QuerySet[ClassGroup]

    @classmethod
    def of(cls, staff: Staff, today: datetime.date) -> "Scope":
        return cls(access.visible_children(staff, today), access.visible_classes(staff))

    @classmethod
    def everything(cls) -> "Scope":
        """For a command at the server, where nobody is signed in."""
        return cls(Child.objects.all(), ClassGroup.objects.all())

    def class_names(self) -> dict[str, ClassGroup]:
        """Classes by the name to write in a file; with the location where two share a name."""
        groups = list(self.groups.select_related("location").order_by("name", "pk"))
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


def read_roster(data: bytes, options: RosterOptions, scope: Scope, today: datetime.date) -> Reading:
    """What is in a file and what would change. Changes nothing. Raises TableFileError."""
    table = read_table(data, encoding=options.encoding, delimiter=options.delimiter)
    groups = scope.class_names()
    parsed = parse_roster(
        table,
        today=today,
        known_classes=_by_folded_name(groups),
        dates=options.dates,
        usual_class=options.usual,
    )
    if parsed.fault or parsed.dates.ask:
        return Reading(table, parsed, None)
    planned = plan_roster(
        parsed.lines,
        children=scope.children.prefetch_related("classes").order_by("pk"),
        groups=groups,
        foreign_ids=_foreign_ids((line.list_id for line in parsed.lines), scope),
        choices=options.choices,
    )
    named = [replace(r, column=parsed.used.get(r.column, r.column)) for r in planned.refused]
    refused = sorted([*parsed.refused, *named], key=lambda item: item.line)
    return Reading(table, parsed, Plan(planned.children, planned.questions, tuple(refused)))


def bring_in(
    data: bytes,
    options: RosterOptions,
    scope: Scope,
    today: datetime.date,
    *,
    all_or_nothing: bool = False,
    shown: str | None = None,
) -> Reading:
    """Store what ``read_roster`` plans, in one transaction, and return it.

    ``shown`` is the digest of the plan that somebody agreed to. Raises TableFileError,
    NotBroughtIn, PlanChanged; then nothing is stored.
    """
    with transaction.atomic():
        # Two imports at once would each find the same child to be new.
        list(Studio.objects.select_for_update())
        reading = read_roster(data, options, scope, today)
        if reading.plan is None:
            raise NotBroughtIn
        require_unchanged(
            reading.plan.digest,
            bool(reading.plan.left_out()),
            all_or_nothing=all_or_nothing,
            shown=shown,
        )
        for planned in reading.plan.children:
            _store(planned)
    return reading


def _store(planned: PlannedChild) -> None:
    values = dict(planned.values)
    if "name" in values:
        values["name_key"] = fold_name(planned.row.name)
    child = planned.child
    if child is None:
        child = Child.objects.create(**values)
    elif values:
        for name, value in values.items():
            setattr(child, name, value)
        child.save(update_fields=list(values))
    for group in planned.joins:
        group.children.add(child)


def _by_folded_name(groups: Mapping[str, ClassGroup]) -> dict[str, str]:
    """How a class may be written: its name, also with its location."""
    names = {fold_name(f"{g.name} ({g.location.name})"): name for name, g in groups.items()}
    return names | {fold_name(name): name for name in groups}


def _foreign_ids(ids: Iterable[str], scope: Scope) -> frozenset[str]:
    """Those of the ids that belong to a child outside the scope."""
    known = Child.objects.filter(list_id__in={i for i in ids if i})
    visible = scope.children.values("pk")
    return frozenset(known.exclude(pk__in=visible).values_list("list_id", flat=True))
