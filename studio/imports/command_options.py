"""What the importing commands share: options for reading a file, and what they print."""

from argparse import ArgumentParser
from collections.abc import Iterable, Sequence
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from studio.imports.date_column import ORDERS
from studio.imports.file_text import ENCODINGS
from studio.imports.refused_file import RefusedLine, refused_file
from studio.imports.table_file import DELIMITERS, Table

# How a separator can be named on a command line and in a form.
DELIMITER_NAMES = {"comma": ",", "semicolon": ";", "tab": "\t", "none": ""}


def add_file_options(parser: ArgumentParser) -> None:
    """How to read the file, and where to save what was refused."""
    parser.add_argument("--encoding", choices=list(ENCODINGS))
    parser.add_argument("--delimiter", choices=list(DELIMITER_NAMES))
    parser.add_argument("--dates", choices=list(ORDERS))
    parser.add_argument("--refused", type=Path, metavar="FILE", help="save refused lines here")


def read_bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(
            _("%(file)s cannot be opened: %(why)s") % {"file": path, "why": error.strerror}
        ) from None


def show_how_it_was_read(command: BaseCommand, table: Table, unused: Iterable[str]) -> None:
    command.stdout.write(
        _("Read as %(encoding)s, separator: %(delimiter)s.")
        % {
            "encoding": ENCODINGS[table.encoding],
            "delimiter": DELIMITERS.get(table.delimiter, table.delimiter),
        }
    )
    if columns := ", ".join(unused):
        command.stdout.write(_("Not read and not kept: %(columns)s") % {"columns": columns})


def dates_question(examples: tuple[str, ...]) -> str:
    return _(
        "The dates can be read day first or month first (%(examples)s). Say which: "
        "--dates day-first or --dates month-first."
    ) % {"examples": ", ".join(examples)}


def show_refused(command: BaseCommand, refused: tuple[RefusedLine, ...]) -> None:
    for item in refused:
        command.stdout.write(
            _("refused  line %(line)d, %(column)s: %(reason)s")
            % {"line": item.line, "column": item.column or _("whole line"), "reason": item.reason}
        )


def save_refused(
    command: BaseCommand, path: Path, table: Table, left_out: Sequence[RefusedLine]
) -> None:
    path.write_text(refused_file(table, left_out), encoding="utf-8-sig", newline="")
    lines = len({item.line for item in left_out})
    command.stdout.write(
        ngettext(
            "%(lines)d line left out is in %(file)s.",
            "%(lines)d lines left out are in %(file)s.",
            lines,
        )
        % {"lines": lines, "file": path}
    )
