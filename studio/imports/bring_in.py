"""What an import is: how a file of its kind is read, and stored once somebody has confirmed it.

Shared: used by the roster and the paper log, their pages (views.py) and commands (command.py).
"""

import datetime
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Protocol

from django.db import transaction
from django.utils.functional import Promise

from studio.imports.date_column import DateColumn
from studio.imports.refused_file import RefusedLine
from studio.imports.table_file import Table
from studio.imports.words import Said, Word, remember
from studio.models import BroughtIn, ImportDraft, Staff, Studio


class NotBroughtIn(Exception):
    """Nothing was stored: the file could not be read as a whole, or lines would be left out
    and it was to be all or nothing."""


class PlanChanged(Exception):
    """Nothing was stored: what would be stored is not what was shown."""


@dataclass(frozen=True)
class FileOptions:
    """How staff want a file read; None and blank: detected from the file."""

    encoding: str | None = None
    delimiter: str | None = None
    dates: str | None = None
    # What stands in for a blank cell of the kind's usual column: a class, a surface.
    usual: str = ""
    # Whoever brings the file in saw for herself what stands under her name.
    seen: bool = False
    # The answers to questions, by line.
    choices: Mapping[int, str] = field(default_factory=dict)
    # Who leaves a class since the file does not name them there: group and child, by uuid.
    leaves: Sequence[str] = ()
    # What was said of this file's words and headers; see words.py.
    words: Said = field(default_factory=dict)

    def as_json(self) -> dict[str, object]:
        return asdict(self)

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> "FileOptions":
        """The options stored with a draft; the keys of a JSON object are always text."""
        choices = {int(line): str(answer) for line, answer in stored.get("choices", {}).items()}
        return cls(**{**stored, "choices": choices})


class Parsed(Protocol):
    """A table read line by line. ``fault`` is a sentence if it could not be; ``dates.ask``: the
    order of its dates must be asked for. Then no line was read."""

    @property
    def unused(self) -> tuple[str, ...]: ...
    @property
    def dates(self) -> DateColumn: ...
    @property
    def fault(self) -> str: ...
    @property
    def used(self) -> Mapping[str, str]: ...


class Reading(Protocol):
    """A file, read, and what storing it would do.

    ``readable``: it can be confirmed; ``has_lines``: a line of it can be taken; ``has_news``:
    something in it is not stored yet; ``words``: those asked about; ``digest``: equal for two
    readings that would store the same; ``counts``: how much of what, for the result's page.
    """

    @property
    def table(self) -> Table: ...
    @property
    def parsed(self) -> Parsed: ...
    @property
    def readable(self) -> bool: ...
    @property
    def has_lines(self) -> bool: ...
    @property
    def has_news(self) -> bool: ...
    @property
    def digest(self) -> str: ...
    @property
    def left_out(self) -> Sequence[RefusedLine]: ...
    @property
    def words(self) -> Sequence[Word]: ...
    @property
    def counts(self) -> dict[str, int]: ...


@dataclass(frozen=True)
class ImportKind:
    """What one import differs in from another.

    ``name`` begins its addresses and their names; ``templates`` is the folder of its pages.
    ``scope`` says what the lines may name, from who brings them in; ``read`` changes nothing and
    raises TableFileError; ``store`` runs in a transaction. ``usual_choices`` are the values
    that may stand in for a blank cell, with their labels.
    """

    kind: ImportDraft.Kind
    name: str
    title: Promise
    templates: str
    scope: Callable[[Staff, datetime.datetime], Any]
    read: Callable[[bytes, FileOptions, Any, datetime.datetime], Reading]
    store: Callable[[Any, Any, datetime.datetime], None]
    usual_label: Promise
    usual_choices: Callable[[Any, datetime.datetime], Iterable[tuple[str, str]]]
    # What a column may hold, each with other headers for it.
    columns: Mapping[str, Sequence[str]]
    # What rests on a file that was brought in; undoing it raises RestsOnIt (undo.py).
    rests_on: Callable[[BroughtIn], list[str]]
    undo: Callable[[BroughtIn, Staff, datetime.datetime], None]
    undone_text: Promise
    # Blank where nothing is asked to have been seen.
    seen_label: Promise | str = ""


def bring_in(
    kind: ImportKind,
    data: bytes,
    options: FileOptions,
    scope: Any,
    now: datetime.datetime,
    *,
    all_or_nothing: bool = False,
    shown: str | None = None,
) -> Any:
    """Read a file and store what is in it, in one transaction; returns the reading.

    ``shown`` is the digest of the reading that somebody confirmed. Raises TableFileError,
    NotBroughtIn, PlanChanged; then nothing is stored.
    """
    with transaction.atomic():
        # Two imports at once would each find the same child, or turn, to be new.
        list(Studio.objects.select_for_update())
        reading = kind.read(data, options, scope, now)
        if not reading.readable:
            raise NotBroughtIn
        require_unchanged(
            reading.digest, bool(reading.left_out), all_or_nothing=all_or_nothing, shown=shown
        )
        kind.store(reading, scope, now)
        remember(kind.kind, options.words, now)
    return reading


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
