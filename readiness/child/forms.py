"""The forms of the child's page: a step of less support, placing, pausing, lifting a pause."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import (
    CARRIED,
    REASON_MISSING,
    Choices,
    ReasonForm,
    RunOnceForm,
    SnapshotForm,
    offer_choices,
)
from readiness.models import Elsewhere


class StepForm(SnapshotForm):
    """The tap that gives a step of less support."""

    name = "step"
    drill = forms.SlugField(widget=forms.HiddenInput)
    support = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=3)


class PlaceForm(ReasonForm):
    name = "place"
    stage = forms.IntegerField(label=gettext_lazy("Stage"), widget=forms.Select)
    surface = forms.SlugField(label=gettext_lazy("Surface"), widget=forms.Select)
    field_order = ["token", *CARRIED, "stage", "surface", "reason"]

    def offer(self, stages: Choices, surfaces: Choices) -> None:
        offer_choices(self.fields["stage"], [("", _("Choose")), *stages])
        offer_choices(self.fields["surface"], [("", _("Choose")), *surfaces])


class PauseForm(RunOnceForm):
    name = "pause"
    reason = forms.CharField(
        label=gettext_lazy("Reason"), max_length=300, error_messages=REASON_MISSING
    )


class SoreForm(RunOnceForm):
    """What hurt on an earlier day: gone, or still there?"""

    name = "sore"
    place = forms.SlugField(widget=forms.HiddenInput)
    answer = forms.ChoiceField(
        choices=[("gone", gettext_lazy("Gone")), ("still-there", gettext_lazy("Still there"))],
        error_messages={"required": gettext_lazy("Tap one of the two answers.")},
    )


class GrowingForm(RunOnceForm):
    """The child grows fast, or no longer."""

    name = "growing"
    said_by = forms.CharField(
        label=gettext_lazy("Who said so, if it was the family"), max_length=80, required=False
    )
    ends = forms.BooleanField(widget=forms.HiddenInput, required=False)


class NotTonightForm(RunOnceForm):
    """The child said "not tonight"."""

    name = "not-tonight"


class ElsewhereForm(RunOnceForm):
    """The child has private lessons or tumbles elsewhere, or no longer."""

    name = "elsewhere"
    kind = forms.ChoiceField(label=gettext_lazy("What"), choices=Elsewhere.Kind.choices)
    said_by = forms.CharField(label=gettext_lazy("Who said so"), max_length=80, required=False)
    ends = forms.BooleanField(label=gettext_lazy("No longer"), required=False)


class ToldForm(RunOnceForm):
    """The family was told of something that hurts, or of a fall."""

    name = "told"
    what = forms.ChoiceField(label=gettext_lazy("Of what"))
    whom = forms.CharField(
        label=gettext_lazy("Who was told"),
        max_length=80,
        error_messages={"required": gettext_lazy("Write down who was told.")},
    )
    asked_for = forms.CharField(
        label=gettext_lazy("Whom they asked for"), max_length=80, required=False
    )

    def __init__(self, choices: Choices, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = self.fields["what"]
        assert isinstance(offered, forms.ChoiceField)
        offered.choices = list(choices)


class LiftForm(SnapshotForm):
    name = "lift"
    reason = forms.CharField(
        max_length=300,
        error_messages={"required": gettext_lazy("Write down who, and when.")},
    )

    def __init__(self, child: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].label = _("Who cleared %(child)s, and when") % {"child": child}
