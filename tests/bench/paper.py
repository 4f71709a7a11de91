"""A paper log of 100,000 lines brought in, against reading its CSV and storing bare rows.

Both begin with the bytes of the file and end with everything stored, in one transaction each,
and are done in turns, each time with another file.
"""

import csv
import datetime
import io
import itertools
import time
import uuid
from collections.abc import Iterator
from random import Random
from typing import Any

import time_machine
from django.db import transaction

from progression.models import SUPPORTS, Attempt, Drill, LadderVersion, Surface
from readiness.paper.bring_in import PAPER_LOG, LogScope, read_paper
from studio.imports import bring_in as imports
from studio.imports.bring_in import FileOptions
from studio.models import Child, Staff
from tests.bench.kept import copy_of
from tests.bench.measure import Limit, Options, Result, ms, spread
from tests.bench.record import DRILLS_A_DAY, IN_A_CLASS, NOW, SURFACE, Shape, time_ordered, trained

PEOPLE = Shape(children=200, days=2, a_day=10, every=4)
LINES = 100_000
LINES_A_DAY = 10
FILES = 3
PATIENCE_SECONDS = 300
MOST_RATIO = 3.0

COLUMNS = ["date", "child", "drill", "surface", "value", "support", "coach", "note"]
WORDS = {3: "hands-on", 2: "light touch", 1: "standing by", 0: "unspotted"}


def run(_options: Options) -> Result:
    ours: list[float] = []
    preview: list[float] = []
    bare: list[float] = []
    with copy_of("paper", PEOPLE) as copy, copy.used(), time_machine.travel(NOW):
        began, sizes = time.perf_counter(), set()
        for number in range(FILES):
            data = paper_log(number)
            sizes.add(len(data))
            bare.append(ms(lambda data=data, number=number: store_bare(data, number)))
            preview.append(ms(lambda data=data: look_at(data)))
            ours.append(ms(lambda data=data: bring_in(data)))
            if number and time.perf_counter() - began > PATIENCE_SECONDS:
                break
        assert Attempt.objects.count() == PEOPLE.turns + 2 * LINES * len(ours)
    return _result(ours, preview, bare, max(sizes))


def paper_log(number: int) -> bytes:
    """The file of a number: days of its own, so that no line of another comes again."""
    content = LadderVersion.objects.get().content
    chance = Random(number)
    children = list(Child.objects.order_by("pk"))
    days = LINES // len(children) // LINES_A_DAY
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for back in range(days, 0, -1):
        day = NOW.date() - datetime.timedelta(days=30 + 2 * (number * days + back))
        for nth, child in enumerate(children):
            writer.writerows(_lines(day, back, nth, child, content, chance))
    return text.getvalue().encode()


def _lines(
    day: datetime.date, back: int, nth: int, child: Child, content: dict[str, Any], chance: Random
) -> Iterator[list[str]]:
    drills = trained(content, 1 + nth % 7)
    coach = f"coach{nth // IN_A_CLASS}"
    for place in range(LINES_A_DAY):
        drill = drills[(back * DRILLS_A_DAY + place % DRILLS_A_DAY) % len(drills)]
        value = str(chance.randint(0, min(30, drill["most"])))
        if drill["measure"] == "clean":
            value = chance.choice(("yes", "yes", "yes", "no"))
        support = WORDS[chance.choice((3, 2))] if drill["support_logged"] else ""
        yield [day.isoformat(), child.name, drill["key"], SURFACE, value, support, coach, ""]


def bring_in(data: bytes) -> None:
    scope = LogScope.everything(Staff.objects.get(role=Staff.Role.DIRECTOR))
    reading = imports.bring_in(
        PAPER_LOG, data, FileOptions(), scope, datetime.datetime.now(datetime.UTC)
    )
    assert len(reading.new) == LINES, reading.parsed.refused[:3]


def look_at(data: bytes) -> None:
    scope = LogScope.everything(Staff.objects.get(role=Staff.Role.DIRECTOR))
    assert len(read_paper(data, FileOptions(), scope, NOW).new) == LINES


def store_bare(data: bytes, number: int) -> None:
    """The rows of the file as they stand, found by nothing but dictionaries."""
    drills = dict(Drill.objects.values_list("key", "pk"))
    surfaces = dict(Surface.objects.values_list("key", "pk"))
    children = dict(Child.objects.values_list("name", "pk"))
    staff = dict(Staff.objects.values_list("username", "pk"))
    supports = {word: amount for amount, word in WORDS.items()} | {"": 0}
    assert len(supports) == len(SUPPORTS) + 1
    ids = _ids(number)
    with transaction.atomic():
        Attempt.objects.bulk_create(
            _bare_row(line, next(ids), children, drills, surfaces, staff, supports)
            for line in csv.DictReader(io.StringIO(data.decode()))
        )


def _ids(number: int) -> Iterator[uuid.UUID]:
    for count in itertools.count(1):
        yield time_ordered(NOW, 1 << 60 | number << 24 | count)


def _bare_row(
    line: dict[str, str],
    id_: uuid.UUID,
    children: dict[str, int],
    drills: dict[str, int],
    surfaces: dict[str, int],
    staff: dict[str, int],
    supports: dict[str, int],
) -> Attempt:
    value = line["value"]
    clean = {"yes": True, "no": False}.get(value)
    return Attempt(
        id=id_,
        child_id=children[line["child"]],
        drill_id=drills[line["drill"]],
        surface_id=surfaces[line["surface"]],
        day=datetime.date.fromisoformat(line["date"]),
        done_at=NOW,
        support=supports[line["support"]],
        clean=clean,
        value=float(value) if clean is None else None,
        graded=True,
        author_id=staff[line["coach"]],
        sender_id=staff["director"],
        source=Attempt.Source.PAPER,
        received_at=NOW,
        schema=2,
        digest=f"{id_.int:064x}",
    )


def _result(ours: list[float], preview: list[float], bare: list[float], size: int) -> Result:
    spreads = [
        spread("paper log brought in", ours),
        spread("its preview, before", preview),
        spread("bare rows", bare),
    ]
    about = {
        "lines": LINES,
        "children": PEOPLE.children,
        "bytes": size,
        "files": len(ours),
        "lines a second": round(LINES / spreads[0].median * 1000),
    }
    ratio = spreads[0].median / spreads[2].median
    return Result("import", about, spreads, [Limit("against bare rows", ratio, MOST_RATIO)])
