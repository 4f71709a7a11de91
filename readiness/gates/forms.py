"""The forms of the gates' pages: how classes run, other values for a gate, and saving them."""

import copy
import math
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from progression.ladder.checks import LEAST_RATE_PLUS_CERTAINTY
from progression.ladder.fields import GATE_FIELDS
from readiness.child.decision_forms import REASON_MISSING, RunOnceForm
from readiness.engine.trial.simulation import Classes
from readiness.gates.ladder_gates import CHANGEABLE, PlacedGate
from readiness.gates.luck import classes_like, low_rate, rule_of, seldom_by_luck
from readiness.gates.saving import ShownTrial
from readiness.record.ladders import NamedLadder
from studio.imports.numbers import NumberField, WholeNumberField

A_WEEK = [
    ("0.5", gettext_lazy("one every two weeks")),
    ("1", gettext_lazy("one")),
    ("2", gettext_lazy("two")),
    ("3", gettext_lazy("three")),
]
MOST_TURNS = 12
# One class a week with three turns each: little, and nobody should look better than that.
ASSUMED = {"a_week": "1", "turns": "3"}
BY_CERTAINTY, BY_LUCK = "certainty", "luck"
SHARES = ("rate", "certainty")

LABELS = {
    "rate": gettext_lazy("Clean at least … times in 100"),
    "certainty": gettext_lazy("Sure: so many per cent"),
    "days": gettext_lazy("Different days"),
    "clean": gettext_lazy("Clean turns"),
    "fresh": gettext_lazy("Newest clean turn: at most so many days old"),
    "at_least": gettext_lazy("At least"),
}
CLEAR_LABELS = {
    "clean": gettext_lazy("Clean turns on later days"),
    "days": gettext_lazy("Days since the stop sign"),
}


class ClassesForm(forms.Form):
    """How a child's classes run. Always bound: a missing field has its default."""

    a_week = forms.TypedChoiceField(
        label=gettext_lazy("Classes a week"), choices=A_WEEK, coerce=float
    )
    turns = WholeNumberField(label=gettext_lazy("Turns a class"), min_value=1, max_value=MOST_TURNS)

    def __init__(self, data: Mapping[str, str]) -> None:
        super().__init__(_with_defaults(ASSUMED, data), auto_id="classes-%s")


def _with_defaults(defaults: Mapping[str, str], data: Mapping[str, str]) -> dict[str, str]:
    """Bound data for every field: what the address gives, else the default."""
    return {**defaults, **{name: data[name] for name in defaults if name in data}}


def assumed_classes(form: forms.Form, ladder: NamedLadder) -> Classes:
    """The classes of a form; as assumed where they are wrong."""
    cleaned = getattr(form, "cleaned_data", {})
    a_week = cleaned.get("a_week", float(ASSUMED["a_week"]))
    return classes_like(ladder.engine, a_week, cleaned.get("turns", int(ASSUMED["turns"])))


