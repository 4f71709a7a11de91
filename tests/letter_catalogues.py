"""The sentences of letters, door notes and home sheets, and their translations:
``python -m tests.letter_catalogues`` puts new sentences into the .po files, leaves out those that
are gone, and compiles.

A sentence that is new has an empty translation until somebody writes one; the tests say which.
"""

import io
from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_file
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parent.parent
LETTERS = ROOT / "readiness" / "letters"
SHEETS = [ROOT / "readiness" / each / "words.py" for each in ("door_note", "home_sheet")]
LOCALES = LETTERS / "locale"
# What staff read, in the language of the program's pages.
FOR_STAFF = {"forms.py", "page.py", "sheet.py", "views.py"}
KEYWORDS = {
    "_": None,
    "gettext": None,
    "gettext_lazy": None,
    "ngettext": (1, 2),
    "pgettext": ((1, "c"), 2),
}
# Django's own words, which a catalogue may write in another way.
MONTHS = {
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
}  # fmt: skip


def sentences() -> Catalog:
    """Every sentence of the modules that write letters, door notes and home sheets."""
    found = Catalog()
    beside = LETTERS / "beside"
    for path in sorted([*SHEETS, *LETTERS.glob("*.py"), *beside.glob("*.py")]):
        if path.name in FOR_STAFF and path.parent == LETTERS:
            continue
        for _line, text, _notes, context in extract_from_file("python", path, keywords=KEYWORDS):
            found.add(text, locations=[(str(path.relative_to(ROOT)), None)], context=context)
    return found


def po_files() -> Iterator[Path]:
    return iter(sorted(LOCALES.glob("*/LC_MESSAGES/django.po")))


def language_of(path: Path) -> str:
    return path.parent.parent.name


def read(path: Path) -> Catalog:
    with path.open("rb") as file:
        return read_po(file, locale=language_of(path))


def messages(catalog: Catalog) -> list[Message]:
    return [message for message in catalog if message.id]


def key(message: Message) -> tuple[object, object]:
    one = isinstance(message.id, str)
    return message.context, message.id if one else tuple(message.id)


def compiled(catalog: Catalog) -> bytes:
    out = io.BytesIO()
    write_mo(out, catalog)
    return out.getvalue()


def update(path: Path) -> None:
    catalog, wanted = read(path), sentences()
    for message in messages(catalog):
        if message.id in MONTHS:
            wanted.add(message.id, auto_comments=message.auto_comments)
    catalog.update(wanted, no_fuzzy_matching=True)
    catalog.obsolete.clear()
    out = io.BytesIO()
    write_po(out, catalog, width=98, omit_header=True, include_lineno=False)
    head, _break, _old = path.read_text(encoding="utf-8").partition("\n\n")
    path.write_text(f"{head}\n\n{out.getvalue().decode('utf-8')}", encoding="utf-8")
    path.with_suffix(".mo").write_bytes(compiled(read(path)))


if __name__ == "__main__":
    for each in po_files():
        update(each)
