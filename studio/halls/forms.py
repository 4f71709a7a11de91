"""The forms of the halls: a new one, and an emergency card."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from studio.as_seen import SeenForm
from studio.models import Location, known_zone
from studio.people.names import clean_name


class MissedField(forms.CharField):
    """May be left empty and is no option: the pages say that it is missing."""

    missed = True


def place(
    label: Any, help_text: Any, kind: type[forms.CharField] = forms.CharField
) -> forms.CharField:
    """A line of the card; it may be left empty."""
    return kind(
        label=label,
        max_length=250,
        required=False,
        help_text=help_text,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


class EmergencyForm(SeenForm):
    """The card of one hall."""

    hall = forms.ModelChoiceField(queryset=Location.objects.none(), widget=forms.HiddenInput)
    emergency_number = MissedField(
        label=_("Emergency number"),
        max_length=20,
        required=False,
        help_text=_("The number that is called from this hall, as it is dialled there."),
        widget=forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "off"}),
    )
    address = place(
        _("Address"), _("As you would tell it to an ambulance: street, house."), MissedField
    )
    door = place(_("Door for the ambulance"), _("Where it drives up, and which door is opened."))
    first_aid_kit = place(_("First-aid kit"), _("Where it hangs or lies."))
    defibrillator = place(_("Defibrillator"), _("Where it is; or that the hall has none."))
    who_phones = place(_("Who phones"), _("Such as: whoever stands next to the phone."))
    who_meets = place(_("Who meets the ambulance"), _("Such as: the assistant, at the gate."))
    phone = forms.CharField(
        label=_("Telephone for families"),
        max_length=40,
        required=False,
        help_text=_("Printed on what families are given: whom they call with a question."),
        widget=forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "off"}),
    )

    questions = forms.CharField(
        label=_("Where and when families can ask"),
        max_length=120,
        required=False,
        help_text=_(
            "Each letter closes with it, in every language as you type it: days, hours, a place. "
            "Such as: at the desk, Mon and Thu, 16:00 to 17:30."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, halls: QuerySet[Location], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hall"].queryset = halls  # type: ignore[attr-defined]

    def clean_emergency_number(self) -> str:
        number: str = self.cleaned_data["emergency_number"]
        if number and not any(sign.isdigit() for sign in number):
            raise forms.ValidationError(_("A number has digits."))
        return number


class NewHallForm(forms.Form):
    name = forms.CharField(label=_("Name of the hall"), max_length=120)
    zone = forms.CharField(
        label=_("Time zone"),
        max_length=60,
        validators=[known_zone],
        help_text=_("Such as Europe/Lisbon. It decides what “today” is in this hall."),
    )

    def clean_name(self) -> str:
        name = clean_name(self.cleaned_data["name"])
        if Location.objects.filter(name__iexact=name).exists():
            raise forms.ValidationError(_("There is a hall of this name already."))
        return name
