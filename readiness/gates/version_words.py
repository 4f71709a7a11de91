"""What a version of the ladder changed in the one before, in sentences.

Shared: the evidence page uses value_changes.
"""

import datetime
from collections.abc import Mapping
from typing import Any

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.fault_map.changes import map_changes, off_the_map
from readiness.gates.ladder_gates import CHANGEABLE, PlacedGate, gates_of
from readiness.gates.words import VALUE_NAMES, ladder_names, placed_title, stage_title, value_text
from readiness.record.ladders import NamedLadder
from readiness.words.names import Names
from readiness.words.numbers import join_words

PARTS: dict[str, Lazy] = {
    "title": gettext_lazy("title"),
    "arithmetic": gettext_lazy("how evidence fades"),
    "way_back": gettext_lazy("the way back"),
    "pain_rule": gettext_lazy("the rule for pain"),
    "strand": gettext_lazy("strands"),
    "surface": gettext_lazy("surfaces"),
    "equipment": gettext_lazy("equipment"),
    "drill": gettext_lazy("drills"),
    "stage": gettext_lazy("stages"),
    "fault": gettext_lazy("faults"),
    "rubric": gettext_lazy("rubrics"),
    "pain": gettext_lazy("sore places"),
    "unlogged": gettext_lazy("what is not logged"),
}


def differences(before: NamedLadder, after: NamedLadder, day: datetime.date) -> list[str]:
    """What another version changed, gate by gate and fault by fault; other parts are named
    only."""
    was = {gate.code: gate for gate in gates_of(before.content)}
    now = {gate.code: gate for gate in gates_of(after.content)}
    old, new = ladder_names(before, day), ladder_names(after, day)
    sentences = [
        _("%(place)s. %(gate)s (%(changes)s)")
        % {"place": stage_title(gate, new), "gate": placed_title(gate, new), "changes": changes}
        for code, gate in now.items()
        if code in was and (changes := value_changes(was[code].row, gate.row))
    ]
    sentences += [
        _named(_("New gate: %(gate)s"), gate, new) for c, gate in now.items() if c not in was
    ]
    sentences += [_named(_("Gone: %(gate)s"), gate, old) for c, gate in was.items() if c not in now]
    sentences += map_changes(before, after)
    other = [str(PARTS[part]) for part in PARTS if _differs(part, before, after)]
    if other:
        sentences.append(_("Changed as well: %(parts)s.") % {"parts": join_words(other)})
    return sentences


def _named(form: str, gate: PlacedGate, names: Names) -> str:
    return form % {"gate": f"{stage_title(gate, names)}. {placed_title(gate, names)}"}


def value_changes(was: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """The values of a gate that are others now; empty if none is."""
    changes = [
        _("%(name)s %(before)s → %(after)s")
        % {
            "name": VALUE_NAMES[name],
            "before": value_text(name, was[name]),
            "after": value_text(name, now[name]),
        }
        for name in VALUE_NAMES
        if name in was and name in now and was[name] != now[name]
    ]
    return "; ".join(changes)


def _differs(part: str, before: NamedLadder, after: NamedLadder) -> bool:
    """A part differs in more than its gates' values, which gates there are, and the map."""
    shared = {gate.code for gate in gates_of(before.content)}
    shared &= {gate.code for gate in gates_of(after.content)}
    was, now = before.content.get(part), after.content.get(part)
    if part == "fault":
        was, now = off_the_map(was), off_the_map(now)
    return _rest(was, shared) != _rest(now, shared)


def _rest(part: object, shared: set[str]) -> object:
    """What is left without gates that are not shared, and without the others' values."""
    if isinstance(part, list):
        return [
            _rest(item, shared) for item in part if not _is_gate(item) or item["code"] in shared
        ]
    if isinstance(part, dict):
        left = {name: _rest(item, shared) for name, item in part.items()}
        return {name: left[name] for name in left if not (_is_gate(part) and name in VALUE_NAMES)}
    return part


def _is_gate(row: object) -> bool:
    return isinstance(row, dict) and row.get("kind") in CHANGEABLE
