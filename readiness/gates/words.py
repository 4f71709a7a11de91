"""What a gate asks and whom it lets through, in sentences."""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from math import ceil

from django.utils.formats import number_format
from django.utils.functional import Promise as Lazy
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.engine.gates import CleanRule
from readiness.engine.trial.simulation import Classes
from readiness.gates.ladder_gates import PRACTICE, PlacedGate
from readiness.record.ladders import NamedLadder
from readiness.words.gates import gate_title
from readiness.words.names import Names
from readiness.words.numbers import number_words, percent_words, rate_words

# True clean rates that are said in words, in hundredths.
IN_TEN: dict[int, Lazy] = {
    40: gettext_lazy("four times in ten"),
    50: gettext_lazy("five times in ten"),
    60: gettext_lazy("six times in ten"),
    90: gettext_lazy("nine times in ten"),
}


# From here on a chance is values in tenths, and under it as one in so many.
MANY = 0.4


FEW = 0.01


NEARLY_ALL = 0.99

VALUE_NAMES: dict[str, Lazy] = {
    "rate": gettext_lazy("clean at least"),
    "certainty": gettext_lazy("sure"),
    "days": gettext_lazy("days"),
    "clean": gettext_lazy("clean turns"),
    "within": gettext_lazy("within days"),
    "fresh": gettext_lazy("newest at most days old"),
    "at_least": gettext_lazy("at least"),
}


def ladder_names(ladder: NamedLadder, day: datetime.date) -> Names:
    """The sentences of a ladder that are about no child."""
    return Names("", ladder, day)


def true_rate(rate: float) -> str:
    """A child's true clean rate: "six times in ten"."""
    return str(IN_TEN.get(round(100 * rate), rate_words(rate)))


def share_words(share: float) -> str:
    """A share in per cent, rounded down, with its sign on the same line."""
    return percent_words(share).replace(" ", "\N{NO-BREAK SPACE}")


def chance(share: float) -> str:
    """A chance in per cent, rounded down, and as one in so many."""
    if share < FEW:
        return _("under %(least)s") % {"least": share_words(FEW)}
    if share >= NEARLY_ALL:
        return _("%(number)s or more") % {"number": share_words(NEARLY_ALL)}
    values = {"number": share_words(share)}
    if share >= MANY:
        values["of"] = number_words(int(10 * share))
        return _("%(number)s (about %(of)s in 10)") % values
    values["of"] = number_words(int(1 / share))
    return _("%(number)s (about 1 in %(of)s)") % values


def children(share: float) -> str:
    """So many of a hundred invented children, rounded down, inside a sentence."""
    if share < FEW:
        return _("fewer than 1 in 100 children")
    if share >= NEARLY_ALL:
        return _("nearly all children")
    if share >= MANY:
        return _("about %(of)s in 10 children") % {"of": number_words(int(10 * share))}
    return _("about 1 in %(of)s children") % {"of": number_words(int(1 / share))}


def error_words(error: float) -> str:
    """A standard error in hundredths, rounded up to a tenth."""
    return number_format(ceil(round(1000 * error, 6)) / 10, 1)


def placed_title(gate: PlacedGate, names: Names) -> str:
    """A gate in a few words."""
    if gate.code == PRACTICE:
        return _("Practice: steady inside a stage")
    need = gate.row.get("at_least", gate.row.get("clean", 0))
    named = gate_title(names, gate, need)
    if gate.opens:
        values = {"drill": names.drill(gate.opens), "gate": named}
        return _("%(gate)s (opens: %(drill)s)") % values
    return named


def stage_title(gate: PlacedGate, names: Names) -> str:
    """Where a gate stands."""
    if gate.code == PRACTICE:
        return _("Inside every stage")
    return _("Stage %(number)s: %(name)s") % {
        "number": gate.stage.partition("/")[0],
        "name": names.stage(gate.stage),
    }


def asks_sentence(gate: PlacedGate, names: Names) -> str:
    """What a gate asks, in a sentence."""
    match gate.kind:
        case "clean":
            return _clean_asks(gate)
        case "reach":
            return _reach_asks(gate, names)
        case "clear":
            return " ".join(_clear_asks(gate))
    return _("%(clean)s clean turns in %(within)s days, on any of them.") % _numbers(gate)


