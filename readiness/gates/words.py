"""The sentences about gates: what they ask, what they let through, what a change would do."""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from math import ceil
from typing import Any

from django.utils.formats import date_format, number_format
from django.utils.functional import Promise as Lazy
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.engine.ladder import CleanRule
from readiness.engine.trial.error_rates import ChanceCurve, Classes
from readiness.gates import trial
from readiness.gates.luck import TERM, YEAR, at_rate
from readiness.gates.trial import PRACTICE, Change, PlacedGate, gates_of
from readiness.record.ladders import NamedLadder
from readiness.words.gates import gate_title
from readiness.words.names import Names
from readiness.words.numbers import join_words, number_words, percent_words, rate_words
from studio.models import Child
from studio.templatetags.marks import SUPPORT_WORDS

# True clean rates that are said in words, in hundredths.
IN_TEN: dict[int, Lazy] = {
    40: gettext_lazy("four times in ten"),
    50: gettext_lazy("five times in ten"),
    60: gettext_lazy("six times in ten"),
    90: gettext_lazy("nine times in ten"),
}

HABITS: dict[str, Lazy] = {
    "eight-of-ten": gettext_lazy("8 of the last 10"),
    "five-in-a-row": gettext_lazy("five in a row"),
}

# From here on a chance is said in tenths, and under it as one in so many.
MANY = 0.4
FEW = 0.01
NEARLY_ALL = 0.99


def words_for(ladder: NamedLadder, day: datetime.date) -> Names:
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
    said = {"number": share_words(share)}
    if share >= MANY:
        said["of"] = number_words(int(10 * share))
        return _("%(number)s (about %(of)s in 10)") % said
    said["of"] = number_words(int(1 / share))
    return _("%(number)s (about 1 in %(of)s)") % said


def error_words(error: float) -> str:
    """A standard error in hundredths, rounded up to a tenth."""
    return number_format(ceil(round(1000 * error, 6)) / 10, 1)


# --- what a gate is and asks -----------------------------------------------------------


def title(gate: PlacedGate, names: Names) -> str:
    """A gate in a few words."""
    if gate.code == PRACTICE:
        return _("Practice: steady inside a stage")
    need = gate.row.get("at_least", gate.row.get("clean", 0))
    named = gate_title(names, {**gate.row, "need": need})
    if gate.opens:
        said = {"drill": names.drill(gate.opens), "gate": named}
        return _("%(gate)s (opens: %(drill)s)") % said
    return named


def place(gate: PlacedGate, names: Names) -> str:
    """Where a gate stands."""
    if gate.code == PRACTICE:
        return _("Inside every stage")
    return _("Stage %(number)s: %(name)s") % {
        "number": gate.stage.partition("/")[0],
        "name": names.stage(gate.stage),
    }


def asks(gate: PlacedGate, names: Names) -> str:
    """What a gate asks, in a sentence."""
    match gate.kind:
        case "clean":
            return _clean_asks(gate)
        case "reach":
            return _reach_asks(gate, names)
        case "clear":
            return _(
                "Since the last stop sign: %(clean)s clean turns on later days, and %(days)s days."
            ) % _numbers(gate)
    return _("%(clean)s clean turns in %(within)s days, on any of them.") % _numbers(gate)


def _numbers(gate: PlacedGate) -> dict[str, str]:
    names = ("days", "clean", "within", "fresh", "at_least")
    return {name: number_words(gate.row[name]) for name in names if name in gate.row}


def _clean_asks(gate: PlacedGate) -> str:
    form = _(
        "%(sure)s sure of clean at least %(rate)s; %(clean)s clean turns on %(days)s days, the "
        "newest at most %(fresh)s days old."
    )
    said = {"sure": share_words(gate.row["certainty"]), "rate": rate_words(gate.row["rate"])}
    return form % {**_numbers(gate), **said}


