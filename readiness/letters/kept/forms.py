"""The form of how a family got a letter."""

import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.models import LetterGiven, PrintedLetter


class GivenForm(forms.Form):
    how = forms.ChoiceField(label=gettext_lazy("How"), choices=LetterGiven.How.choices)
    on = forms.DateField(
        label=gettext_lazy("On"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    # A page has several of them.
    def __init__(self, letter: PrintedLetter, today: datetime.date, data: Any = None) -> None:
        super().__init__(data, initial={"on": today}, auto_id=f"{letter.uuid}-%s")
        self.printed_on, self.today = letter.day, today

    def clean_on(self) -> datetime.date:
        on: datetime.date = self.cleaned_data["on"]
        if not self.printed_on <= on <= self.today:
            raise forms.ValidationError(_("Not before the day of the letter, and not after today."))
        return on
