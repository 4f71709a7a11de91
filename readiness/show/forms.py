"""The forms of the show list."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import RunOnceForm, offer_choices, surface_choices
from readiness.record.ladders import NamedLadder
from readiness.show.words import EASY
from studio.access import visible_classes, visible_colleagues, visible_locations
from studio.models import ClassGroup, Location, Staff


class ShowForm(RunOnceForm):
    name = "show"
    called = forms.CharField(label=gettext_lazy("Name of the show"), max_length=80)
    location = forms.ModelChoiceField(Location.objects.none(), label=gettext_lazy("Hall"))
    on = forms.DateField(
        label=gettext_lazy("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    surface = forms.CharField(label=gettext_lazy("Floor"), widget=forms.Select)
    shoes = forms.CharField(label=gettext_lazy("Shoes"), max_length=80)

    def __init__(self, staff: Staff, ladder: NamedLadder, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["location"].queryset = visible_locations(staff).order_by("name", "pk")  # type: ignore[attr-defined]
        offer_choices(self.fields["surface"], surface_choices(ladder))
        self.surfaces = ladder.surface_names

    def clean_surface(self) -> str:
        return _one_of(self.cleaned_data["surface"], self.surfaces)


class NumberForm(RunOnceForm):
    name = "number"
    called = forms.CharField(label=gettext_lazy("Name of the number"), max_length=80)
    group = forms.ModelChoiceField(ClassGroup.objects.none(), label=gettext_lazy("Class"))
    drill = forms.CharField(label=gettext_lazy("Skill in it"), widget=forms.Select)
    easy = forms.CharField(
        label=gettext_lazy("Easy version: its name and its counts"),
        help_text=gettext_lazy("Left empty: the one that is kept ready for the skill."),
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, staff: Staff, ladder: NamedLadder, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        classes = visible_classes(staff).order_by("name", "pk")
        self.fields["group"].queryset = classes  # type: ignore[attr-defined]
        self.drills = {key: ladder.drills[key]["name"] for key in EASY if key in ladder.drills}
        offer_choices(self.fields["drill"], list(self.drills.items()))

    def clean_drill(self) -> str:
        return _one_of(self.cleaned_data["drill"], self.drills)

    def clean(self) -> dict[str, Any]:
        about = self.cleaned_data
        if "drill" in about:
            about["easy"] = about.get("easy") or str(EASY[about["drill"]])
        return about


class WingsForm(RunOnceForm):
    name = "wings"
    adult = forms.ModelChoiceField(Staff.objects.none(), label=gettext_lazy("In the wings"))

    def __init__(self, staff: Staff, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        adults = visible_colleagues(staff).exclude(role=Staff.Role.ASSISTANT)
        adults = adults.filter(is_active=True, left_on=None, guest_on=None)
        self.fields["adult"].queryset = adults.order_by("first_name", "username", "pk")  # type: ignore[attr-defined]


class RunThroughForm(RunOnceForm):
    name = "run-through"
    ended = forms.TimeField(
        label=gettext_lazy("Today’s run-through was over at"),
        help_text=gettext_lazy("On the show’s floor, in its shoes and costume."),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )


class SeenForm(RunOnceForm):
    """What is decided of a child, and what its page showed."""

    name = "show-list"
    seen = forms.CharField(widget=forms.HiddenInput, max_length=120)


class PutForm(SeenForm):
    version = forms.ChoiceField(
        widget=forms.HiddenInput, choices=[("beside", "beside"), ("easy", "easy")]
    )


class OnTheDayForm(SeenForm):
    kind = forms.ChoiceField(
        widget=forms.HiddenInput, choices=[("first-turn", "first-turn"), ("own-yes", "own-yes")]
    )


def _one_of(value: str, known: dict[str, str]) -> str:
    if value not in known:
        raise forms.ValidationError(gettext_lazy("Choose one of these."))
    return value
