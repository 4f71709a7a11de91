"""The one tap that confirms a list of turns: which list, as it was shown."""

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

    def filters(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "author__uuid": data["author"],
            "sender__uuid": data["sender"],
            "source": data["source"],
            "day": data["day"],
            "received_at__lte": data["until"],
        }
