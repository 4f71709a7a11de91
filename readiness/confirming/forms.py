"""The one tap that confirms a list of turns: which list, as it was shown."""

import datetime
from typing import Any

from django import forms

from progression.models import Attempt


class ListForm(forms.Form):
    """``until``: when the newest of the turns shown came in; later ones were not shown."""

    author = forms.UUIDField(widget=forms.HiddenInput)
    sender = forms.UUIDField(widget=forms.HiddenInput)
    source = forms.ChoiceField(choices=Attempt.Source.choices, widget=forms.HiddenInput)
    day = forms.DateField(widget=forms.HiddenInput)
    until = forms.DateTimeField(widget=forms.HiddenInput)

    def clean_until(self) -> datetime.datetime:
        until: datetime.datetime = self.cleaned_data["until"]
        if not 2000 <= until.year <= 2200:
            raise forms.ValidationError("out of any reason")
        return until

    def filters(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "author__uuid": data["author"],
            "sender__uuid": data["sender"],
            "source": data["source"],
            "day": data["day"],
            "received_at__lte": data["until"],
        }
