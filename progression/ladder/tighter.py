"""Which changes of a ladder need a second director: all that touch what is signed for, and are not
proven to ask for more.

``ONLY_TIGHTEN`` is the proof: a field that stands there, changed in its direction, can only ask for
more. What is not there is not proven.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from progression.ladder.fields import (
    DRILL,
    FAULT,
    GATE,
    GROWING,
    HEAD_KNOCK,
    LADDER,
    NEW_SURFACE,
    PAIN,
    PAIN_RULE,
    PRACTICE,
    RELEASE,
    STAGE,
    SURFACE,
    TAP,
    WAY_BACK,
    Kind,
    Table,
    tables,
)

Tightens = Callable[[Any, Any], bool]


def up(before: Any, after: Any) -> bool:
    return before is not None and after is not None and after > before


def down(before: Any, after: Any) -> bool:
    return before is not None and after is not None and after < before


def turned_on(before: Any, after: Any) -> bool:
    return not before and after is True


def more_of_them(before: Any, after: Any) -> bool:
    """A list that has all it had, and more."""
    return set(before or ()) < set(after or ())


def sooner_a_stop(before: Any, after: Any) -> bool:
    """A fault that was no stop sign, or that is one always now."""
    return before == "no" or after == "yes"


_CLEAN_RULE: Mapping[str, Tightens] = {
    "rate": up,
    "certainty": up,
    "days": up,
    "clean": up,
    "within": down,
    "fresh": down,
}
ONLY_TIGHTEN: Mapping[Kind, Mapping[str, Tightens]] = {
    # Of every kind: no field means the one in one kind of gate and the other in the next.
    GATE: {**_CLEAN_RULE, "graded": turned_on, "at_least": up, "needs_turns": turned_on},
    PRACTICE: _CLEAN_RULE,
    TAP: {**_CLEAN_RULE, "held_within": down},
    WAY_BACK: {
        "clean": up,
        "away_days": down,
        "away_review_days": down,
        "stops": down,
        "stops_within": up,
        "re_checks": down,
        "re_checks_within": up,
    },
    NEW_SURFACE: {"clean": up},
    PAIN_RULE: {"again_days": up, "ask": turned_on},
    HEAD_KNOCK: {"clear_days": up, "full_return_day": up},
    DRILL: {"after_head": up},
    GROWING: {"weeks": up},
    FAULT: {
        "stop": sooner_a_stop,
        "belongs": more_of_them,
        "carries": turned_on,
        "ends_backward": turned_on,
        "asks_head": turned_on,
    },
    PAIN: {"bars": more_of_them, "pause": turned_on},
}
# Words that decide nothing. What counts as clean, what a fault looks like and where hands go are
# words that do.
WORDS: Mapping[Kind, frozenset[str]] = {
    LADDER: frozenset({"title"}),
    DRILL: frozenset({"name", "letter", "letter_in", "cues", "pace", "sets_note"}),
    STAGE: frozenset({"name", "letter", "letter_in"}),
    SURFACE: frozenset({"name", "name_in"}),
    PAIN: frozenset({"name", "name_in"}),
}
Address = tuple[str, str]


def unproven_changes(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """Where a changed ladder touches what is signed for and is not proven tighter; both are
    ladders that are right. Empty: one director is enough."""
    was, now = _by_address(before), _by_address(after)
    found = [was[key].where for key in was if key not in now and not _is_free(was[key])]
    found += [now[key].where for key in now if key not in was and not _only_adds(now[key])]
    for key in was.keys() & now.keys():
        free = _is_free(was[key]) and _is_free(now[key])
        if not free and not all(_proven(was[key], now[key])):
            found.append(was[key].where)
    if _surfaces(before) != _surfaces(after):
        found.append(SURFACE.word)
    return sorted(set(found))


def _by_address(content: dict[str, Any]) -> dict[Address, Table]:
    """By the table around it too: a gate that moves to another stage is another gate."""
    return {(_around(table), table.where): table for table in tables(content)}


def _around(table: Table) -> str:
    return table.owner.where if table.owner else ""


def _surfaces(content: dict[str, Any]) -> list[str]:
    """From easy to hard: their order decides."""
    return [surface["key"] for surface in content["surface"]]


def _is_free(table: Table) -> bool:
    """A gate of a stage, or of a drill that is no skill, where nobody signs."""
    owner = table.owner
    if table.kind is not GATE or owner is None or owner.kind is RELEASE:
        return False
    if owner.kind is STAGE:
        return not owner.row["sign_off"]
    return not owner.row.get("skill") and owner.row["adult"] != "hands"


def _only_adds(table: Table) -> bool:
    """One gate more asks for more."""
    return table.kind is GATE


def _proven(was: Table, now: Table) -> Iterator[bool]:
    own = {*was.row, *now.row} - was.kind.parts.keys()
    for name in own:
        before, after = was.row.get(name), now.row.get(name)
        if before == after or name in WORDS.get(was.kind, ()):
            continue
        tightens = ONLY_TIGHTEN.get(was.kind, {}).get(name)
        yield tightens is not None and tightens(before, after)