def _reach_asks(gate: PlacedGate, names: Names) -> str:
    match names.ladder.drills[gate.drill]["measure"]:
        case "seconds":
            form = _("%(at_least)s seconds, on %(days)s different days in %(within)s.")
        case "grade":
            form = _("Grade %(at_least)s, on %(days)s different days in %(within)s.")
        case _other:
            form = _("%(at_least)s times, on %(days)s different days in %(within)s.")
    return form % _numbers(gate)


# --- what it lets through --------------------------------------------------------------


def luck_line(rate: float, within: Sequence[float]) -> str:
    """What a gate lets through, in one plain sentence; chances within a term and a year."""
    return _(
        "A child who is clean %(rate)s would open this by luck within a term with chance %(term)s, "
        "within a year with chance %(year)s."
    ) % {"rate": true_rate(rate), "term": chance(within[0]), "year": chance(within[1])}


def ready_line(rate: float, within: Sequence[float]) -> str:
    """The other side: whom it should let through."""
    return _(
        "A child who is clean %(rate)s opens it within a term with chance %(term)s, within a year "
        "with chance %(year)s."
    ) % {"rate": true_rate(rate), "term": chance(within[0]), "year": chance(within[1])}


def habit_line(rate: float, terms: Mapping[str, float]) -> str:
    """The same child under the rules of habit, within a term."""
    return _(
        "On the same days “8 of the last 10” would let that child through within a term with "
        "chance %(eight)s, “five in a row” with chance %(five)s."
    ) % {"eight": chance(terms["eight-of-ten"]), "five": chance(terms["five-in-a-row"])}


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
    said = {"classes": number_words(classes.a_week), "turns": number_words(classes.turns)}
    weaker = _(
        "Fewer turns and fewer classes mean weaker answers: a child who is not ready and one who "
        "is are told apart less well, and later."
    )
    return f"{form % said} {weaker}"


def runs_line(runs: int, largest_error: float) -> str:
    """How exactly the chances are known."""
    return _(
        "Worked out with %(runs)s invented children for every point, each staying at one true "
        "rate; the standard error of a chance is at most %(error)s in 100, and stands beside it "
        "in the table. The two rules of habit are exact."
    ) % {"runs": number_format(runs, 0, force_grouping=True), "error": error_words(largest_error)}


# --- what a change would do ------------------------------------------------------------


def luck_change(rate: float, now: float, tried: float) -> str:
    """What other values do to luck within a term."""
    if tried > now:
        form = _(
            "This lets more through by luck: a child who is clean %(rate)s would open it within "
            "a term with chance %(tried)s, where it is %(now)s now."
        )
    elif tried < now:
        form = _(
            "This lets less through by luck: a child who is clean %(rate)s would open it within "
            "a term with chance %(tried)s, where it is %(now)s now."
        )
    else:
        form = _(
            "As much gets through by luck as now: a child who is clean %(rate)s would open it "
            "within a term with chance %(now)s."
        )
    return form % {"rate": true_rate(rate), "now": chance(now), "tried": chance(tried)}


def ready_change(rate: float, now: float, tried: float) -> str:
    """What they do to those who are ready; empty if nothing."""
    if tried == now:
        return ""
    if tried < now:
        form = _(
            "A child who is clean %(rate)s waits longer: within a term it opens with chance "
            "%(tried)s, where it is %(now)s now."
        )
    else:
        form = _(
            "A child who is clean %(rate)s waits less: within a term it opens with chance "
            "%(tried)s, where it is %(now)s now."
        )
    return form % {"rate": true_rate(rate), "now": chance(now), "tried": chance(tried)}


# Each kind of change: the heading over the children, in the order of the page.
EFFECTS: dict[str, Lazy] = {
    trial.FALLS: gettext_lazy("Would fall to re-check"),
    trial.NO_LONGER_MET: gettext_lazy("Open already, and would not meet this gate anew"),
    trial.OPENS: gettext_lazy("Would open"),
    trial.DRILL_OPENS: gettext_lazy("A drill would open"),
    trial.TO_REVIEW: gettext_lazy("Would come up for review"),
    trial.STEP_EARNED: gettext_lazy("Would earn less support"),
    trial.STAYS_CLOSED: gettext_lazy("Would not open, as it would now"),
    trial.DRILL_STAYS_CLOSED: gettext_lazy("A drill would not open, as it would now"),
    trial.NOT_TO_REVIEW: gettext_lazy("Would no longer be for review"),
    trial.STEP_NOT_EARNED: gettext_lazy("Would not earn less support, as now"),
    trial.SCORE: gettext_lazy("Another score, and nothing else"),
}

