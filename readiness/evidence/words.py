"""The sentences of the evidence page: turns since the last stop sign, and what has changed since a
recommendation."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.engine.levels import Support
from readiness.evidence.changes import DrillChange, GateChange
from readiness.gates.version_words import value_changes
from readiness.words.gates import gate_title
from readiness.words.names import Names
from studio.templatetags.marks import SUPPORT_WORDS


def since_stop_sign(support: int, turns: int, of_all: int) -> str:
    """Turns on days after the last stop sign: at a support or less, and at any."""
    values = {"turns": turns, "support": SUPPORT_WORDS[support], "all": of_all}
    if support == Support.HANDS_ON:
        form = ngettext("%(all)s turn, at any support.", "%(all)s turns, at any support.", of_all)
    elif support == Support.UNSPOTTED:
        form = ngettext(
            "%(turns)s turn unspotted, %(all)s at any support.",
            "%(turns)s turns unspotted, %(all)s at any support.",
            turns,
        )
    else:
        form = ngettext(
            "%(turns)s turn at %(support)s or less, %(all)s at any support.",
            "%(turns)s turns at %(support)s or less, %(all)s at any support.",
            turns,
        )
    return form % values


def way_text(source: str | Lazy, sender: str, days_late: int) -> str:
    """How turns came in: floor, paper or file; by whom, where that is not their author, or
    empty; how many days after their day."""
    parts = [str(source)]
    if sender:
        parts.append(_("brought in by %(who)s") % {"who": sender})
    if days_late:
        form = ngettext("%(n)s day later", "%(n)s days later", days_late)
        parts.append(form % {"n": days_late})
    return ", ".join(parts)


def change_sentences(
    names: Names, drills: Mapping[str, DrillChange], gates: Iterable[GateChange]
) -> list[str]:
    """What has changed since the recommendation; that nothing has, if so."""
    sentences = [_drill_sentence(names, drill, change) for drill, change in drills.items()]
    sentences += [_gate_sentence(names, change) for change in gates]
    return sentences or [_("Nothing has changed: no turn at these drills, and no gate.")]


def _drill_sentence(names: Names, drill: str, change: DrillChange) -> str:
    parts = []
    if change.turns:
        parts.append(ngettext("%(n)s turn", "%(n)s turns", change.turns) % {"n": change.turns})
    if change.not_clean:
        parts.append(_("%(n)s not clean") % {"n": change.not_clean})
    if change.stop_signs:
        form = ngettext("%(n)s stop sign", "%(n)s stop signs", change.stop_signs)
        parts.append(form % {"n": change.stop_signs})
    if change.struck:
        form = ngettext(
            "%(n)s older turn taken back", "%(n)s older turns taken back", change.struck
        )
        parts.append(form % {"n": change.struck})
    return _("%(drill)s: %(changes)s.") % {"drill": names.drill(drill), "changes": ", ".join(parts)}


def _gate_sentence(names: Names, change: GateChange) -> str:
    named = replace(names, ladder=change.ladder)
    values = {"gate": gate_title(named, change.gate, change.need)}
    if change.now is None:
        return _("Gate that is gone: %(gate)s.") % values
    if change.before is None:
        return _("New gate: %(gate)s.") % values
    sentences = []
    if change.before != change.now:
        values["changes"] = value_changes(change.before, change.now)
        form = _("Changed gate: %(gate)s (%(changes)s).")
        sentences.append((form if values["changes"] else _("Changed gate: %(gate)s.")) % values)
    if change.lost:
        sentences.append(_("Met then, not now: %(gate)s.") % values)
    return " ".join(sentences)
