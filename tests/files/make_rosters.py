"""Writes the roster files beside it. Everything in them is invented.

Run it from the project's folder: python -m tests.files.make_rosters
"""

import csv
import io
import zipfile
from pathlib import Path

HERE = Path(__file__).parent

FOUR = ["Zoë O’Brien", "Nguyễn Thị Ánh", "Núñez, Iñaki", '"Anne-Marie" D\'Angelo']
FOUR_ROWS = [
    ["name", "birth", "class"],
    [FOUR[0], "2016-04-03", "Minis"],
    [FOUR[1], "2015-11", "Minis"],
    [FOUR[2], "2014-09-30", "Minis"],
    [FOUR[3], "2016-06-25", "Minis"],
]

HEADER = ["Child ID", "Name", "Birth", "Class", "Guardian", "Language", "Spotting consent", "Phone"]
GIVEN = ["Ada", "Bo", "Cleo", "Dina", "Edda", "Finn", "Greta", "Hugo", "Ines", "Jara"]
FAMILY = ["Alder", "Birk", "Claus-Ruiz", "D'Amara"]
# Birth cells as studios write them; the day-first ones decide the order of the column.
BIRTHS = ["25/06/2014", "2015-03-09", "3.4.16", "42370", "11/12/2015"]
CLASSES = ["Minis", "Juniors", "Seniors, Thursday"]


def good_rows() -> list[list[str]]:
    """Forty children: ten given names with four family names."""
    rows = []
    for number, given in enumerate(GIVEN):
        for place, family in enumerate(FAMILY):
            name = f"{family}, {given}" if place == 3 else f"{given} {family}"
            rows.append(
                [
                    f"{number * 4 + place + 1:03d}",
                    name,
                    BIRTHS[(number + place) % 5],
                    CLASSES[number % 3],
                    f"Parent {family}" if place else "",
                    ["en", "German", "", "fr"][place],
                    ["yes", "x", "no", ""][place],
                    "+49 30 1234",
                ]
            )
    return rows


# Rows that are right but need care.
CAREFUL = [
    # The same digits, different text: three different children.
    ["7", "Lina Sommer", "14/05/2015", "Minis", "", "", "", ""],
    ["0007", "Mika Sommer", "14/05/2015", "Minis", "", "", "", ""],
    # One child in two classes, in one cell and on two lines.
    ["1E5", "Nora  Quell", "19/01/2013", "Minis; Juniors", "Q. Quell", "", "ja", ""],
    ["", "Otis Rand", "22/10/2012", "Minis", "R. Rand", "", "yes", ""],
    ["", "otis rand", "22/10/2012", "Juniors", "R. Rand", "", "yes", ""],
    # Twins: two children.
    ["", "Pia Söder", "17/08/2014", "Juniors", "S. Söder", "", "yes", ""],
    ["", "Rea Söder", "17/08/2014", "Juniors", "S. Söder", "", "yes", ""],
    # The same name and birth twice in one class: asked about.
    ["", "Uma Voss", "2014-02", "Minis", "", "", "", ""],
    ["", "Uma Voss", "2014-02", "Minis", "", "", "", ""],
]

# Names in scripts that Windows-1252 does not have.
ANY_SCRIPT = [
    ["", "Милена Озёрная", "13/03/2014", "Minis", "", "", "", ""],
    ["", "Nguyễn Thị Ánh", "13/03/2015", "Minis", "", "", "", ""],
]

