"""The versions of the ladder: from which day one counts, and what each changed."""

import datetime
from dataclasses import dataclass

from progression.models import LadderVersion
from readiness.gates.version_words import differences
from readiness.record.ladders import Ladders, NamedLadder
from studio.models import Location


def counts_from(ladders: Ladders, now: datetime.datetime) -> datetime.date:
    """The first day of a version saved now: the day after today wherever it is latest, so that
    nothing changes on a day that has begun; not before the newest version."""
    return max(latest_today(now) + datetime.timedelta(days=1), ladders.newest_from)


def latest_today(now: datetime.datetime) -> datetime.date:
    """Today's date where it is latest."""
    todays = [hall.day_of(now) for hall in Location.objects.all()]
    return max(todays, default=now.astimezone(datetime.UTC).date())


def load_version(number: int) -> LadderVersion:
    rows = LadderVersion.objects.select_related("loaded_by").defer("content")
    return rows.get(number=number)


@dataclass(frozen=True)
class VersionRow:
    """One version: who loaded it (empty: from a file), and what it changed in the one before."""

    number: int
    from_day: datetime.date
    loaded_at: datetime.datetime
    by: str
    reason: str
    first: bool
    changes: list[str]


def version_rows(now: datetime.datetime) -> list[VersionRow]:
    """All versions, the newest first, by a fixed number of queries."""
    today = latest_today(now)
    rows = list(LadderVersion.objects.select_related("loaded_by").order_by("number"))
    ladders = [NamedLadder(row.number, row.content) for row in rows]
    version_list: list[VersionRow] = []
    for at, row in enumerate(rows):
        before = ladders[at - 1] if at else None
        version_list.append(
            VersionRow(
                number=row.number,
                from_day=row.from_day,
                loaded_at=row.loaded_at,
                by=row.loaded_by.called if row.loaded_by else "",
                reason=row.reason,
                first=before is None,
                changes=differences(before, ladders[at], today) if before else [],
            )
        )
    return version_list[::-1]