EFFECT_NOTES: dict[str, Lazy] = {
    trial.FALLS: gettext_lazy(
        "Lately would be under its line. The stage goes to re-check in the next class with a "
        "turn, unless the turns there are clean; then more support, and the way back."
    ),
    trial.NO_LONGER_MET: gettext_lazy(
        "Gates are read for entry: the stage stays open, and support stays as it is."
    ),
}


def with_number(heading: str, number: int) -> str:
    """A heading with how many stand under it."""
    return _("%(heading)s: %(number)s") % {"heading": heading, "number": number}


def effect(change: Change, names: Names) -> str:
    """What a change would do to one child, beside the child's name."""
    said = {
        "stage": names.stage(change.stage) if change.stage else "",
        "drill": names.drill(change.drill) if change.drill else "",
        "support": SUPPORT_WORDS[change.support] if change.support is not None else "",
        "before": change.before,
        "after": change.after,
    }
    match change.kind:
        case trial.DRILL_OPENS | trial.DRILL_STAYS_CLOSED:
            return str(said["drill"])
        case trial.STEP_EARNED | trial.STEP_NOT_EARNED:
            return _("%(drill)s, %(support)s") % said
        case trial.SCORE:
            return _("%(stage)s: score %(before)s, then %(after)s") % said
    return str(said["stage"])


def effects_lead(children: int, falls: int, day: datetime.date) -> str:
    """What the change would do on the records as they are, in a sentence or two."""
    if not children:
        return _("On the records as they are, nothing would change for any child.")
    form = ngettext(
        "On the records as they are, something would change for %(n)s child from %(day)s on.",
        "On the records as they are, something would change for %(n)s children from %(day)s on.",
        children,
    )
    lead = form % {"n": children, "day": date_format(day, "j M Y")}
    if not falls:
        return f"{lead} {_('Nobody would fall to re-check.')}"
    fell = ngettext(
        "%(n)s child would fall to re-check.", "%(n)s children would fall to re-check.", falls
    )
    return f"{lead} {fell % {'n': falls}}"


def unseen(number: int) -> str:
    """Children of other locations: counted, not named."""
    return ngettext(
        "%(n)s more at locations you do not see",
        "%(n)s more at locations you do not see",
        number,
    ) % {"n": number}


def by_name(children: Sequence[Child]) -> list[Child]:
    return sorted(children, key=lambda child: (child.called.casefold(), child.pk))


REFUSALS: dict[str, Lazy] = {
    "may-not": gettext_lazy("Your account may not change the gates."),
    "reason-missing": gettext_lazy("Write a reason: it stays with the version."),
    "moved": gettext_lazy(
        "%(by)s saved version %(number)s of the ladder since this page was drawn. Nothing of yours "
        "was saved. What you tried is read below against the new version: look again."
    ),
    "not-tried": gettext_lazy(
        "These are not the values that were shown. Nothing was saved. Below is what they would do: "
        "look again."
    ),
    "same": gettext_lazy("No value is another than now. Nothing was saved."),
}


def refusal(refused: trial.NotSaved) -> str:
    """Why nothing was saved."""
    newest = refused.newest
    by = newest.loaded_by.called if newest is not None and newest.loaded_by else _("Somebody")
    said = {"by": by, "number": newest.number if newest is not None else ""}
    return str(REFUSALS[refused.code]) % said


# --- versions --------------------------------------------------------------------------

VALUES: dict[str, Lazy] = {
    "rate": gettext_lazy("clean at least"),
    "certainty": gettext_lazy("sure"),
    "days": gettext_lazy("days"),
    "clean": gettext_lazy("clean turns"),
    "within": gettext_lazy("within days"),
    "fresh": gettext_lazy("newest at most days old"),
    "at_least": gettext_lazy("at least"),
}

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


