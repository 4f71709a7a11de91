"""Storing only what somebody was shown and confirmed.

Shared: used by both imports, and their commands.
"""


class NotBroughtIn(Exception):
    """Nothing was stored: the file could not be read as a whole, or lines would be left out
    and it was to be all or nothing."""


class PlanChanged(Exception):
    """Nothing was stored: what would be stored is not what was shown."""


def require_unchanged(
    digest: str, left_out: bool, *, all_or_nothing: bool = False, shown: str | None = None
) -> None:
    """Raise unless ``digest``, of what is about to be stored, is the one that was confirmed.

    ``shown`` is the digest of what was shown, None where nothing was shown before.
    """
    if shown is not None and digest != shown:
        raise PlanChanged
    if all_or_nothing and left_out:
        raise NotBroughtIn
