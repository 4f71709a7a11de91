"""The sentences of the evidence page: faults by root, turns since the last stop sign, what has
changed since a recommendation, and what is true now and tomorrow."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.child.history import FaultRow
from readiness.engine.levels import Support
from readiness.engine.reading import OPEN, StageReading
from readiness.evidence.changes import DrillChange, GateChange
from readiness.gates.version_words import value_changes
from readiness.words.gates import gate_title
from readiness.words.names import Names
from studio.templatetags.marks import STATE_WORDS, SUPPORT_WORDS


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


def root_sentence(names: Names, root: str, faults: Iterable[FaultRow]) -> str:
    """The faults of one root cause, each with how often it was seen and when last."""
    parts = []
    for fault in faults:
        form = ngettext(
            "%(fault)s (once, on %(day)s)", "%(fault)s (%(n)s times, last on %(day)s)", fault.count
        )
        part = form % {"fault": fault.sees, "n": fault.count, "day": names.date(fault.last)}
        parts.append(_("stop sign: %(fault)s") % {"fault": part} if fault.stop else part)
    return _("%(root)s: %(faults)s.") % {"root": root, "faults": "; ".join(parts)}


def caught_sentences(names: Names, days: Sequence[datetime.date]) -> list[str]:
    """That turns were caught, how often and when last; nothing if none was."""
    if not days:
        return []
    form = ngettext(
        "Stop sign: caught by the spotter (once, on %(day)s).",
        "Stop sign: caught by the spotter (%(n)s times, last on %(day)s).",
        len(days),
    )
    return [form % {"n": len(days), "day": names.date(max(days))}]


def now_and_tomorrow(names: Names, now: StageReading, tomorrow: StageReading) -> list[str]:
    """What is true of a stage now, and from tomorrow if nothing more comes in."""
    day = names.date(names.day + datetime.timedelta(days=1))
    return [
        _("Now: %(state)s.") % {"state": _state(names, now)},
        _("From tomorrow, %(day)s, if nothing more comes in: %(state)s.")
        % {"day": day, "state": _state(names, tomorrow)},
    ]


def _state(names: Names, stage: StageReading) -> str:
    word = str(STATE_WORDS[stage.state])
    if stage.state != OPEN or stage.opening is None or stage.opening.surface is None:
        return word
    surface = names.surface(stage.opening.surface)
    return _("%(state)s, on %(surface)s and easier") % {"state": word, "surface": surface}


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
    if change.clean and not change.not_clean:
        parts.append(_("all clean"))
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