def value(name: str, number: float) -> str:
    """One value of a gate, as it is said."""
    if name == "rate":
        return rate_words(number)
    if name == "certainty":
        return share_words(number)
    return number_words(number)


def differences(before: NamedLadder, after: NamedLadder, day: datetime.date) -> list[str]:
    """What another version changed, gate by gate; other parts are named only."""
    was = {gate.code: gate for gate in gates_of(before.content)}
    now = {gate.code: gate for gate in gates_of(after.content)}
    old, new = words_for(before, day), words_for(after, day)
    said = [
        _("%(place)s. %(gate)s (%(changes)s)")
        % {"place": place(gate, new), "gate": title(gate, new), "changes": changes}
        for code, gate in now.items()
        if code in was and (changes := _value_changes(was[code].row, gate.row))
    ]
    said += [_named(_("New gate: %(gate)s"), gate, new) for c, gate in now.items() if c not in was]
    said += [_named(_("Gone: %(gate)s"), gate, old) for c, gate in was.items() if c not in now]
    other = [str(PARTS[part]) for part in PARTS if _differs(part, before, after)]
    if other:
        said.append(_("Changed as well: %(parts)s.") % {"parts": join_words(other)})
    return said


def _named(form: str, gate: PlacedGate, names: Names) -> str:
    return form % {"gate": f"{place(gate, names)}. {title(gate, names)}"}


def _value_changes(was: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    said = [
        _("%(name)s %(before)s → %(after)s")
        % {"name": VALUES[name], "before": value(name, was[name]), "after": value(name, now[name])}
        for name in VALUES
        if name in was and name in now and was[name] != now[name]
    ]
    return "; ".join(said)


def _differs(part: str, before: NamedLadder, after: NamedLadder) -> bool:
    """A part differs in more than its gates' values, and which gates there are."""
    shared = {gate.code for gate in gates_of(before.content)}
    shared &= {gate.code for gate in gates_of(after.content)}
    return _rest(before.content.get(part), shared) != _rest(after.content.get(part), shared)


def _rest(part: object, shared: set[str]) -> object:
    """What is left without gates that are not shared, and without the others' values."""
    if isinstance(part, list):
        return [
            _rest(each, shared) for each in part if not _is_gate(each) or each["code"] in shared
        ]
    if isinstance(part, dict):
        left = {name: _rest(each, shared) for name, each in part.items()}
        return {name: left[name] for name in left if not (_is_gate(part) and name in VALUES)}
    return part


def _is_gate(row: object) -> bool:
    return isinstance(row, dict) and row.get("kind") in trial.CHANGEABLE


def rule_rows(rules: Sequence[Mapping[str, Any]], kind: str) -> Iterator[tuple[str, list[str]]]:
    """The values of one gate, row by row, for each of the rules side by side."""
    for name in trial.CHANGEABLE[kind]:
        yield capfirst(str(VALUES[name])), [value(name, rule[name]) for rule in rules]


def luck_rows(
    low: float, ready: float, curves: Sequence[ChanceCurve]
) -> Iterator[tuple[str, list[str]]]:
    """How often a gate opens to somebody not ready and to somebody ready, curve beside curve."""
    forms = [
        _("Opens by luck within a term to a child who is clean %(rate)s"),
        _("The same within a year"),
        _("Opens within a term to a child who is clean %(rate)s"),
        _("The same within a year"),
    ]
    asked = [(rate, at) for rate in (low, ready) for at in (TERM, YEAR)]
    for form, (rate, at) in zip(forms, asked, strict=True):
        yield form % {"rate": true_rate(rate)}, [chance(at_rate(c, rate)[at]) for c in curves]


def asked_words(rule: CleanRule) -> str:
    """What the upright line of a picture stands for."""
    return _("what this gate asks: %(rate)s") % {"rate": share_words(rule.rate)}
