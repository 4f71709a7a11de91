"""Every kind of letter and sheet as pictures, to be looked at: ``python -m tests.letters_look --out
DIR``. A contact sheet for each language, for the scripts of names, for the longest letters and for
US Letter, and one of the sheets that are printed from pages (home sheets and notes for the door in
each language). Drawn by Poppler's pdftoppm; the pages
are printed by Chromium. The children are those of the tests' cast.
"""

import argparse
import os
import shutil
import subprocess
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import replace
from html import escape
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

# Models can be imported only now.
from django.conf import settings  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import override_settings, setup_test_environment  # noqa: E402
from django.utils import translation  # noqa: E402

from readiness.letters.facts import ChildFacts  # noqa: E402
from readiness.letters.letter import Sender, compose  # noqa: E402
from readiness.letters.sheet import NotPrintable, print_letter  # noqa: E402
from readiness.models.letters import LONGEST_OWN  # noqa: E402
from readiness.record.standings import Reading, read  # noqa: E402
from studio.people.consents import NewAnswer, write_down  # noqa: E402
from tests.attack.site import attacked_site  # noqa: E402
from tests.support.cast import NOW, TODAY, Cast, make_child  # noqa: E402
from tests.support.every_page import Site, addresses  # noqa: E402
from tests.support.letters.files import climb_to_the_walkover  # noqa: E402
from tests.support.letters.kinds import KINDS, GoingOn, HandsAgain, NothingNew  # noqa: E402
from tests.support.letters.names import NAMES  # noqa: E402

SENDER = Sender("Lantern Yard", "Mill hall, 4 Weir Lane", "Omar")
OWN = "In September Mai waited until the others had gone. Now she asks for the first turn."
# The longest that the form takes; what is longer is refused there.
LONG_OWN = ("More than a word of it, and then some more. " * 40)[:LONGEST_OWN]
LONGEST_NAME = "Wolfeschlegelsteinhausenbergerdorff-Featherstonehaugh Annabel"
DOTS_AN_INCH = 60
ACROSS = 4
# A page and the words below it, in pixels.
CELL = (520, 740)
LOOK = """<style>
    body { margin: 0; background: #8a8a8a; font: 14px sans-serif; color: #fff }
    figure { float: left; width: 496px; height: 728px; margin: 6px 12px }
    img { width: 496px; height: 702px; object-fit: contain }
</style>"""
SHEETS = ("station-cards-print", "class-sheet", "show")
IN_EACH_LANGUAGE = ("home-sheet", "door-note")
TO_AN_ADULT = {"token": str(uuid.uuid4()), "adult": "else", "other": "Hoa Tran"}
STATIONS = "?drill=sit-fall&drill=back-walkover"

Files = Mapping[str, bytes]


def letter(facts: ChildFacts, language: str = "en", own: str = OWN) -> bytes:
    with translation.override(language):
        return print_letter(compose(facts, SENDER, own, review=True))


def reading_of_a_climb(cast: Cast) -> Reading:
    """Of a child of thirty weeks, with a yes to hands."""
    child = make_child("Mai Tran", cast.blue)
    child.guardian = "Hoa Tran"
    write_down([NewAnswer(child, child.guardian, True)], "Petra", TODAY, cast.petra, NOW)
    climb_to_the_walkover(replace(cast, mai=child))
    return read(child, TODAY)


def kinds_in(reading: Reading, language: str) -> Files:
    return {kind.__name__: letter(kind(reading), language) for kind in KINDS}


def of_names(reading: Reading) -> Files:
    """Each script in a letter from left to right and in one from right to left."""
    child, found = reading.child, dict[str, bytes]()
    before = child.name, child.name_used, child.guardian
    for script, name in NAMES.items():
        child.name, child.name_used, child.guardian = name, "", name
        for language in ("en", "ar"):
            found[f"{script}, {language}"] = letter(NothingNew(reading), language, name)
    child.name, child.name_used, child.guardian = before
    return found


def longest(reading: Reading) -> Files:
    child, found = reading.child, dict[str, bytes]()
    before = child.name, child.name_used, child.guardian
    child.name, child.name_used, child.guardian = LONGEST_NAME, LONGEST_NAME, LONGEST_NAME
    for kind in (GoingOn, HandsAgain):
        for language in settings.LETTER_LANGUAGES:
            found[f"{kind.__name__}, {language}"] = letter(kind(reading), language, LONG_OWN)
    child.name, child.name_used, child.guardian = before
    return found


