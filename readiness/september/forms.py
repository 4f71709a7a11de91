"""A row of the September sheet: who saw it, and when."""

import datetime
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.child.forms import StepForm
from readiness.record.two_people.signing import seen_lately


class SeenStepForm(StepForm):
    name = "september"
    seen_by = forms.CharField(
        label=gettext_lazy("Who saw it"),
        max_length=80,
        error_messages={"required": gettext_lazy("Write who saw it: it stays with the step.")},
    )
    seen_on = forms.DateField(
        label=gettext_lazy("When"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": gettext_lazy("Write when: it stays with the step.")},
    )

    def __init__(self, today: datetime.date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.child = ""

    def clean_seen_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["seen_on"]
        if day > self.today:
            raise forms.ValidationError(_("This day has not come yet."))
        if not seen_lately(day, self.today):
            raise forms.ValidationError(_("That is more than 28 days ago: look again."))
        return day

    def is_of(self, child: str, drill: str) -> bool:
        return self.child == child and self.data.get("drill") == drill

    def reason(self) -> str:
        said = self.cleaned_data
        values = {"who": said["seen_by"], "day": date_format(said["seen_on"], "j M Y")}
        return _("Seen by %(who)s on %(day)s") % values
