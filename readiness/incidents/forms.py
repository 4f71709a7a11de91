"""The forms of an incident: what happened, and what is added later."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from progression.models import SUPPORTS
from readiness.child.decision_forms import Choices, RunOnceForm
from readiness.head.forms import DayField
from readiness.models import IncidentAccount

MISSING = {"required": gettext_lazy("Write it down, “none” where there was none.")}
NOT_OF_A_NEAR_MISS = ("mats", "first_aid")
TEXT = forms.Textarea(attrs={"rows": 3})


class AskedUnlessNearMiss(forms.CharField):
    """Which of them is asked for is decided by the form."""

    missed = True


class AccountForm(RunOnceForm):
    """``seen``: the account that stood on the page. Of a near miss at which nothing was hurt
    neither mats nor first aid are asked for."""

    name = "incident"
    seen = forms.UUIDField(widget=forms.HiddenInput, required=False)
    day = DayField(label=gettext_lazy("Day"))
    time = forms.TimeField(
        label=gettext_lazy("Time"),
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("What it was"), choices=IncidentAccount.Kind.choices
    )
    drill = forms.ChoiceField(label=gettext_lazy("At which drill"), required=False)
    support = forms.TypedChoiceField(
        label=gettext_lazy("Support"),
        choices=[("", gettext_lazy("not at a turn")), *SUPPORTS],
        coerce=int,
        empty_value=None,
        required=False,
    )
    surface = forms.ChoiceField(label=gettext_lazy("Surface"), required=False)
    mats = AskedUnlessNearMiss(
        label=gettext_lazy("Mats, and what lay or stood around"),
        max_length=200,
        required=False,
    )
    what = forms.CharField(
        label=gettext_lazy("What happened"),
        help_text=gettext_lazy(
            "What was seen and heard, in order. No guess why, nobody to blame, and no other "
            "child's name: the family may ask for this sheet."
        ),
        max_length=1000,
        widget=TEXT,
        error_messages=MISSING,
    )
    hurt = forms.ChoiceField(
        label=gettext_lazy("What hurts, or was hit"),
        help_text=gettext_lazy("A head or a neck pauses at once."),
        required=False,
    )
    first_aid = AskedUnlessNearMiss(
        label=gettext_lazy("First aid, and by whom"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        required=False,
    )

    def __init__(
        self, drills: Choices, surfaces: Choices, places: Choices, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        none = gettext_lazy("not at a drill"), gettext_lazy("none"), gettext_lazy("nothing")
        fields = zip(("drill", "surface", "hurt"), (drills, surfaces, places), none, strict=True)
        for field, choices, empty in fields:
            offered = self.fields[field]
            assert isinstance(offered, forms.ChoiceField)
            offered.choices = [("", empty), *choices]

    def clean(self) -> None:
        said = self.cleaned_data
        if said.get("kind") == IncidentAccount.Kind.CAUGHT and not said.get("hurt"):
            return
        for name in NOT_OF_A_NEAR_MISS:
            if name not in self.errors and not said.get(name):
                self.add_error(name, MISSING["required"])

    def of_all(self) -> list[forms.BoundField]:
        return [field for field in self if field.name not in NOT_OF_A_NEAR_MISS]

    def folded(self) -> list[forms.BoundField]:
        """Open where it is no near miss, or something is wrong with them."""
        return [self[name] for name in NOT_OF_A_NEAR_MISS]

    def is_folded(self) -> bool:
        wrong = any(name in self.errors for name in NOT_OF_A_NEAR_MISS)
        return self["kind"].value() == IncidentAccount.Kind.CAUGHT and not wrong


class AdditionForm(RunOnceForm):
    name = "addition"
    text = forms.CharField(
        label=gettext_lazy("What is known now"),
        max_length=1000,
        widget=TEXT,
        error_messages={"required": gettext_lazy("Write it down.")},
    )
