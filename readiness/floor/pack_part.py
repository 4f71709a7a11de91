"""A child's part of a class's pack, as text that is stored with the child's standing.

What depends on the class and on whose pack it is goes in when the pack is put together: the
child's name on that page, the numbers of the authors, and which turns are of this class. Marks
stand in their places, made with characters that Unicode leaves to private use.
"""

import json
import re
from dataclasses import asdict
from typing import Any, NamedTuple

from readiness.floor.before_class import Entry, entries_of
from readiness.floor.pack_children import TurnMarks, child_fields, drill_fields, without_no_hands
from readiness.floor.pack_ladder import LastDone, last_done
from readiness.record.standings import Reading
from studio.models import Meeting, Staff

NAME = "\ue000"
# With the author's key after it, in quotes; MINE is there whether it is the reader's own.
AUTHOR, MINE = "\ue001", "\ue002"
# With the meeting's key after it: whether it is this one.
HERE = "\ue003"
MARKS = TurnMarks(*(f"{mark}{{}}".format for mark in (AUTHOR, MINE, HERE)))
_MARK = re.compile(f'"([{AUTHOR}{MINE}{HERE}])([0-9]+)"')


class Part(NamedTuple):
    """What a pack says of one child: a JSON object, and the child's share in what it says of
    the class."""

    text: str
    before: list[Entry]
    last: LastDone


def make_part(reading: Reading) -> str:
    """Two lines of JSON: the child, then what the child adds to the class."""
    child = {
        "id": str(reading.child.uuid),
        "name": NAME,
        **child_fields(reading, NAME),
        "drills": drill_fields(without_no_hands(reading), MARKS, NAME),
    }
    last = last_done(reading.record.tallies, reading.evidence.before)
    share = {"before": entries_of(reading, NAME), "last": asdict(last)}
    return f"{as_json(child)}\n{as_json(share)}"


def part_for(stored: str, name: str, staff: Staff, meeting: Meeting) -> Part:
    """The part for one person's page of one class: each author gets a small number, 0 for that
    person; no key of the database leaves the server."""
    numbers = {staff.pk: 0}

    def number(mark: re.Match[str]) -> str:
        if mark[1] == HERE:
            return as_json(int(mark[2]) == meeting.pk)
        author = numbers.setdefault(int(mark[2]), len(numbers))
        return str(author) if mark[1] == AUTHOR else as_json(author == 0)

    text = _MARK.sub(number, stored.replace(NAME, as_json(name)[1:-1]))
    child, share = text.split("\n")
    data = json.loads(share)
    return Part(child, data["before"], LastDone(**data["last"]))


def as_json(data: Any) -> str:
    return json.dumps(data, separators=(",", ":"), ensure_ascii=False)
