"""The forms of the page about a head knock."""

from django import forms
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import RunOnceForm

NAME_MISSING = {"required": gettext_lazy("Write down a name.")}


class DayField(forms.DateField):
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class KnockForm(RunOnceForm):
    name = "head-knock"
    on = DayField(label=gettext_lazy("Day of the knock"))
    elsewhere = forms.BooleanField(label=gettext_lazy("It happened elsewhere"), required=False)


class SymptomForm(RunOnceForm):
    name = "head-symptom"
    on = DayField(label=gettext_lazy("Day of the symptom"))


class ClearanceForm(RunOnceForm):
    """Who cleared the child: nothing of what was found."""

    name = "head-clearance"
    cleared_by = forms.CharField(
        label=gettext_lazy("Name of who cleared"), max_length=80, error_messages=NAME_MISSING
    )
    on = DayField(label=gettext_lazy("Day of the clearance"))


class HeadStepForm(RunOnceForm):
    name = "head-step"
    step = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=6)
    said_by = forms.CharField(
        label=gettext_lazy("Who of the family said “no symptoms”"),
        max_length=80,
        error_messages=NAME_MISSING,
    )
    said_on = DayField(label=gettext_lazy("On which day"))