# One of each kind of bad line.
BAD = [
    ["041", "", "2015-05-05", "Minis", "", "", "", ""],
    ["042", "Wilma Xaver", "", "Minis", "", "", "", ""],
    ["043", "Yara Zett", "29/02/2015", "Minis", "", "", "", ""],
    ["044", "Abel Zett", "2031-01-01", "Minis", "", "", "", ""],
    ["045", "Britt Zett", "spring 2015", "Minis", "", "", "", ""],
    ["046", "Carl Zett", "1951-02-03", "Minis", "", "", "", ""],
    ["047", "Dora Zett", "2015-02-03", "Maxis", "", "", "", ""],
    ["048", "Emil Zett", "2015-02-03", "Minis", "", "", "perhaps", ""],
    ["049", "Frida Zett", "2015-02-03", "Minis", "", "Gibberish", "", ""],
    ["001", "=Gerd Zett", "2015-02-03", "Minis", "", "", "", ""],
    ["1,2E+11", "Hanna Zett", "2015-02-03", "Minis", "", "", "", ""],
    # A separator that stands unquoted in a cell makes a cell too many.
    ["050", "Ivo Zett", "2015-02-03", "Minis", "Zett", " Ina", "en", "yes", "+49 30 1234"],
]


def messy_rows() -> list[list[str]]:
    """A header and sixty rows."""
    return [HEADER, *good_rows()[:37], *CAREFUL, *ANY_SCRIPT, *BAD]


def text(rows: list[list[str]], delimiter: str, end: str = "\r\n") -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerows(rows)
    return out.getvalue()


def write(name: str, content: bytes) -> None:
    (HERE / name).write_bytes(content)


def four() -> dict[str, bytes]:
    """The same four children in every way a spreadsheet program saves them."""
    comma, tab, semicolon = (text(FOUR_ROWS, d) for d in (",", "\t", ";"))
    western = text([row for row in FOUR_ROWS if row[0] != FOUR[1]], ";")
    blank = [[*row, "", ""] for row in FOUR_ROWS] + [["", "", "", "", ""]] * 3
    turned = [
        [" CLASS ", row[1].upper(), "Name "] if i == 0 else row[::-1]
        for i, row in enumerate(FOUR_ROWS)
    ]
    broken = [[row[0].replace(" ", "\n", 1), *row[1:]] for row in FOUR_ROWS]
    workbook = io.BytesIO()
    with zipfile.ZipFile(workbook, "w") as archive:
        archive.writestr(zipfile.ZipInfo("xl/workbook.xml"), "<workbook/>")
    return {
        "four-utf8.csv": comma.encode(),
        "four-utf8-bom.csv": comma.encode("utf-8-sig"),
        "four-windows-1252.csv": western.encode("windows-1252"),
        "four-utf16le.txt": b"\xff\xfe" + tab.encode("utf-16-le"),
        "four-utf16le-no-mark.txt": tab.encode("utf-16-le"),
        "four-utf16be.txt": b"\xfe\xff" + tab.encode("utf-16-be"),
        "four-utf16be-no-mark.txt": semicolon.encode("utf-16-be"),
        "four-semicolon.csv": semicolon.encode(),
        "four-tab.txt": tab.encode(),
        "four-sep-line.csv": ("sep=;\r\n" + semicolon).encode("utf-8-sig"),
        "four-cr-only.csv": text(FOUR_ROWS, ",", "\r").encode(),
        "four-lf-only.csv": text(FOUR_ROWS, ",", "\n").encode(),
        "four-blank-ends.csv": text(blank, ";").encode(),
        "four-header-turned.csv": text(turned, ",").encode(),
        "four-line-break.csv": text(broken, ",").encode(),
        "four-one-column.csv": text([[row[0]] for row in FOUR_ROWS], ",").encode(),
        "four-workbook.csv": workbook.getvalue(),
        "four-empty.csv": b"",
    }


def messy() -> dict[str, bytes]:
    rows = messy_rows()
    return {
        "roster-comma-utf8.csv": text(rows, ",").encode("utf-8-sig"),
        "roster-semicolon-windows-1252.csv": text(rows, ";").encode("windows-1252", "replace"),
        "roster-tab-utf16.txt": b"\xff\xfe" + text(rows, "\t").encode("utf-16-le"),
    }


if __name__ == "__main__":
    for name, content in (four() | messy()).items():
        write(name, content)
