"""What another version of the ladder changed on the map of faults, in sentences.

Shared: used by the versions of the ladder and by a change that waits.
"""

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _

from readiness.record.ladders import NamedLadder
from readiness.words.drill_card import mend_names
from readiness.words.names import Data

# What stands on the map of a fault and is changed there.
ON_THE_MAP = ("root", "leads_to", "mend")


def map_changes(before: NamedLadder, after: NamedLadder) -> list[str]:
    """Fault by fault, of those that both have."""
    return [
        _("Fault “%(sees)s”: %(changes)s.") % {"sees": fault["sees"], "changes": "; ".join(changes)}
        for key, fault in after.faults.items()
        if key in before.faults and (changes := list(_changes(before, after, key)))
    ]


def _changes(before: NamedLadder, after: NamedLadder, key: str) -> Iterator[str]:
    was, now = before.faults[key], after.faults[key]
    names = {
        "root": _("root"),
        "leads_to": _("leads to"),
        "mend": _("mended by"),
    }
    for field in ON_THE_MAP:
        if was[field] != now[field]:
            values = {"name": names[field], "was": _said(before, was, field)}
            yield _("%(name)s %(was)s → %(now)s") % {**values, "now": _said(after, now, field)}


def _said(ladder: NamedLadder, fault: Data, field: str) -> str:
    if field == "root":
        return ladder.strand_names[fault["root"]]
    if field == "leads_to":
        return _("“%(words)s”") % {"words": fault["leads_to"].rstrip(".")}
    return " · ".join(mend_names(ladder, fault))


def off_the_map(faults: Any) -> Any:
    """The faults without what stands on the map."""
    return [{name: row[name] for name in row if name not in ON_THE_MAP} for row in faults]
