"""The command that brings a file in: shows what would be stored, and stores it with --commit.

Shared: used by import_roster and import_attempts, which name their kind and show what is in it.
"""

import json
from abc import ABC, abstractmethod
from argparse import ArgumentParser
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, ClassVar

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from studio.imports.bring_in import FileOptions, ImportKind, NotBroughtIn, Parsed, bring_in
from studio.imports.date_column import ORDERS
from studio.imports.file_text import ENCODINGS, TableFileError
from studio.imports.refused_file import RefusedLine, refused_file
from studio.imports.table_file import DELIMITER_NAMES, DELIMITERS, Table
from studio.imports.words import Word, fold_word


class ImportCommand(ABC, BaseCommand):
    """``usual_option``: how to name what stands in for a blank cell: option, metavar, help."""

    kind: ClassVar[ImportKind]
    usual_option: ClassVar[tuple[str, str, str]]

    @abstractmethod
    def scope(self, options: dict[str, Any]) -> Any:
        """What the lines may name."""

    @abstractmethod
    def show(self, reading: Any, scope: Any) -> None:
        """Print what would be stored."""

    def add_arguments(self, parser: ArgumentParser) -> None:
        option, metavar, text = self.usual_option
        parser.add_argument("file", type=Path)
        parser.add_argument("--commit", action="store_true", help="store what is shown")
        parser.add_argument(
            "--all-or-nothing", action="store_true", help="store nothing if a line is left out"
        )
        parser.add_argument(option, dest="usual", default="", metavar=metavar, help=text)
        parser.add_argument("--encoding", choices=list(ENCODINGS))
        parser.add_argument("--delimiter", choices=list(DELIMITER_NAMES))
        parser.add_argument("--dates", choices=list(ORDERS))
        parser.add_argument(
            "--answers",
            type=Path,
            metavar="FILE",
            help="what is asked, answered: see docs/running.md",
        )
        parser.add_argument("--refused", type=Path, metavar="FILE", help="save refused lines here")

    def handle(self, *args: Any, **options: Any) -> None:
        data, scope, now = _read_bytes(options["file"]), self.scope(options), timezone.now()
        file_options = FileOptions(
            encoding=options["encoding"],
            delimiter=DELIMITER_NAMES.get(options["delimiter"]),
            dates=options["dates"],
            usual=options["usual"],
            **_answers_in(options["answers"]),
        )
        try:
            reading = self.kind.read(data, file_options, scope, now)
            self._show_how_it_was_read(reading.table, reading.parsed)
            self.show(reading, scope)
            self._show_words(reading.words)
            if options["refused"]:
                self._save_refused(options["refused"], reading.table, reading.left_out)
            if not (reading.has_lines or reading.has_news):
                raise CommandError(_("No line can be taken."))
            if options["commit"]:
                bring_in(
                    self.kind,
                    data,
                    file_options,
                    scope,
                    now,
                    all_or_nothing=options["all_or_nothing"],
                    shown=reading.digest,
                )
        except TableFileError as error:
            raise CommandError(str(error)) from None
        except NotBroughtIn:
            raise CommandError(_("Nothing was stored, because lines are left out.")) from None
        self.stdout.write(
            _("Stored.")
            if options["commit"]
            else _("Nothing is stored yet: add --commit to store this.")
        )

    def show_refused(self, refused: Iterable[RefusedLine]) -> None:
        for item in refused:
            self.stdout.write(
                _("refused  line %(line)d, %(column)s: %(reason)s")
                % {
                    "line": item.line,
                    "column": item.column or _("whole line"),
                    "reason": item.reason,
                }
            )

    def _show_words(self, words: Iterable[Word]) -> None:
        for word in words:
            if not word.answer:
                said = {
                    "what": word.what,
                    "word": word.word,
                    "lines": ", ".join(map(str, word.first_lines)),
                    "answers": ", ".join(key for key, _label in word.choices),
                }
                sentence = _("word     %(what)s “%(word)s”, lines %(lines)s: %(answers)s")
                self.stdout.write(sentence % said)

    def _show_how_it_was_read(self, table: Table, parsed: Parsed) -> None:
        """CommandError if no line was read."""
        self.stdout.write(
            _("Read as %(encoding)s, separator: %(delimiter)s.")
            % {
                "encoding": ENCODINGS[table.encoding],
                "delimiter": DELIMITERS.get(table.delimiter, table.delimiter),
            }
        )
        if columns := ", ".join(parsed.unused):
            self.stdout.write(_("Not read and not kept: %(columns)s") % {"columns": columns})
        if parsed.fault:
            raise CommandError(parsed.fault)
        if parsed.dates.ask:
            raise CommandError(_dates_question(parsed.dates.examples))

    def _save_refused(self, path: Path, table: Table, left_out: Sequence[RefusedLine]) -> None:
        path.write_text(refused_file(table, left_out), encoding="utf-8-sig", newline="")
        lines = len({item.line for item in left_out})
        self.stdout.write(
            ngettext(
                "%(lines)d line left out is in %(file)s.",
                "%(lines)d lines left out are in %(file)s.",
                lines,
            )
            % {"lines": lines, "file": path}
        )


def _read_bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(
            _("%(file)s cannot be opened: %(why)s") % {"file": path, "why": error.strerror}
        ) from None


def _answers_in(path: Path | None) -> dict[str, Any]:
    """Of lines and of words, as a file of answers says them."""
    if path is None:
        return {}
    try:
        said = json.loads(_read_bytes(path))
        lines = {int(line): str(answer) for line, answer in said.get("lines", {}).items()}
        words = {
            what: {fold_word(word): str(meaning) for word, meaning in meant.items()}
            for what, meant in said.get("words", {}).items()
        }
    except (ValueError, AttributeError):
        sentence = _("%(file)s holds no answers: write it as docs/running.md says.")
        raise CommandError(sentence % {"file": path}) from None
    return {"choices": lines, "words": words}


def _dates_question(examples: tuple[str, ...]) -> str:
    return _(
        "The dates can be read day first or month first (%(examples)s). Say which: "
        "--dates day-first or --dates month-first."
    ) % {"examples": ", ".join(examples)}