def _numbers(gate: PlacedGate) -> dict[str, str]:
    names = ("days", "clean", "within", "fresh", "at_least")
    return {name: number_words(gate.row[name]) for name in names if name in gate.row}


def _clear_asks(gate: PlacedGate) -> Iterator[str]:
    yield _(
        "Since the last stop sign: %(clean)s clean turns on later days, and %(days)s days."
    ) % _numbers(gate)
    if gate.row.get("needs_turns"):
        yield _("With no turn at all it is not met.")


def _clean_asks(gate: PlacedGate) -> str:
    form = _(
        "%(sure)s sure of clean at least %(rate)s; %(clean)s clean turns on %(days)s days, the "
        "newest at most %(fresh)s days old."
    )
    values = {"sure": share_words(gate.row["certainty"]), "rate": rate_words(gate.row["rate"])}
    return form % {**_numbers(gate), **values}


def _reach_asks(gate: PlacedGate, names: Names) -> str:
    match names.ladder.drills[gate.drill]["measure"]:
        case "seconds":
            form = _("%(at_least)s seconds, on %(days)s different days in %(within)s.")
        case "grade":
            form = _("Grade %(at_least)s, on %(days)s different days in %(within)s.")
        case _other:
            form = _("%(at_least)s times, on %(days)s different days in %(within)s.")
    return form % _numbers(gate)


def luck_line(rate: float, within: Sequence[float]) -> str:
    """What a gate lets through, in one plain sentence; chances within a term and a year."""
    form = _(
        "%(term)s who are clean %(rate)s would open this within a term by luck; within a year, "
        "%(year)s."
    )
    return capfirst(form % _terms(rate, within))


def ready_line(rate: float, within: Sequence[float]) -> str:
    """The other side: whom it should let through."""
    form = _("%(term)s who are clean %(rate)s open it within a term; within a year, %(year)s.")
    return capfirst(form % _terms(rate, within))


def _terms(rate: float, within: Sequence[float]) -> dict[str, str]:
    return {"rate": true_rate(rate), "term": children(within[0]), "year": children(within[1])}


def habit_line(rate: float, terms: Mapping[str, float]) -> str:
    """The same children under the rules of habit, within a term."""
    form = _(
        "On the same days “8 of the last 10” would let %(eight)s who are clean %(rate)s through "
        "within a term, “five in a row” %(five)s."
    )
    eight, five = children(terms["eight-of-ten"]), children(terms["five-in-a-row"])
    return form % {"eight": eight, "five": five, "rate": true_rate(rate)}


def classes_line(classes: Classes) -> str:
    """For which classes the chances hold, and what fewer would mean."""
    if classes.a_week < 1:
        form = ngettext(
            "This is for one class every two weeks with %(turns)s turn each.",
            "This is for one class every two weeks with %(turns)s turns each.",
            classes.turns,
        )
    elif classes.a_week == 1:
        form = ngettext(
            "This is for one class a week with %(turns)s turn each.",
            "This is for one class a week with %(turns)s turns each.",
            classes.turns,
        )
    else:
        form = ngettext(
            "This is for %(classes)s classes a week with %(turns)s turn each.",
            "This is for %(classes)s classes a week with %(turns)s turns each.",
            classes.turns,
        )
    values = {"classes": number_words(classes.a_week), "turns": number_words(classes.turns)}
    weaker = _(
        "Fewer turns and fewer classes mean weaker answers: a child who is not ready and one who "
        "is are told apart less well, and later."
    )
    return f"{form % values} {weaker}"


def runs_line(runs: int, largest_error: float) -> str:
    """How exactly the chances are known."""
    return _(
        "Worked out with %(runs)s invented children for every point, each staying at one true "
        "rate; the standard error of a chance is at most %(error)s in 100, and stands beside it "
        "in the table. The two rules of habit are exact."
    ) % {"runs": number_format(runs, 0, force_grouping=True), "error": error_words(largest_error)}


def value_text(name: str, number: float) -> str:
    """One value of a gate, as it is said."""
    if name == "rate":
        return rate_words(number)
    if name == "certainty":
        return share_words(number)
    return number_words(number)


def asked_line(rule: CleanRule) -> str:
    """What the upright line of a picture stands for."""
    return _("what this gate asks: %(rate)s") % {"rate": share_words(rule.rate)}
