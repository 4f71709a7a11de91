"""The sign-in form."""

import datetime
from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.contrib.auth.forms import AuthenticationForm
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _lazy

from studio.models import Staff


class SignInForm(AuthenticationForm):
    """A name and a password. Valid if they are right and the account is good today.

    One sentence for a wrong one and one that has to wait: another one would show when a wait is
    over.
    """

    error_messages = {
        "invalid_login": _lazy(
            "Not this name and password, or too many tries: then wait a little. Capital letters "
            "matter."
        ),
        "inactive": "",
    }

    def __init__(self, request: HttpRequest, now: datetime.datetime, **kwargs: Any) -> None:
        super().__init__(request, **kwargs)
        self.now = now
        # As it is called where it is given out.
        self.fields["username"].label = _lazy("Sign-in name")

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = self.cleaned_data
        if data.get("username") and data.get("password"):
            staff = authenticate(
                self.request, username=data["username"], password=data["password"], now=self.now
            )
            if not isinstance(staff, Staff):
                raise self.get_invalid_login_error()
            self.user_cache = staff
        return data


class NewPasswordForm(forms.Form):
    """With the code of a link that was handed over. The page's script takes it from the address."""

    code = forms.CharField(
        label=_lazy("Code of your link"),
        max_length=100,
        help_text=_lazy("What stands behind the # of the link. It is filled in by itself."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    password = forms.CharField(
        label=_lazy("New password"),
        strip=False,
        max_length=4096,
        help_text=_lazy("At least 15 characters: three or four words are good."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label=_lazy("The same again"),
        strip=False,
        max_length=4096,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean(self) -> None:
        said = self.cleaned_data
        if "password" in said and "again" in said and said["password"] != said["again"]:
            self.add_error("again", _lazy("The two were not the same."))
