"""One child's whole record as plain data: every row of every table, of all its records.

Shared: used by the pages of privacy.
"""

import base64
import datetime
import logging
from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import Field, ForeignKey, ManyToOneRel, Model

from progression.models import Drill, LadderVersion, Surface
from readiness.record.privacy.parts import PARTS, Part
from studio.audit.chain import note
from studio.models import AuditEntry, Child, ClassGroup, Location, Staff
from studio.people.records import all_records

log = logging.getLogger("ladder.privacy")

# The form of the file; another one when a reader of this one could not read it.
FORM = 1
Row = dict[str, Any]


def whole_record(child: Child, by: Staff | None, now: datetime.datetime) -> dict[str, Any]:
    """``by``: None at the server. It names colleagues by what they are called, drills and surfaces
    by their key, everything else by its own."""
    note(AuditEntry.Kind.EXPORT, by, child.uuid, now)
    log.info("exported child=%s by=%s", child.uuid, by.uuid if by else "server")
    records = all_records([child.root])
    return {
        "form": FORM,
        "made_at": now,
        "records": list(_rows(Child.objects.filter(pk__in=records).order_by("pk"))),
        "parts": [
            {
                "table": part.model._meta.label,
                "title": str(part.title),
                "in_confidence": part.in_confidence,
                "rows": list(_rows(part.rows(records))),
            }
            for part in PARTS
        ],
    }


def rows_of(part: Part, child: Child) -> list[Row]:
    return list(_rows(part.rows(all_records([child.root]))))


def _rows(found: Any) -> Iterable[Row]:
    rows: Sequence[Model] = list(found)
    fields = found.model._meta.concrete_fields
    names = {each.name: _named(each, rows) for each in fields if isinstance(each, ForeignKey)}
    for row in rows:
        yield {each.name: _value(row, each, names) for each in fields}


def _value(row: Model, field: "Field[Any, Any]", names: dict[str, dict[Any, object]]) -> Any:
    value = getattr(row, field.attname)
    if field.name in names:
        return names[field.name].get(value)
    return base64.b64encode(value).decode() if isinstance(value, bytes | memoryview) else value


def _named(field: "ForeignKey[Any, Any]", rows: Sequence[Model]) -> dict[Any, object]:
    """What each key of a column stands for, in as few questions as there are columns."""
    keys = {getattr(row, field.attname) for row in rows} - {None}
    target = field.remote_field
    assert isinstance(target, ManyToOneRel)
    model = target.model
    found = model._default_manager.in_bulk(keys)
    return {key: _name(found[key]) if key in found else key for key in keys}


# What a row of another table is called.
_CALLED: dict[type[Model], str] = {
    Staff: "called",
    Drill: "key",
    Surface: "key",
    LadderVersion: "number",
    ClassGroup: "name",
    Location: "name",
}


def _name(row: Model) -> object:
    return getattr(row, _CALLED.get(type(row), "uuid"), row.pk)