class GateForm(forms.Form):
    """The values of one gate, always bound: those in force, unless others are given.

    Rate and certainty are written in per cent. A clean gate's certainty may be found from how
    seldom a child who stays at a rate shall open it by luck.
    """

    def __init__(self, gate: PlacedGate, ladder: NamedLadder, data: Mapping[str, str]) -> None:
        self.gate, self.ladder = gate, ladder
        shown = {name: _written(name, gate.row[name]) for name in CHANGEABLE[gate.kind]}
        if gate.kind == "clean":
            stays = _written("rate", low_rate(rule_of(gate.row)))
            shown = {**ASSUMED, **shown, "how": BY_CERTAINTY, "one_in": "40", "stays": stays}
        super().__init__(_with_defaults(shown, data), auto_id="try-%s")
        self.fields = {name: _field(gate.kind, name) for name in _order(gate.kind)}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("how") == BY_LUCK and not self.errors:
            self._certainty_from_luck(cleaned)
        return cleaned

    def _certainty_from_luck(self, cleaned: dict[str, Any]) -> None:
        rate, stays = float(cleaned["rate"] / 100), float(cleaned["stays"] / 100)
        if stays >= rate:
            self.add_error("stays", _("This must be less than the rate that the gate asks for."))
            return
        certainty = seldom_by_luck(
            replace(rule_of(self.gate.row), rate=rate, certainty=0.99, **_counts(cleaned)),
            self.ladder.engine.decay,
            assumed_classes(self, self.ladder),
            stays,
            cleaned["one_in"],
        )
        if certainty is None:
            self.add_error("one_in", _("Not even 99 % sure makes it so seldom."))
            return
        least = math.ceil(round(100 * (LEAST_RATE_PLUS_CERTAINTY - rate), 6)) / 100
        cleaned["certainty"] = Decimal(str(round(100 * max(certainty, least))))

    def values(self) -> dict[str, float]:
        """The gate's values as a ladder holds them."""
        return {
            name: float(self.cleaned_data[name] / 100)
            if name in SHARES
            else self.cleaned_data[name]
            for name in CHANGEABLE[self.gate.kind]
        }

    def as_hidden(self) -> Iterator[tuple[str, str]]:
        """Names and values that post the same form again, its certainty worked out."""
        for name, value in self.cleaned_data.items():
            if name != "how":
                yield name, f"{value:g}" if isinstance(value, float | Decimal) else str(value)


def _counts(cleaned: Mapping[str, Any]) -> dict[str, int]:
    return {name: cleaned[name] for name in ("days", "clean", "fresh")}


def _written(name: str, value: float) -> str:
    """A value as it stands in its field."""
    return f"{round(100 * value, 6):g}" if name in SHARES else str(value)


def _order(kind: str) -> list[str]:
    if kind != "clean":
        return list(CHANGEABLE[kind])
    first = ["a_week", "turns", "rate", "how", "certainty", "one_in", "stays"]
    return [*first, "days", "clean", "fresh"]


def _field(kind: str, name: str) -> forms.Field:
    match name:
        case "a_week" | "turns":
            return copy.deepcopy(ClassesForm.base_fields[name])
        case "how":
            return forms.ChoiceField(
                label=_("How sure the record must be"),
                choices=[
                    (BY_CERTAINTY, _("so many per cent")),
                    (BY_LUCK, _("as sure as needed to open seldom by luck")),
                ],
                widget=forms.RadioSelect,
            )
        case "one_in":
            return WholeNumberField(
                label=_("Luck: within a term at most once in … times"), min_value=2, max_value=200
            )
        case "stays":
            label = _("for a child who stays clean … times in 100")
            return _percent(label, Decimal(10), Decimal(95))
        case "rate":
            return _percent(LABELS[name], Decimal(50), Decimal(95))
        case "certainty":
            return _percent(LABELS[name], Decimal(50), Decimal("99.9999"))
    labels = CLEAR_LABELS if kind == "clear" else LABELS
    limits = GATE_FIELDS[kind][name].limits
    return WholeNumberField(
        label=labels[name], min_value=int(limits["low"]), max_value=int(limits["high"])
    )


def _percent(label: Any, low: Decimal, high: Decimal) -> forms.Field:
    return NumberField(label=label, min_value=low, max_value=high, max_digits=6, decimal_places=4)


class SaveForm(RunOnceForm):
    """Save what was tried: a reason, and what was shown when it was tried."""

    name = "save"
    base = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
    tried = forms.CharField(widget=forms.HiddenInput, max_length=64)
    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages=REASON_MISSING,
    )

    def again(self, shown: Mapping[str, object]) -> "SaveForm":
        """The form as it was sent, about what is shown now."""
        fresh = {name: str(value) for name, value in shown.items()}
        return SaveForm({**self.data, **fresh, "token": str(uuid.uuid4())})

    def shown_trial(self) -> ShownTrial:
        return ShownTrial(self.cleaned_data["base"], self.cleaned_data["tried"])
