"""The review as a queue: who needs a decision, and what else asks for a look, each child once."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy as _

from readiness.review.looks import Since
from readiness.review.rows import Row
from studio.models import Child


@dataclass(frozen=True)
class Kind:
    """A section to be: whose rows are in it, and how many stand open; the rest is a tap away."""

    code: str
    title: Lazy
    shown: int
    fits: Callable[[Row], bool]


# A child stands in the first that fits.
KINDS = (
    Kind("decide", _("Needs a decision"), 5, lambda row: bool(row.text.waits)),
    Kind(
        "re-check",
        _("On re-check"),
        3,
        lambda row: row.text.state == "re-check" and not row.text.lapsed,
    ),
    Kind("paused", _("Paused"), 3, lambda row: row.text.state == "paused"),
    Kind("hurts", _("Hurts today"), 3, lambda row: bool(row.text.hurts)),
    Kind("away", _("Long without a turn"), 3, lambda row: row.text.lapsed),
    Kind("few", _("Held only by too few turns"), 0, lambda row: row.text.few),
)


@dataclass(frozen=True)
class Item:
    """A child in the queue; since: what has come in since this person last looked."""

    row: Row
    since: str


@dataclass(frozen=True)
class Section:
    kind: Kind
    items: list[Item]

    @property
    def first(self) -> list[Item]:
        return self.items[: self.kind.shown]

    @property
    def rest(self) -> list[Item]:
        return self.items[self.kind.shown :]


def sections(rows: Iterable[Row], since: Since) -> list[Section]:
    """In the order in which they are to be looked at; empty ones are left out."""
    found: dict[str, list[Row]] = {kind.code: [] for kind in KINDS}
    for row in rows:
        kind = next((kind for kind in KINDS if kind.fits(row)), None)
        if kind is not None:
            found[kind.code].append(row)
    found["decide"].sort(key=_oldest_request)
    return [
        Section(kind, [Item(row, since.get(row.child.pk, "")) for row in found[kind.code]])
        for kind in KINDS
        if found[kind.code]
    ]


def waiting_children(rows: Iterable[Row]) -> list[Child]:
    return [row.child for row in rows if row.text.waits]


def _oldest_request(row: Row) -> tuple[int, float]:
    """Those that wait for this person first, each by the oldest recommendation."""
    asked = [stage.asked_at for stage in row.text.waiting if stage.asked_at is not None]
    oldest = min(asked).timestamp() if asked else math.inf
    return ["you", "recommendation", "other"].index(row.text.waits), oldest


def next_in_queue(queue: Sequence[Section], after: Child) -> Row | None:
    """The row after this child's; the first of all for one who is no longer in the queue, None
    after the last."""
    rows = [item.row for section in queue for item in section.items]
    children = [row.child for row in rows]
    following = rows[children.index(after) + 1 :] if after in children else rows
    return following[0] if following else None
