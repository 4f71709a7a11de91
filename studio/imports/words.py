"""Words of files: yes and no, and what the studio has said that its own words mean.

A word that is not known is asked about once for all its lines; the answer is kept for the files
to come. Shared: used by the roster and the paper log.
"""

import datetime
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext_lazy

from studio.imports.refused_file import refused_headers
from studio.imports.table_file import column_names, fold_header
from studio.models import FileWord
from studio.people.names import fold

YES_WORDS = frozenset({"yes", "y", "true", "1", "x", "ja", "j", "oui", "si", "da", "tak", "✓", "✔"})
NO_WORDS = frozenset({"no", "n", "false", "0", "nee", "nein", "non", "nej", "nie"})

# By the kind of word (the column that it stands in), by the word: what it means.
Said = Mapping[str, Mapping[str, str]]
Choices = Iterable[tuple[str, str]]
# The header of a column is a word too: it means one of the kind's columns, or nothing.
COLUMN = "column"
# The answer for lines that are not to be taken.
LEAVE_OUT = "-"
# Whom a name means is said for one file only: tomorrow somebody else may be called so.
_NOT_KEPT = frozenset({"child"})
# The kinds of words as they are shown.
WHAT = {
    "drill": gettext_lazy("Drill"),
    "surface": gettext_lazy("Surface"),
    "faults": gettext_lazy("Fault"),
    "value": gettext_lazy("Value"),
    "support": gettext_lazy("Support"),
    "caught": gettext_lazy("Caught"),
    "coach": gettext_lazy("Coach"),
    "child": gettext_lazy("Child"),
    "class": gettext_lazy("Class"),
    "consent": gettext_lazy("Consent"),
    "language": gettext_lazy("Language"),
}


def fold_word(text: str) -> str:
    """A word as it is compared: case and accents do not matter; a number is only itself."""
    return text.strip() if any(sign.isdigit() for sign in text) else fold(text)


@dataclass(frozen=True)
class Word:
    """A word of a file that is asked about: as the file writes it, the lines that it stands on,
    what it may mean, and what was said so far ("": nothing)."""

    what: str
    word: str
    written: str
    lines: tuple[int, ...]
    choices: tuple[tuple[str, str], ...]
    answer: str

    @property
    def kind(self) -> str:
        return str(WHAT.get(self.what, self.what))

    @property
    def field(self) -> str:
        return f"word:{self.what}:{self.word}"

    @property
    def first_lines(self) -> tuple[int, ...]:
        return self.lines[:5]


class Words:
    """The words of one file that somebody has to say the meaning of, or has said it."""

    def __init__(self, said: Said) -> None:
        self.said = said
        self._met: dict[tuple[str, str], tuple[str, list[int]]] = {}

    def meaning(self, what: str, written: str, offered: Collection[str]) -> str:
        """What was said that a word means, if that may still be said; else ""."""
        answer = self.said.get(what, {}).get(fold_word(written), "")
        return answer if answer in offered else ""

    def meet(self, line: int, what: str, written: str) -> None:
        """Note that a word stands on a line."""
        _written, lines = self._met.setdefault((what, fold_word(written)), (written, []))
        if line not in lines[-1:]:
            lines.append(line)

    def all(self, choices: Callable[[str, str], Choices]) -> tuple[Word, ...]:
        """Those without an answer first, each group with the commonest first; ``choices`` gives
        what a word of a kind may mean."""
        words = []
        for (what, word), (written, lines) in self._met.items():
            offered = tuple(choices(what, written))
            answer = self.said.get(what, {}).get(word, "")
            if answer != LEAVE_OUT and answer not in dict(offered):
                answer = ""
            words.append(Word(what, word, written, tuple(lines), offered, answer))
        return tuple(sorted(words, key=lambda w: (bool(w.answer), w.what, -len(w.lines), w.word)))


def said_before(kind: str, now: Said) -> dict[str, dict[str, str]]:
    """What was said for files of a kind, and of this one."""
    said: dict[str, dict[str, str]] = {}
    for each in FileWord.objects.filter(kind=kind).order_by("pk"):
        said.setdefault(each.what, {})[each.word] = each.meaning
    for what, words in now.items():
        said.setdefault(what, {}).update(words)
    return said


def columns_of(
    columns: Sequence[str], known: Mapping[str, Sequence[str]], said: Mapping[str, str]
) -> list[Word]:
    """The columns of a file, each with what it holds."""
    choices = (("", str(gettext_lazy("not read"))), *((name, name) for name in known))
    own = refused_headers()
    return [
        Word(COLUMN, fold_header(header), header, (), choices, name)
        for header, name in zip(columns, column_names(columns, known, said), strict=True)
        if header and header not in own
    ]


def remember(kind: str, said: Said, now: datetime.datetime) -> None:
    """Keep what was said of a file that was brought in, for the files to come."""
    rows = [
        FileWord(kind=kind, what=what, word=word, meaning=meaning, said_at=now)
        for what, words in said.items()
        for word, meaning in words.items()
        if what not in _NOT_KEPT and meaning != LEAVE_OUT and (meaning or what == COLUMN)
    ]
    FileWord.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["kind", "what", "word"],
        update_fields=["meaning", "said_at"],
    )
