"""Whose sign-ins end."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from studio.models import Staff


class EndForm(forms.Form):
    """One of those whose sign-ins somebody may end."""

    who = forms.ModelChoiceField(queryset=Staff.objects.none(), to_field_name="uuid")

    def __init__(self, staff: QuerySet[Staff], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["who"].queryset = staff  # type: ignore[attr-defined]
