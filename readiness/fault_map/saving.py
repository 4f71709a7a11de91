"""A change of one fault on the map: by the same door as every other change of the ladder."""

import copy
import datetime
from collections.abc import Mapping
from typing import Any

from progression.models import LadderProposal, LadderVersion
from readiness.gates.saving import save_change
from studio.models import Staff


def save_fault(
    key: str,
    values: Mapping[str, Any],
    base: int,
    by: Staff,
    now: datetime.datetime,
    reason: str,
) -> LadderVersion | LadderProposal:
    """Save a fault's root, what it leads to and what mends it; ``base``: the version shown.

    Raises NotSaved, or LadderRefused with every fault of the ladder; nothing is changed then.
    """

    def with_fault(content: Mapping[str, Any]) -> dict[str, Any]:
        changed = copy.deepcopy(dict(content))
        row = next(fault for fault in changed["fault"] if fault["key"] == key)
        row.update(values)
        return changed

    return save_change(with_fault, f"fault={key}", base, by, now, reason)
