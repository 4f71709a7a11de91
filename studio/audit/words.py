"""What the audit log's page says of an entry."""

import json
from collections.abc import Mapping

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.models import AuditEntry

# The names of what is said of an entry.
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


def said_in(entry: AuditEntry) -> str:
    """In one line; what was erased says so."""
    if entry.payload is None:
        return _("erased")
    try:
        said = json.loads(entry.payload)
    except ValueError:
        return _("not readable: run manage.py audit --verify")
    return "; ".join(f"{SAID.get(name, name)}: {value}" for name, value in said.items() if value)
