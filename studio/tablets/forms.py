"""The forms of shared tablets: enrolling one, one's own PIN, and changing over."""

import datetime
from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from studio.models import Location, Staff, Tablet
from studio.people.names import clean_name
from studio.sign_in import pins

# Digits on a telephone's keyboard; the browser neither offers nor saves anything.
PIN_BOX = {
    "inputmode": "numeric",
    "autocomplete": "off",
    "maxlength": pins.DIGITS,
    "class": "short",
}


class EnrolForm(forms.Form):
    name = forms.CharField(
        label=_("Name"),
        max_length=60,
        help_text=_(
            "What is written on it. A tablet of the same name in this hall is withdrawn: "
            "this one takes its place."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    location = forms.ModelChoiceField(
        label=_("Hall"), queryset=Location.objects.none(), empty_label=None
    )

    def __init__(self, locations: QuerySet[Location], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["location"].queryset = locations.order_by("name", "pk")  # type: ignore[attr-defined]

    def clean_name(self) -> str:
        name = clean_name(self.cleaned_data["name"])
        if not name:
            raise forms.ValidationError(_("Say what is written on it."))
        return name


class SetPinForm(forms.Form):
    """One's own PIN, twice, and the password once more: a desk may have been left open."""

    password = forms.CharField(
        label=_("Your password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    pin = forms.CharField(
        label=_("New PIN"),
        help_text=_("Six digits that nobody would try first. Tell them to nobody."),
        widget=forms.PasswordInput(attrs=PIN_BOX),
        validators=[pins.check_pin],
    )
    again = forms.CharField(
        label=_("The same PIN again"), widget=forms.PasswordInput(attrs=PIN_BOX)
    )

    def __init__(
        self, request: HttpRequest, staff: Staff, now: datetime.datetime, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.request, self.staff, self.now = request, staff, now

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        name = self.staff.get_username()
        if not authenticate(self.request, username=name, password=password, now=self.now):
            raise forms.ValidationError(
                _("This is not your password, or it was mistyped too often: then wait a little.")
            )
        return password

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if "pin" in data and "again" in data and data["pin"] != data["again"]:
            self.add_error("again", _("These are not the digits above."))
        return data


class WhoForm(forms.Form):
    """Which of a tablet's staff it is."""

    who = forms.ModelChoiceField(queryset=Staff.objects.none(), to_field_name="uuid")

    def __init__(self, staff: QuerySet[Staff], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["who"].queryset = staff  # type: ignore[attr-defined]


class TypePinForm(forms.Form):
    """The PIN of the chosen member of staff on a tablet: valid only if it is right."""

    pin = forms.CharField(label=_("PIN"), widget=forms.PasswordInput(attrs=PIN_BOX))

    def __init__(
        self, staff: Staff, tablet: Tablet, now: datetime.datetime, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.staff, self.tablet, self.now = staff, tablet, now

    def clean_pin(self) -> str:
        pin: str = self.cleaned_data["pin"]
        if not authenticate(staff=self.staff, pin=pin, tablet=self.tablet, now=self.now):
            # One sentence for both: another one would show when a wait is over.
            raise forms.ValidationError(
                _(
                    "Not this PIN, or too many tries: then wait a little, or sign in with your "
                    "password."
                )
            )
        return pin
