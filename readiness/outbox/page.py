"""What became of a file from a tablet, in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from studio.models import Meeting

Lazy = str | Promise

_BROKEN = gettext_lazy("it has a form that cannot be read")

REASONS: dict[str, Lazy] = {
    "unknown-drill": gettext_lazy("the ladder has no such drill"),
    "unknown-surface": gettext_lazy("the ladder has no such surface"),
    "unknown-fault": gettext_lazy("the ladder has no such fault at this drill"),
    "unknown-reason": gettext_lazy("there is no such reason"),
    "unknown-place": gettext_lazy("the ladder has no such place that hurts"),
    "may-not-grade": gettext_lazy("whoever tapped it may log turns, but not grade them"),
    "unknown-author": gettext_lazy("whoever tapped it has no account here"),
    "not-in-class": gettext_lazy("the child is not in this class"),
    "not-yours": gettext_lazy("it takes back a turn of somebody else: a coach can do that"),
    "other-content": gettext_lazy("the server holds it with other content; it keeps both"),
    "clean-with-stop-sign": gettext_lazy("a turn with a stop sign is not clean"),
    "bad-value": gettext_lazy("the number is out of range"),
    "bad-time": gettext_lazy("its time cannot be read"),
}


@dataclass(frozen=True)
class Row:
    """A meeting, how many lines of it were stored or here already, and why others were not."""

    meeting: Meeting
    kept: int
    had: int
    aside: int
    reasons: list[tuple[Lazy, int]]


@dataclass(frozen=True)
class Shown:
    rows: list[Row]
    elsewhere: int


def shown(taken: Mapping[str, Any], meetings: QuerySet[Meeting]) -> Shown:
    """``taken``: FileTaken as JSON. Meetings that are no longer visible are left out."""
    told = {each["meeting"]: each for each in taken["meetings"]}
    found = meetings.filter(uuid__in=list(told)).select_related("group__location")
    return Shown(
        [_row(each, told[str(each.uuid)]) for each in found.order_by("date", "starts_at", "pk")],
        taken["elsewhere"],
    )


def _row(meeting: Meeting, told: Mapping[str, Any]) -> Row:
    reasons: dict[Lazy, int] = {}
    for code, n in told["aside"].items():
        reason = REASONS.get(code, _BROKEN)
        reasons[reason] = reasons.get(reason, 0) + n
    return Row(meeting, told["kept"], told["had"], sum(reasons.values()), list(reasons.items()))
