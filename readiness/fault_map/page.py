"""What the map shows: for each root its faults and what mends them, and back from each drill."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from readiness.fault_map.drawing import Line, fan, in_fewest_crossings, lines
from readiness.fault_map.words import mended_by, notes_on, root_of, seen_at
from readiness.record.ladders import NamedLadder
from readiness.words.causes import OF_TURNS_SEEN
from readiness.words.drill_card import STOPS, mend_names
from readiness.words.names import Data
from studio.lists import csv_text


@dataclass(frozen=True)
class MapFault:
    """``number``: by which the fault is found on the whole map, also where only a part is shown.

    ``stop``: of a stop sign, when it is one; ``notes``: on how to do a drill that mends it;
    ``joined``: what its lines go to, in words.
    """

    number: int
    key: str
    sees: str
    leads_to: str
    stop: str
    seen_at: str
    notes: str
    joined: str


@dataclass(frozen=True)
class End:
    """A drill that mends, or a root; ``numbers``: of the faults whose lines come in here."""

    key: str
    name: str
    numbers: str


@dataclass(frozen=True)
class Part:
    """Three columns: one name, the faults, and what they are joined to; between them lines."""

    key: str
    name: str
    faults: tuple[MapFault, ...]
    ends: tuple[End, ...]
    from_name: tuple[Line, ...]
    to_ends: tuple[Line, ...]


@dataclass(frozen=True)
class BackRoot:
    name: str
    faults: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class BackDrill:
    """A drill, and by their roots the faults that it mends, each with its number."""

    key: str
    name: str
    roots: tuple[BackRoot, ...]


@dataclass(frozen=True)
class MapPage:
    """``chosen``: the drill of which only its part is shown, or None. ``mends``: what it mends."""

    version: int
    turns_seen: str
    choices: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    chosen: Data | None
    parts: tuple[Part, ...]
    mends: Part | None
    back: tuple[BackDrill, ...]


def map_page(ladder: NamedLadder, key: str) -> MapPage:
    """The whole map, or of one drill its part."""
    shown = [fault for fault in ladder.faults.values() if not key or key in fault["belongs"]]
    return MapPage(
        version=ladder.number,
        turns_seen=str(OF_TURNS_SEEN),
        choices=_choices(ladder),
        chosen=ladder.drills[key] if key else None,
        parts=tuple(_root_parts(ladder, shown)),
        mends=_drill_part(ladder, key) if key else None,
        back=() if key else tuple(_back(ladder)),
    )


def numbers(ladder: NamedLadder) -> dict[str, int]:
    """Of every fault, root by root."""
    by_root = [
        key
        for root in ladder.strand_names
        for key, fault in ladder.faults.items()
        if fault["root"] == root
    ]
    return {key: number for number, key in enumerate(by_root, start=1)}


def _choices(ladder: NamedLadder) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Skills first, then all other drills."""
    drills = [(bool(d.get("skill")), key, d["name"]) for key, d in ladder.drills.items()]
    return (
        (_("Skills"), tuple((key, name) for skill, key, name in drills if skill)),
        (_("Drills"), tuple((key, name) for skill, key, name in drills if not skill)),
    )


@dataclass(frozen=True)
class _Row:
    """A fault, what it is joined to (first: what is offered first, or empty), and that in words."""

    fault: Data
    ends: tuple[str, ...]
    first: str
    joined: str


def _root_parts(ladder: NamedLadder, shown: Sequence[Data]) -> Iterable[Part]:
    names = {key: drill["name"] for key, drill in ladder.drills.items()}
    for root, name in ladder.strand_names.items():
        rows = [_mended_row(ladder, fault) for fault in shown if fault["root"] == root]
        if rows:
            yield _part(ladder, (root, name), rows, names)


def _mended_row(ladder: NamedLadder, fault: Data) -> _Row:
    ends = tuple(mend["drill"] for mend in fault["mend"])
    return _Row(fault, ends, ends[0], mended_by(mend_names(ladder, fault)))


