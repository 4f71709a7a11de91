"""A ladder as a TOML file: reading, checking it whole, writing it back, and its digest.

Shared: used by the loading of ladders and by the gates' pages.
"""

import copy
import hashlib
import json
import re
import tomllib
from collections.abc import Iterator
from typing import Any

import tomli_w
from django.utils.translation import gettext as _

from progression.ladder.checks import Ladder, meaning_faults
from progression.ladder.fields import LadderFault, fields_of, tables
from progression.ladder.mending import mending_faults
from progression.ladder.unspotted import unspotted_faults

__all__ = ["LadderFault", "LadderFileError", "digest", "dump", "faults_in", "parse"]

# The shipped ladder has some forty drills, and fewer of everything else.
MOST_OF_A_KIND = 500


class LadderFileError(ValueError):
    """The text is not TOML; `line` is where, counted from 1, or None if it is not known."""

    def __init__(self, message: str, line: int | None) -> None:
        super().__init__(message)
        self.line = line


def parse(text: str) -> dict[str, Any]:
    """The content of a ladder file, not yet checked. Raises LadderFileError if it is not TOML."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise _file_error(text, str(error)) from error


def _file_error(text: str, reason: str) -> LadderFileError:
    match = re.search(r"at line (\d+)", reason)
    line = int(match[1]) if match else None
    if "end of document" in reason:
        line = max(1, len(text.splitlines()))
    message = _("This is not a TOML file: %(reason)s.") % {"reason": reason}
    return LadderFileError(message, line)


def faults_in(content: dict[str, Any]) -> list[LadderFault]:
    """Everything wrong in a ladder, each with its key; an empty list for a ladder that is right.

    Whether a child can climb it is not looked at here. One with far too much in it is told so by
    number, and not looked at further.
    """
    if crowded := list(_too_many(content)):
        return crowded
    ladder = Ladder(content)
    found = ladder.shape_faults + meaning_faults(ladder)
    return found + mending_faults(ladder) + unspotted_faults(ladder)


def _too_many(content: dict[str, Any]) -> Iterator[LadderFault]:
    for name, rows in content.items():
        if isinstance(rows, list) and len(rows) > MOST_OF_A_KIND:
            message = _("There are %(n)d, at most %(most)d are read.")
            yield LadderFault(name, message % {"n": len(rows), "most": MOST_OF_A_KIND})


def dump(content: dict[str, Any]) -> str:
    """A ladder that is right as TOML, its fields in their usual order; comments are lost.

    The fields are sorted again: a database may not have kept their order.
    """
    tidy = copy.deepcopy(content)
    for table in tables(tidy):
        order = {name: place for place, name in enumerate(fields_of(table))}
        for name in sorted(table.row, key=lambda name: order.get(name, len(order))):
            table.row[name] = _by_name(table.row.pop(name))
    return tomli_w.dumps(tidy)


def _by_name(value: Any) -> Any:
    return dict(sorted(value.items())) if isinstance(value, dict) else value


def digest(content: dict[str, Any]) -> str:
    """SHA-256 of the content as JSON with sorted keys: the same for the same ladder, always."""
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()
