"""From the bytes of an uploaded table to its text: which encoding a file was saved in.

Pure Python. Studios send what their spreadsheet program writes: UTF-8 with or without a
byte order mark, UTF-16 ("Unicode text"), or the Windows code page. Windows-1252 is read as
such and never as Latin-1, in which curly apostrophes would turn into control characters.
Shared: used by the roster and the paper log.
"""

import codecs
import re

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

# What staff can choose from when the names in the preview look wrong.
ENCODINGS = {
    "utf-8": gettext_lazy("UTF-8"),
    "utf-16-le": gettext_lazy("UTF-16, little end first"),
    "utf-16-be": gettext_lazy("UTF-16, big end first"),
    "windows-1252": gettext_lazy("Windows-1252, Western Europe"),
    "windows-1250": gettext_lazy("Windows-1250, Central Europe"),
    "windows-1251": gettext_lazy("Windows-1251, Cyrillic"),
    "mac-roman": gettext_lazy("Mac Roman, old Macs"),
}

_MARKS = [
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
]
# Unicode characters no text table holds; tab and line ends are not among them.
_NOT_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


class TableFileError(Exception):
    """A file, or a line of it, that cannot be read as a table.

    ``str()`` is a sentence for staff that says what is wrong and how to save the file.
    """


def how_to_save() -> str:
    """The advice that ends every refusal of a whole file."""
    return _(
        "In the spreadsheet program choose “Save as” and the kind “CSV UTF-8”, "
        "and bring in that file."
    )


def decode(data: bytes, encoding: str | None = None) -> tuple[str, str]:
    """The text of a file, without byte order mark, and the encoding it was read with.

    ``encoding`` is a key of ENCODINGS, or None to detect it. Raises TableFileError.
    """
    _refuse_other_kinds(data)
    encoding = encoding or _detect(data)
    if _NOT_TEXT.search(data.decode(encoding, errors="replace")):
        raise TableFileError(
            _("This file does not hold text, or not all of it.") + " " + how_to_save()
        )
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        raise _does_not_fit(data, encoding, error.start) from None
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise TableFileError(_("The file is empty.") + " " + how_to_save())
    return text, encoding


def _refuse_other_kinds(data: bytes) -> None:
    kinds = {
        b"PK\x03\x04": _("This is a spreadsheet workbook, whatever its name ends in."),
        b"\xd0\xcf\x11\xe0": _("This is an old spreadsheet workbook, whatever its name ends in."),
        b"%PDF": _("This is a PDF, not a table."),
    }
    for start, sentence in kinds.items():
        if data.startswith(start):
            raise TableFileError(sentence + " " + how_to_save())


def _detect(data: bytes) -> str:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return encoding
    return _unmarked_utf16(data) or _utf8_or_windows(data)


def _unmarked_utf16(data: bytes) -> str | None:
    """UTF-16 without a mark shows as zero bytes at every other place of Latin letters."""
    at_odd, at_even = data[1::2].count(0), data[0::2].count(0)
    enough = len(data) / 10
    if len(data) % 2 or max(at_odd, at_even) < enough:
        return None
    if at_even < at_odd / 10:
        return "utf-16-le"
    if at_odd < at_even / 10:
        return "utf-16-be"
    return None


def _utf8_or_windows(data: bytes) -> str:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return _damaged_utf8_or_windows(data)
    return "utf-8"


def _damaged_utf8_or_windows(data: bytes) -> str:
    text = data.decode("utf-8", errors="surrogateescape")
    bad = sum("\udc80" <= letter <= "\udcff" for letter in text)
    good = sum(letter > "\x7f" for letter in text) - bad
    # Letters of the Windows code page hardly ever happen to form valid UTF-8. A file that
    # is mostly good UTF-8 is a damaged UTF-8 file; decoding will say where.
    return "utf-8" if good >= bad else "windows-1252"


def _does_not_fit(data: bytes, encoding: str, place: int) -> TableFileError:
    before = data[:place].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    sentence = _("The letters on line %(line)d cannot be read as %(encoding)s.") % {
        "line": before.count(b"\n") + 1,
        "encoding": ENCODINGS.get(encoding, encoding),
    }
    return TableFileError(sentence + " " + how_to_save())
