"""Writes the paper logs beside it, and the roster of the children in them. All invented.

Run it from the project's folder: python -m tests.files.make_paper_logs
"""

import datetime
import random
from pathlib import Path

from tests.files.make_rosters import text, write

HERE = Path(__file__).parent

CHILDREN = [
    ["id", "name", "name used", "birth", "class"],
    ["11", "Maren Holt", "", "2014-02", "Tumblers"],
    ["12", "Juno Falk", "", "2013-07", "Tumblers"],
    ["13", "Runa Beck", "", "2016-11", "Tumblers"],
    ["14", "Zoë Brandt", "", "2015-01", "Tumblers"],
    ["15", "Iñaki Sol", "Iñi", "2014-09", "Tumblers"],
    ["16", "Adelheid Orth", "Ada", "2015-05", "Tumblers"],
    ["17", "Adriana Pohl", "Ada", "2013-12", "Tumblers"],
    ["18", "Teo O’Hara", "", "2014-04", "Tumblers"],
    ["19", "Lotte Wied", "", "2016-03", "Tumblers"],
    ["20", "Lotte Wied", "", "2012-08", "Tumblers"],
]

HEADER = [
    "Date",
    "Birth",
    "Child",
    "Drill",
    "Surface",
    "Value",
    "Support",
    "Faults",
    "Coach",
    "Caught",
    "Note",
]
FIRST = datetime.date(2026, 2, 3)


def line(day: datetime.date, child: str, drill: str, value: str, **more: str) -> list[str]:
    cells = {"date": day.strftime("%d.%m.%Y"), "child": child, "drill": drill, "value": value}
    cells = {"surface": "Mat on hard floor", "coach": "Tove Lind"} | cells | more
    return [cells.get(name.lower(), "") for name in HEADER]


def told_by_hand() -> list[list[str]]:
    """Three children whose readings the tests work out by hand."""
    lines = []
    for week in range(6):
        day = FIRST + datetime.timedelta(weeks=week)
        for turn in range(3):
            clean = not (week == 0 and turn == 1)
            value = "clean" if clean else "not clean"
            lines.append(line(day, "Maren Holt", "Back walkover", value, support="standing by"))
            if week < 4:
                lines.append(line(day, "HOLT, maren", "bridge-line", "2"))
                lines.append(line(day, "Juno Falk", "handspring", "✓", support="Standing by"))
    for turn in range(10):
        lines.append(line(FIRST, "Runa Beck", "sit-fall", "clean", note=f"turn {turn}"))
    for days, value in enumerate(["14", "16,5", "15 s"]):
        day = FIRST + datetime.timedelta(weeks=days)
        lines.append(line(day, "Runa Beck", "hollow hold", value))
    return lines


FILLER = [
    ("Hollow hold", ["12", "15", "20.5", "31 s"], [""]),
    ("Wall handstand, belly to the wall", ["8", "11", "22"], [""]),
    ("wall-shrugs", ["6", "8", "9 reps"], [""]),
    ("Kick to handstand", ["clean", "✓", "x", "not clean"], ["hands-on", "light touch"]),
    ("barrel", ["yes", "no", "clean"], ["Hands on", "light"]),
    ("Name the shape", ["4", "5", "6"], [""]),
    ("safe-fall", ["1", "0", "clean"], [""]),
]
NAMES = ["Zoë Brandt", "Iñi", "Adelheid Orth", "Adriana Pohl", "teo o'hara"]


def filler(count: int) -> list[list[str]]:
    """Lines of five other children, some equal to one another."""
    chance = random.Random(20260203)
    lines = []
    for number in range(count):
        day = FIRST + datetime.timedelta(days=7 * (number * 10 // count))
        drill, values, supports = chance.choice(FILLER)
        value, support = chance.choice(values), chance.choice(supports)
        coach = chance.choice(["Tove Lind", "ivar", ""])
        child = chance.choice(NAMES)
        lines.append(line(day, child, drill, value, support=support, coach=coach))
    return lines


def special() -> list[list[str]]:
    """Right, but needing care: scores, faults, a catch, a birth that tells two apart."""
    day = FIRST
    return [
        line(day, "Zoë Brandt", "Back walkover", "3/5", support="hands-on"),
        line(day, "Lotte Wied", "log-roll", "clean", birth="2012-08"),
        line(day, "Lotte Wied", "log-roll", "clean", birth="03/2016"),
        line(
            day, "Iñaki Sol", "handspring", "x", support="hands-on", faults="squats + head thrown"
        ),
        line(day, "Iñaki Sol", "handspring", "x", support="hands-on", caught="yes"),
    ]


def bad() -> list[list[str]]:
    """One line of each kind that is refused, in this order."""
    day = FIRST
    walkover = "Back walkover"
    return [
        line(day, "", walkover, "clean", support="hands-on"),
        line(day, "Nobody Here", walkover, "clean", support="hands-on"),
        line(day, "Ada", walkover, "clean", support="hands-on"),
        line(day, "Lotte Wied", walkover, "clean", support="hands-on"),
        line(day, "Maren Holt", walkover, "clean", support="hands-on", date=""),
        line(day, "Maren Holt", walkover, "clean", support="hands-on", date="30.02.2026"),
        line(day, "Maren Holt", walkover, "clean", support="hands-on", date="01.12.2026"),
        line(day, "Maren Holt", walkover, "clean", support="hands-on", date="01.12.2013"),
        line(day, "Maren Holt", "Cartwheel", "clean"),
        line(day, "Maren Holt", walkover, "clean", support="hands-on", surface="grass"),
        line(day, "Maren Holt", walkover, "", support="hands-on"),
        line(day, "Maren Holt", walkover, "03. Mai", support="hands-on"),
        line(day, "Maren Holt", walkover, "good", support="hands-on"),
        line(day, "Maren Holt", "sit-depth", "7"),
        line(day, "Maren Holt", "wall-shrugs", "8.5"),
        line(day, "Maren Holt", walkover, "clean"),
        line(day, "Maren Holt", walkover, "clean", support="some"),
        line(day, "Maren Holt", walkover, "x", support="hands-on", faults="sleepy"),
        line(day, "Maren Holt", walkover, "clean", support="hands-on", coach="Nobody"),
        line(day, "Maren Holt", walkover, "clean", support="hands-on", faults="drops-in"),
        line(day, "Maren Holt", walkover, "clean", support="hands-on", caught="yes"),
        line(day, "Maren Holt", walkover, "3/5", support="hands-on", faults="drops-in"),
        [*line(day, "Maren Holt", walkover, "clean", support="hands-on"), "one", "two"],
    ]


def rows() -> list[list[str]]:
    """A header and five hundred lines."""
    known = told_by_hand() + special()
    return [HEADER, *known, *filler(500 - len(known) - len(bad())), *bad()]


def logs() -> dict[str, bytes]:
    western = text([[c.replace("✓", "clean") for c in row] for row in rows()], ";")
    return {
        "paper-children.csv": text(CHILDREN, ";").encode("windows-1252"),
        "paper-log-comma-utf8.csv": text(rows(), ",").encode("utf-8-sig"),
        "paper-log-semicolon-windows-1252.csv": western.encode("windows-1252"),
        "paper-log-tab-utf16.txt": b"\xff\xfe" + text(rows(), "\t").encode("utf-16-le"),
    }


if __name__ == "__main__":
    for name, content in logs().items():
        write(name, content)
