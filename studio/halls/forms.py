"""The form of a hall's address and emergency number."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from studio.models import Location


class EmergencyForm(forms.Form):
    """Both may be left empty: then the pages say that they are missing."""

    hall = forms.ModelChoiceField(queryset=Location.objects.none(), widget=forms.HiddenInput)
    emergency_number = forms.CharField(
        label=_("Emergency number"),
        max_length=20,
        required=False,
        help_text=_("The number that is called from this hall, as it is dialled there."),
        widget=forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "off"}),
    )
    address = forms.CharField(
        label=_("Address"),
        max_length=250,
        required=False,
        help_text=_("As you would tell it to an ambulance: street, house, entrance."),
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
