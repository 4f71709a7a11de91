"""What other values for a gate would do, and why they are not saved, in sentences."""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.utils.formats import date_format
from django.utils.functional import Promise as Lazy
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.engine.trial.error_rates import ChanceCurve
from readiness.gates import trial
from readiness.gates.ladder_gates import CHANGEABLE
from readiness.gates.luck import TERM, YEAR, at_rate
from readiness.gates.saving import NotSaved
from readiness.gates.trial import Change
from readiness.gates.words import VALUE_NAMES, chance, true_rate, value_text
from readiness.words.names import Names
from studio.models import Child
from studio.people.told_apart import tell_apart
from studio.templatetags.marks import SUPPORT_WORDS


def luck_change(rate: float, now: float, tried: float) -> str:
    """What other values do to luck within a term."""
    if tried > now:
        form = _(
            "This lets more through by luck: of children who are clean %(rate)s, %(tried)s would "
            "open it within a term; now it is %(now)s."
        )
    elif tried < now:
        form = _(
            "This lets less through by luck: of children who are clean %(rate)s, %(tried)s would "
            "open it within a term; now it is %(now)s."
        )
    else:
        form = _(
            "As much gets through by luck as now: of children who are clean %(rate)s, %(now)s "
            "would open it within a term."
        )
    return form % {"rate": true_rate(rate), "now": chance(now), "tried": chance(tried)}


def ready_change(rate: float, now: float, tried: float) -> str:
    """What they do to those who are ready; empty if nothing."""
    if tried == now:
        return ""
    if tried < now:
        form = _(
            "Children who are clean %(rate)s wait longer: it opens within a term to %(tried)s of "
            "them; now it is %(now)s."
        )
    else:
        form = _(
            "Children who are clean %(rate)s wait less: it opens within a term to %(tried)s of "
            "them; now it is %(now)s."
        )
    return form % {"rate": true_rate(rate), "now": chance(now), "tried": chance(tried)}


def rule_rows(rules: Sequence[Mapping[str, Any]], kind: str) -> Iterator[tuple[str, list[str]]]:
    """The values of one gate, row by row, for each of the rules side by side."""
    for name in CHANGEABLE[kind]:
        yield capfirst(str(VALUE_NAMES[name])), [value_text(name, rule[name]) for rule in rules]


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
    cases = [(rate, at) for rate in (low, ready) for at in (TERM, YEAR)]
    for form, (rate, at) in zip(forms, cases, strict=True):
        yield form % {"rate": true_rate(rate)}, [chance(at_rate(c, rate)[at]) for c in curves]


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


def effect_text(change: Change, names: Names) -> str:
    """What a change would do to one child, beside the child's name."""
    values = {
        "stage": names.stage(change.stage) if change.stage else "",
        "drill": names.drill(change.drill) if change.drill else "",
        "support": SUPPORT_WORDS[change.support] if change.support is not None else "",
        "before": change.before,
        "after": change.after,
    }
    match change.kind:
        case trial.DRILL_OPENS | trial.DRILL_STAYS_CLOSED:
            return str(values["drill"])
        case trial.STEP_EARNED | trial.STEP_NOT_EARNED:
            return _("%(drill)s, %(support)s") % values
        case trial.SCORE:
            return _("%(stage)s: score %(before)s, then %(after)s") % values
    return str(values["stage"])


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


def hidden_children(number: int) -> str:
    """Children of other locations: counted, not named."""
    return ngettext(
        "%(n)s more at locations you do not see",
        "%(n)s more at locations you do not see",
        number,
    ) % {"n": number}


def by_name(children: Sequence[Child]) -> list[Child]:
    tell_apart(children)
    return sorted(children, key=lambda child: (child.listed.casefold(), child.pk))


NOT_SAVED: dict[str, Lazy] = {
    "may-not": gettext_lazy("Your account may not change the gates."),
    "reason-missing": gettext_lazy("Write a reason: it stays with the version."),
    "waits": gettext_lazy("Another change waits for its answer: one at a time. Nothing was saved."),
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


def not_saved_sentence(refused: NotSaved, sentences: Mapping[str, Lazy] = NOT_SAVED) -> str:
    """Why nothing was saved."""
    newest = refused.newest
    by = newest.loaded_by.called if newest is not None and newest.loaded_by else _("Somebody")
    values = {"by": by, "number": newest.number if newest is not None else ""}
    return str(sentences[refused.code]) % values