def _drill_part(ladder: NamedLadder, key: str) -> Part | None:
    """The way back: from one drill to the faults that it mends and to their roots."""
    number, name = numbers(ladder), ladder.drills[key]["name"]
    faults = sorted(_mended_by(ladder, key), key=lambda fault: number[fault["key"]])
    rows = [_root_row(ladder, fault, key) for fault in faults]
    return _part(ladder, (key, name), rows, ladder.strand_names) if rows else None


def _root_row(ladder: NamedLadder, fault: Data, drill: str) -> _Row:
    root = fault["root"]
    first = root if fault["mend"][0]["drill"] == drill else ""
    return _Row(fault, (root,), first, root_of(ladder.strand_names[root]))


def _part(
    ladder: NamedLadder, start: tuple[str, str], rows: Sequence[_Row], names: Mapping[str, str]
) -> Part:
    """``start``: key and name of what all lines begin at; ``names``: of what they end at."""
    number, joins = numbers(ladder), [row.ends for row in rows]
    ends = in_fewest_crossings(joins)
    into = {end: [str(number[r.fault["key"]]) for r in rows if end in r.ends] for end in ends}
    return Part(
        key=start[0],
        name=start[1],
        faults=tuple(_fault(ladder, row, number[row.fault["key"]]) for row in rows),
        ends=tuple(End(end, names[end], " · ".join(into[end])) for end in ends),
        from_name=fan(len(rows)),
        to_ends=lines(joins, ends, [row.first for row in rows]),
    )


def _fault(ladder: NamedLadder, row: _Row, number: int) -> MapFault:
    fault = row.fault
    places = [ladder.drills[key] for key in fault["belongs"]]
    # Skills first: there it matters most.
    places.sort(key=lambda drill: not drill.get("skill"))
    named = zip(fault["mend"], mend_names(ladder, fault), strict=True)
    return MapFault(
        number=number,
        key=fault["key"],
        sees=fault["sees"],
        leads_to=fault["leads_to"],
        stop=str(STOPS.get(fault["stop"], "")),
        seen_at=seen_at([drill["name"] for drill in places]),
        notes=notes_on([name for mend, name in named if "note" in mend]),
        joined=row.joined,
    )


def _mended_by(ladder: NamedLadder, key: str) -> list[Data]:
    faults = ladder.faults.values()
    return [fault for fault in faults if key in {mend["drill"] for mend in fault["mend"]}]


def _back(ladder: NamedLadder) -> Iterable[BackDrill]:
    number = numbers(ladder)
    for key, drill in ladder.drills.items():
        faults = _mended_by(ladder, key)
        roots = [
            BackRoot(name, tuple((number[fault["key"]], fault["sees"]) for fault in of_root))
            for root, name in ladder.strand_names.items()
            if (of_root := [fault for fault in faults if fault["root"] == root])
        ]
        if roots:
            yield BackDrill(key, drill["name"], tuple(roots))


def fault_context(ladder: NamedLadder, key: str) -> dict[str, object]:
    """One fault as it stands, for whoever changes it."""
    fault = ladder.faults[key]
    return {
        "fault": fault,
        "number": numbers(ladder)[key],
        "version": ladder.number,
        "root": ladder.strand_names[fault["root"]],
        "stop": STOPS.get(fault["stop"], ""),
        "places": [ladder.drills[place] for place in fault["belongs"]],
        "mends": mend_names(ladder, fault),
    }


def map_file(ladder: NamedLadder) -> str:
    """The whole map for a spreadsheet, a join of a fault and a mending drill a line."""
    columns = [_("number"), _("root"), _("fault"), _("stop sign"), _("leads to"), _("seen at")]
    number = numbers(ladder)
    rows = [
        (
            number[fault["key"]],
            ladder.strand_names[fault["root"]],
            fault["sees"],
            STOPS.get(fault["stop"], ""),
            fault["leads_to"],
            ", ".join(ladder.drills[key]["name"] for key in fault["belongs"]),
            order,
            name,
        )
        for fault in sorted(ladder.faults.values(), key=lambda fault: number[fault["key"]])
        for order, name in enumerate(mend_names(ladder, fault), start=1)
    ]
    return csv_text([*columns, _("offered"), _("mended by")], rows)
