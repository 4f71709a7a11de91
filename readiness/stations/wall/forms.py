"""The form of the screen in a hall."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from readiness.child.decision_forms import RunOnceForm
from studio.models import Location


class WallForm(RunOnceForm):
    """``wanted``: whether it is to show stations from now on."""

    name = "wall"
    hall = forms.ModelChoiceField(Location.objects.none(), widget=forms.HiddenInput)
    wanted = forms.TypedChoiceField(
        choices=[("yes", "yes"), ("no", "no")],
        coerce=lambda said: said == "yes",
        widget=forms.HiddenInput,
    )

    def __init__(self, halls: QuerySet[Location], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hall"].queryset = halls  # type: ignore[attr-defined]
