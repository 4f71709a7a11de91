"""The form that ends somebody's access."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from studio.models import Staff


class LeaveForm(forms.Form):
    """From this day on they cannot sign in."""

    who = forms.ModelChoiceField(queryset=Staff.objects.none(), widget=forms.HiddenInput)
    left_on = forms.DateField(
        label=_("The first day without access"), widget=forms.DateInput(attrs={"type": "date"})
    )

    def __init__(self, staff: QuerySet[Staff], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["who"].queryset = staff  # type: ignore[attr-defined]