def nine_hundred_words(reading: Reading) -> str:
    """What is said of a note that no letter can hold."""
    try:
        letter(NothingNew(reading), own="word " * 900)
    except NotPrintable as refusal:
        return str(refusal)
    return "it was printed"


def sheets(site: Site, folder: Path) -> Files:
    """Pages that are printed, as Chromium prints them."""
    client, child = Client(), site.cast.mai
    client.force_login(site.cast.petra)
    found = {name: _printed(client, site, name, folder) for name in SHEETS}
    for language in settings.LETTER_LANGUAGES:
        child.letter_language = language
        child.save(update_fields=["letter_language"])
        for name in IN_EACH_LANGUAGE:
            found[f"{name}, {language}"] = _printed(client, site, name, folder)
    return found


def _printed(client: Client, site: Site, name: str, folder: Path) -> bytes:
    page, address = folder / f"{name}.html", addresses(site)[name]
    if name == "door-note":
        answer = client.post(address, TO_AN_ADULT)
    else:
        answer = client.get(address + (STATIONS if "station" in name else ""))
    content = answer.content.decode()
    static = f"file://{settings.BASE_DIR}/static/"
    page.write_text(content.replace('"/static/', f'"{static}'), encoding="utf-8")
    printed = page.with_suffix(".pdf")
    chromium(page, "--no-pdf-header-footer", f"--print-to-pdf={printed}")
    return printed.read_bytes()


def chromium(page: Path, *options: str) -> None:
    program = os.environ.get("LADDER_CHROMIUM", "/usr/bin/chromium")
    command = [program, "--headless", "--no-sandbox", *options, page.as_uri()]
    subprocess.run(command, check=True, capture_output=True)


def pictures(files: Files, folder: Path) -> Iterator[tuple[str, Path]]:
    """A picture of each page, with what it is."""
    for at, (name, file) in enumerate(files.items()):
        source = folder / f"{at:03}.pdf"
        source.write_bytes(file)
        command = ["pdftoppm", "-png", "-r", str(DOTS_AN_INCH), source, source.with_suffix("")]
        subprocess.run(command, check=True)
        for page in sorted(folder.glob(f"{source.stem}-*.png")):
            yield f"{name} ({len(file):,} bytes)", page


def contact_sheet(files: Files, out: Path) -> None:
    folder = out.with_suffix("")
    folder.mkdir(parents=True, exist_ok=True)
    every = list(pictures(files, folder))
    figures = [
        f'<figure><img src="{path.name}"><figcaption>{escape(name)}</figcaption></figure>'
        for name, path in every
    ]
    page = folder / "sheet.html"
    page.write_text(f'<meta charset="utf-8">{LOOK}{"".join(figures)}', encoding="utf-8")
    rows = -(-len(every) // ACROSS)
    size = f"--window-size={ACROSS * CELL[0]},{rows * CELL[1]}"
    chromium(page, "--hide-scrollbars", size, f"--screenshot={out.resolve()}")
    shutil.rmtree(folder)
    print(f"{out}: {len(files)} files, {len(every)} pages")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.letters_look", description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--only", default="", help="sheets whose names begin so")
    said = parser.parse_args()
    said.out.mkdir(parents=True, exist_ok=True)
    setup_test_environment()
    plain = {**settings.STORAGES}
    plain["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(STORAGES=plain), attacked_site() as site:
        reading = reading_of_a_climb(site.cast)
        todo = {
            f"letters-{code}": lambda code=code: kinds_in(reading, code)
            for code in settings.LETTER_LANGUAGES
        }
        todo |= {
            "names": lambda: of_names(reading),
            "longest": lambda: longest(reading),
            "sheets": lambda: sheets(site, said.out),
        }
        for name, make in todo.items():
            if name.startswith(said.only):
                contact_sheet(make(), said.out / f"{name}.png")
        if "us-letter".startswith(said.only):
            with override_settings(LADDER_PAPER="letter"):
                contact_sheet(kinds_in(reading, "en"), said.out / "us-letter.png")
        print(f"A note of 900 words: {nine_hundred_words(reading)}")


if __name__ == "__main__":
    main()
