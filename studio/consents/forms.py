"""Who saw the forms, and when; a guardian's answer.

Shared: used by the child's page and by pictures from the side.
"""

import datetime
from typing import Any

from django import forms
from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy as _

DATE_BOX = {"type": "date"}


class SeenForm(forms.Form):
    seen_by = forms.CharField(
        label=_("Who saw the form, or was told"),
        max_length=120,
        error_messages={"required": _("Write who saw it: it stays with the answer.")},
    )
    seen_on = forms.DateField(
        label=_("When"),
        widget=forms.DateInput(attrs=DATE_BOX, format="%Y-%m-%d"),
        error_messages={"required": _("Write when: it stays with the answer.")},
    )

    def __init__(self, today: datetime.date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_seen_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["seen_on"]
        if day > self.today:
            raise forms.ValidationError(_("This day has not come yet."))
        return day


class GuardianForm(SeenForm):
    """One guardian's answer; the question is the label that each sets."""

    guardian = forms.CharField(
        label=_("Which guardian"),
        help_text=_("One guardian's no is enough. It ends with the same one's yes."),
        max_length=120,
        required=False,
    )
    answer = forms.ChoiceField(
        choices=[("yes", _("yes")), ("no", _("no"))],
        widget=forms.RadioSelect,
        error_messages={"required": _("Tap yes or no.")},
    )
    field_order = ["token", "answer", "guardian", "seen_by", "seen_on"]
    question: Lazy

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["answer"].label = str(self.question)
