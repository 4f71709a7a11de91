"""What a gate asks, where it stands and what it lacks. Shared: used by the child page, the floor,
review and gates."""

from collections.abc import Iterable, Mapping
from typing import Protocol

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.engine.gates import FirstTurnGate, GateReading
from readiness.engine.reading import StageReading
from readiness.words.names import Names
from readiness.words.numbers import join_words, measured, number_words, percent_words, rate_words
from readiness.words.support import support_word
from studio.templatetags.marks import percent


class NamedGate(Protocol):
    """A gate by what names it, wherever its values come from."""

    @property
    def code(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def drill(self) -> str: ...


# (turns, days) of clean turns that would open a gate; None if no such number was found.
Forecast = tuple[int, int] | None
# Nothing is said of what would open the gate.
NO_FORECAST = (0, 0)
# More clean turns to go than this are no help to anybody; a record less sure than this is said
# to be far off.
MOST_TURNS_TOLD = 12
FAR_FROM_STEADY = 0.05

STEADY: dict[str, Lazy] = {
    "hands-on": gettext_lazy("%(drill)s: steady hands-on"),
    "light-touch": gettext_lazy("%(drill)s: steady at light touch or less"),
    "standing-by": gettext_lazy("%(drill)s: steady at standing by or less"),
    "unspotted": gettext_lazy("%(drill)s: steady unspotted"),
}


def drill_words(names: Names, gate: NamedGate) -> str:
    """The drill that a gate asks for, or the two of which one is enough."""
    drill, either = names.drill(gate.drill), names.ladder.gates[gate.code].get("or_drill")
    if either is None:
        return drill
    return _("%(one)s or %(other)s") % {"one": names.drill(either), "other": drill}


def gate_title(names: Names, gate: NamedGate, needed: float) -> str:
    """What a gate asks, in a few words; ``needed``: in the gate's own unit."""
    file, drill = names.ladder.gates[gate.code], names.ladder.drills[gate.drill]
    need = number_words(needed)
    match gate.kind:
        case "clean" if "support" in file:
            form = str(STEADY[file["support"]])
        case "clean":
            form = _("%(drill)s: steady")
        case "reach" if drill["measure"] == "seconds":
            form = _("%(drill)s: %(need)s s")
        case "reach" if drill["measure"] == "grade":
            form = _("%(drill)s: grade %(need)s")
        case "reach":
            form = _("%(drill)s: %(need)s")
        case "clear":
            form = _("%(drill)s: no stop sign lately")
        case "count":
            form = _("%(drill)s: %(need)s clean")
        case "seen-by-two":
            form = _("%(drill)s: seen by two")
        case _other:
            form = _("%(drill)s: first turn of the day")
    return form % {"drill": drill_words(names, gate), "need": need}


def gate_sentence(
    names: Names, gate: GateReading, forecast: Forecast = NO_FORECAST, entered: bool = False
) -> str:
    """Where a gate stands. ``forecast``: the clean turns that would open a clean gate;
    ``entered``: its stage is open, and the gate no more than a reminder."""
    if isinstance(gate.gate, FirstTurnGate):
        return _first_turn(names, gate, gate.gate)
    match gate.gate.kind:
        case "clean":
            return " ".join(_clean(names, gate, forecast, entered)).strip()
        case "reach":
            return _reach(names, gate)
        case "clear":
            return _clear(names, gate)
        case "count" if gate.met:
            return _("%(value)s clean turns; %(need)s are asked.") % _counts(gate)
        case "count":
            return _("%(value)s of %(need)s clean turns.") % _counts(gate)
    return _seen_by_two(names, gate)


def _clean(names: Names, gate: GateReading, forecast: Forecast, entered: bool) -> Iterable[str]:
    values = {
        "sure": percent_words(gate.value),
        "need": percent_words(gate.need),
        "child": names.child,
        "rate": rate_words(gate.parts["rate"]),
    }
    if gate.met or entered:
        form = _(
            "The record is %(sure)s sure that %(child)s is clean at least %(rate)s; "
            "%(need)s is asked."
        )
        yield form % values
        if not gate.met and gate.value >= gate.need:
            yield from _lacks(gate.parts)
        return
    if gate.parts["clean"] == 0:
        yield _("No clean turn counts yet.")
    elif gate.value < FAR_FROM_STEADY:
        yield _("Far from steady yet.")
    yield _("The record is %(sure)s sure that %(child)s is clean at least %(rate)s.") % values
    if gate.value >= gate.need:
        yield from _lacks(gate.parts)
    yield _opens(gate, forecast)


def _lacks(parts: Mapping[str, float]) -> Iterable[str]:
    """What else a clean gate asks, once it is sure enough."""
    if parts["days"] < parts["days_need"]:
        yield _("Clean turns on %(days)s of %(days_need)s days.") % parts
    if parts["clean"] < parts["clean_need"]:
        yield _("%(clean)s of %(clean_need)s clean turns.") % parts
    if parts["age"] > parts["fresh"]:
        form = _("The newest clean turn is %(age)s days old; it may be %(fresh)s at most.")
        yield form % parts


def _opens(gate: GateReading, forecast: Forecast) -> str:
    values = {"need": percent_words(gate.need), "more": _more_turns(forecast)}
    sure = gate.value >= gate.need
    if forecast is None:
        return _("The next classes are too few to open it.")
    if forecast == NO_FORECAST:
        return "" if sure else _("This opens at %(need)s.") % values
    if forecast[0] > MOST_TURNS_TOLD:
        return _("Not soon; work on what goes wrong first.")
    if sure:
        return _("This opens with about %(more)s.") % values
    return _("This opens at %(need)s: about %(more)s.") % values


def _more_turns(forecast: Forecast) -> str:
    if not forecast or forecast == NO_FORECAST:
        return ""
    turns, days = forecast
    if days == 1:
        form = ngettext(
            "%(turns)s more clean turn on one day",
            "%(turns)s more clean turns on one day",
            turns,
        )
    else:
        form = ngettext(
            "%(turns)s more clean turn on %(days)s days",
            "%(turns)s more clean turns on %(days)s days",
            turns,
        )
    return form % {"turns": turns, "days": days}


def _reach(names: Names, gate: GateReading) -> str:
    parts = gate.parts
    measure = names.ladder.drills[gate.gate.drill]["measure"]
    values = {
        "best": measured(parts["best"], measure),
        "need": measured(gate.need, measure),
        "bare_best": number_words(parts["best"]),
        "bare_need": number_words(gate.need),
        "days": parts["days"],
        "days_need": parts["days_need"],
        "reached": join_words([names.date(day) for day in gate.days[-2:]]),
    }
    return _reach_form(gate, measure == "grade") % values


def _reach_form(gate: GateReading, is_grade: bool) -> str:
    parts = gate.parts
    if is_grade and gate.met:
        return _("Grade %(bare_need)s reached, last on %(reached)s.")
    if is_grade and parts["days"]:
        return _("Grade %(bare_need)s, twice in a class, on %(days)s of %(days_need)s days.")
    if is_grade:
        return ngettext(
            "Grade %(bare_need)s, twice in a class, on %(days_need)s day; none lately.",
            "Grade %(bare_need)s, twice in a class, on %(days_need)s days; none lately.",
            int(parts["days_need"]),
        )
    if gate.met:
        return _("%(need)s reached, last on %(reached)s.")
    if parts["days"]:
        return _("%(need)s reached on %(days)s of %(days_need)s days, at best %(best)s.")
    if parts["best"]:
        return _("%(bare_best)s of %(need)s at best, on %(days)s of %(days_need)s days.")
    return ngettext(
        "%(need)s is needed on %(days_need)s day; none lately.",
        "%(need)s is needed on %(days_need)s days; none lately.",
        int(parts["days_need"]),
    )


def _clear(names: Names, gate: GateReading) -> str:
    parts = gate.parts
    if parts.get("no_turns"):
        return _("No turn at this yet, so there is nothing to say of stop signs.")
    if parts["none_ever"]:
        return _("No stop sign on record.")
    values = {**_counts(gate), **parts, "day": names.date(gate.days[0])}
    if gate.met:
        form = _(
            "No stop sign since %(day)s: %(value)s clean turns on later days, at any support, "
            "%(since)s days."
        )
    else:
        form = _(
            "Since the last stop sign, on %(day)s: %(value)s of %(need)s clean turns on later "
            "days, at any support, %(since)s of %(days_need)s days."
        )
    return form % values


def _seen_by_two(names: Names, gate: GateReading) -> str:
    values = {**_counts(gate), "days": join_words([names.date(day) for day in gate.days[-3:]])}
    if gate.met:
        form = _("Seen clean by two graders, last on %(days)s.")
    elif gate.value >= gate.need:
        form = _(
            "Two graders, but on one day only (%(days)s): another day, or three clean "
            "turns seen by each."
        )
    else:
        form = _("Seen clean by %(value)s of %(need)s graders.")
    return form % values


def _first_turn(names: Names, gate: GateReading, rule: FirstTurnGate) -> str:
    values = {
        "support": support_word(rule.support.code),
        "within": rule.within,
        "day": names.date(gate.days[0]) if gate.days else "",
    }
    if gate.met:
        return _("The first turn on %(day)s was clean.") % values
    if not gate.days:
        return _("No turn in the last %(within)s days.") % values
    form = _(
        "The first turn on %(day)s does not count: it has to be clean, graded, and at "
        "%(support)s or less."
    )
    return form % values


def gate_stale(names: Names, gate: GateReading) -> str:
    """Until when a gate stays met with nothing more; empty if it does not fall."""
    if not gate.met or not gate.stale_on:
        return ""
    return _("Without new turns this lapses on %(day)s.") % {"day": names.date(gate.stale_on)}


def gate_chart_line(names: Names, gate: GateReading) -> str:
    """What the level line of a gate's chart stands for."""
    if gate.gate.kind == "clean":
        return _("the line: %(need)s sure") % {"need": percent_words(gate.need)}
    measure = names.ladder.drills[gate.gate.drill]["measure"]
    return _("the line: %(need)s") % {"need": measured(gate.need, measure)}


def gate_short(names: Names, gate: GateReading) -> str:
    """What an unmet gate lacks, in the few words that a list has room for."""
    values = {**_counts(gate), **gate.parts, "drill": drill_words(names, gate.gate)}
    match gate.gate.kind:
        case "clean" if gate.value < gate.need:
            values |= {"sure": percent(gate.value), "asked": percent(gate.need)}
            turns = int(gate.parts.get("turns", 0))
            form = ngettext(
                "%(drill)s: %(sure)s %% sure of %(asked)s, %(turns)s turn",
                "%(drill)s: %(sure)s %% sure of %(asked)s, %(turns)s turns",
                turns,
            )
            values["turns"] = turns
        case "clean" if gate.parts["days"] < gate.parts["days_need"]:
            form = _("%(drill)s: clean on %(days)s of %(days_need)s days")
        case "clean" if gate.parts["clean"] < gate.parts["clean_need"]:
            form = _("%(drill)s: %(clean)s of %(clean_need)s clean turns")
        case "clean":
            form = _("%(drill)s: last clean turn %(age)s days ago")
        case "reach" if gate.parts["days"]:
            form = _("%(drill)s: %(need)s reached on %(days)s of %(days_need)s days")
        case "reach":
            measure = names.ladder.drills[gate.gate.drill]["measure"]
            values["best"] = number_words(gate.parts["best"])
            values["need"] = measured(gate.need, measure)
            form = _("%(drill)s: %(best)s of %(need)s")
        case "clear" if gate.parts.get("no_turns"):
            form = _("%(drill)s: no turn yet")
        case "clear" if gate.value < gate.need:
            form = _("%(drill)s: %(value)s of %(need)s clean since the last stop sign")
        case "clear":
            form = _("%(drill)s: %(since)s of %(days_need)s days since the last stop sign")
        case "count":
            form = _("%(drill)s: %(value)s of %(need)s clean")
        case "seen-by-two":
            form = _("%(drill)s: not yet seen by two")
        case _other:
            form = _("%(drill)s: first turn of the day")
    return form % values


def holding_text(names: Names, stage: StageReading) -> str:
    """What holds a closed stage, in a few words; that all gates are met, if they are."""
    gate = stage.holding
    if gate is not None:
        return gate_short(names, gate)
    return ngettext("The one gate is met", "All %(n)s gates met", len(stage.gates)) % {
        "n": len(stage.gates)
    }


def gates_met(stage: StageReading) -> str:
    """How many of a stage's gates are met; empty for one that has none."""
    if not stage.gates:
        return ""
    form = ngettext("%(met)s of %(n)s gate met", "%(met)s of %(n)s gates met", len(stage.gates))
    return form % {"met": sum(gate.met for gate in stage.gates), "n": len(stage.gates)}


def _counts(gate: GateReading) -> dict[str, str]:
    """Never more of what is asked than is asked: no "16 of 15"."""
    value = gate.value if gate.met else min(gate.value, gate.need)
    return {"value": number_words(value), "need": number_words(gate.need)}
