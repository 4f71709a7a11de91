"""What the audit log's page says of an entry."""

import json
from collections.abc import Mapping

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.models import AccountChange, AuditEntry, Staff

# What of an entry is told, in this order, and what it is called; the rest is for checking alone.
SAID: Mapping[str, Lazy] = {
    "what": gettext_lazy("what"),
    "stage": gettext_lazy("stage"),
    "drill": gettext_lazy("drill"),
    "surface": gettext_lazy("surface"),
    "reason": gettext_lazy("reason"),
    "with": gettext_lazy("with"),
    "code": gettext_lazy("why"),
    "how": gettext_lazy("how"),
    "role": gettext_lazy("role"),
    "tablet": gettext_lazy("tablet"),
}
# What was done, and in which way: values that are codes.
DONE: Mapping[str, str | Lazy] = {
    "place": gettext_lazy("placed"),
    "pause": gettext_lazy("paused"),
    "lift": gettext_lazy("pause lifted"),
    "recommend": gettext_lazy("recommended"),
    "sign": gettext_lazy("signed"),
    "send-back": gettext_lazy("sent back"),
    "close": gettext_lazy("closed"),
    "stays": gettext_lazy("stays as signed"),
    "exception": gettext_lazy("exception written"),
    "step": gettext_lazy("less support given"),
    "merged": gettext_lazy("merged"),
    "parted": gettext_lazy("parted"),
    "asked": gettext_lazy("asked for"),
    "taken back": gettext_lazy("taken back"),
    "erased": gettext_lazy("erased"),
    **dict(AccountChange.What.choices),
}
VALUES: Mapping[str, Mapping[str, str | Lazy]] = {
    "what": DONE,
    "how": {"password": gettext_lazy("by password"), "PIN": gettext_lazy("by PIN")},
    "role": dict(Staff.Role.choices),
}


def short_id(public: object) -> str:
    """The first part of a public id, of something that has no name here."""
    return str(public or "")[:8]


def said_in(entry: AuditEntry) -> str:
    """In one line; what was erased says so."""
    if entry.payload is None:
        return _("erased")
    try:
        said = json.loads(entry.payload)
    except ValueError:
        return _("not readable: run manage.py audit --verify")
    told = {name: _value(name, said[name]) for name in SAID if said.get(name)}
    return "; ".join(f"{SAID[name]}: {value}" for name, value in told.items())


def _value(name: str, value: object) -> str:
    if name in ("with", "tablet"):
        return short_id(value)
    return str(VALUES.get(name, {}).get(str(value), value))
