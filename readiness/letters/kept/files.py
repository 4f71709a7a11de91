"""Several letters as one file, to print, or one file each; and what files are called."""

import io
import unicodedata
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from readiness.letters.format import letter_date
from readiness.letters.type import on_one_line
from readiness.models import PrintedLetter
from readiness.typesetting.joining import Joined

# Of a child's name in a file's name: most file systems take 255 for all of it.
MOST_BYTES = 120
# Besides letters, their marks, numbers and spaces.
FIT_FOR_A_FILE_NAME = frozenset("-_.,()’'")


@dataclass(frozen=True)
class Named:
    """A kept letter, and what its child is called among the others."""

    name: str
    letter: PrintedLetter

    @property
    def file(self) -> bytes:
        return bytes(self.letter.file or b"")


def one_file(letters: Sequence[Named]) -> bytes:
    """One PDF with a bookmark for each child, and the tags of all. Printed on both sides, each
    letter begins on a sheet of its own: after an odd number of pages comes an empty one."""
    joined = Joined(_("Letters"))
    for each in letters:
        joined.add(each.name, each.file)
    return joined.file()


def zip_file(letters: Sequence[Named]) -> bytes:
    """Each letter exactly as it is kept, under a name of its own. Dated by the letter's day, so
    that the same letters make the same file."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as whole:
        for name, each in zip(file_names(letters), letters, strict=True):
            day = each.letter.day
            about = zipfile.ZipInfo(name, (day.year, day.month, day.day, 0, 0, 0))
            about.compress_type = zipfile.ZIP_DEFLATED
            # A file that its owner reads and writes.
            about.external_attr = 0o600 << 16
            whole.writestr(about, each.file)
    return file.getvalue()


def file_names(letters: Iterable[Named]) -> list[str]:
    """A name for each, unlike every other also where case and accents are not told apart."""
    taken: set[str] = set()
    names = []
    for each in letters:
        name, number = file_name(each), 1
        while _alike(name) in taken:
            number += 1
            name = file_name(each, f" ({number})")
        taken.add(_alike(name))
        names.append(name)
    return names


def _alike(name: str) -> str:
    return unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", name).casefold())


def file_name(named: Named, ending: str = "") -> str:
    """Of letters, numbers and a few marks: what file systems and shells read as more than a letter
    becomes a dash."""
    child = "".join(map(_fit, on_one_line(named.name)))
    child = child.encode()[:MOST_BYTES].decode(errors="ignore")
    values = {"child": child.strip(" .") or "-", "date": letter_date(named.letter.day)}
    title = "".join(map(_fit, _("Letter about %(child)s, %(date)s") % values))
    return f"{title}{ending}.pdf"


def _fit(character: str) -> str:
    kind = unicodedata.category(character)[0]
    fits = kind in "LMN" or character in FIT_FOR_A_FILE_NAME
    return character if fits else " " if kind == "Z" else "-"
