"""What the audit log's page shows, and its file."""

import datetime
from collections.abc import Iterable, Mapping
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.utils.timezone import get_current_timezone, localtime
from django.utils.translation import gettext as _

from studio import access
from studio.audit.words import said_in, short_id
from studio.lists import csv_text
from studio.models import AuditEntry, Staff

ON_A_PAGE = 50


def entries_for(
    staff: Staff, asked: Mapping[str, Any], today: datetime.date
) -> "QuerySet[AuditEntry]":
    """``asked``: a kind, a day of the site's zone; the newest first."""
    found = access.visible_audit(staff, today).select_related("by")
    if asked.get("kind"):
        found = found.filter(kind=asked["kind"])
    if asked.get("day"):
        zone = get_current_timezone()
        start = datetime.datetime.combine(asked["day"], datetime.time(), zone)
        end = start + datetime.timedelta(days=1)
        found = found.filter(at__gte=start, at__lt=end)
    return found.order_by("-at", "-pk")


def audit_page(
    found: "QuerySet[AuditEntry]", number: str, staff: Staff, today: datetime.date
) -> tuple["Page[AuditEntry]", list[dict[str, Any]]]:
    page = Paginator(found, ON_A_PAGE).get_page(number)
    return page, list(_rows(page.object_list, staff, today))


def _rows(
    entries: Iterable[AuditEntry], staff: Staff, today: datetime.date
) -> Iterable[dict[str, Any]]:
    some = list(entries)
    names = _names({entry.about for entry in some if entry.about}, staff, today)
    for entry in some:
        yield {
            "at": localtime(entry.at),
            "kind": entry.get_kind_display(),
            "by": entry.by.called if entry.by else _("at the server"),
            "about": names.get(entry.about, short_id(entry.about)),
            "said": said_in(entry),
            "place": entry.place,
            "digest": entry.digest,
        }


def _names(ids: set[Any], staff: Staff, today: datetime.date) -> dict[Any, str]:
    """Of the children and colleagues whom this person may see, what they are called."""
    children = access.visible_children(staff, today).filter(uuid__in=ids)
    colleagues = access.visible_colleagues(staff).filter(uuid__in=ids)
    return {
        **dict(children.values_list("uuid", "name")),
        **{each.uuid: each.called for each in colleagues},
    }


def audit_file(found: "QuerySet[AuditEntry]", staff: Staff, today: datetime.date) -> str:
    columns = [_("row"), _("at"), _("what"), _("by"), _("about"), _("said"), _("digest")]
    rows = (
        (
            row["place"],
            row["at"].isoformat(timespec="seconds"),
            row["kind"],
            row["by"],
            row["about"],
            row["said"],
            row["digest"],
        )
        for row in _rows(found, staff, today)
    )
    return csv_text(columns, rows)
