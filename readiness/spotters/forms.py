"""The forms of the page of spotters."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import RunOnceForm
from readiness.record.ladders import NamedLadder
from readiness.spotters.trained import held_drills
from studio.access import visible_colleagues
from studio.models import Staff


class TrainingForm(RunOnceForm):
    name = "spotter"
    staff = forms.ModelChoiceField(Staff.objects.none(), label=gettext_lazy("Who"))
    drills = forms.MultipleChoiceField(
        label=gettext_lazy("Trained to spot"), widget=forms.CheckboxSelectMultiple
    )
    trained_by = forms.CharField(label=gettext_lazy("Trained by"), max_length=80)
    until = forms.DateField(
        label=gettext_lazy("Good until"),
        help_text=gettext_lazy("The last day. A day that is over ends it."),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    age = forms.IntegerField(
        label=gettext_lazy("Age today, in whole years"), min_value=14, max_value=99
    )

    def __init__(self, by: Staff, ladder: NamedLadder, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = visible_colleagues(by).filter(is_active=True, left_on=None, guest_on=None)
        self.fields["staff"].queryset = people.order_by("first_name", "username", "pk")  # type: ignore[attr-defined]
        self.fields["drills"].choices = drill_choices(ladder)  # type: ignore[attr-defined]


class YoungestForm(RunOnceForm):
    name = "youngest"
    drill = forms.ChoiceField(label=gettext_lazy("Drill"))
    years = forms.IntegerField(
        label=gettext_lazy("Youngest age of a spotter"), min_value=14, max_value=99
    )

    def __init__(self, ladder: NamedLadder, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["drill"].choices = drill_choices(ladder)  # type: ignore[attr-defined]


class NumbersForm(RunOnceForm):
    name = "numbers"
    usual = forms.IntegerField(label=gettext_lazy("Usually"), min_value=1, max_value=40)
    handsprings = forms.IntegerField(
        label=gettext_lazy("While handsprings are held"), min_value=1, max_value=40
    )
    small = forms.IntegerField(
        label=gettext_lazy("With children under 7"), min_value=1, max_value=40
    )


def drill_choices(ladder: NamedLadder) -> list[tuple[str, str]]:
    return [(key, ladder.drills[key]["name"]) for key in held_drills(ladder)]
