"""What is sent of grades: of twelve figures, and of one turn."""

import uuid
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from readiness.engine.eyes.figure import TWELVE

GRADES = 4


class TwelveForm(forms.Form):
    """A grade for each figure: grade-1 to grade-12."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(1, TWELVE + 1):
            missing = _("Figure %(number)s has no grade from 0 to 3.") % {"number": number}
            self.fields[f"grade-{number}"] = forms.IntegerField(
                min_value=0,
                max_value=GRADES - 1,
                error_messages=dict.fromkeys(
                    ("required", "invalid", "min_value", "max_value"), missing
                ),
            )

    @property
    def grades(self) -> list[int]:
        return [self.cleaned_data[f"grade-{number}"] for number in range(1, TWELVE + 1)]

    @property
    def missing(self) -> list[str]:
        return [str(message) for found in self.errors.values() for message in found]


class SecondForm(forms.Form):
    """The turn, by its id, and the grade; a form that names neither names no turn."""

    attempt = forms.UUIDField()
    value = forms.IntegerField(min_value=0, max_value=GRADES - 1)

    @property
    def turn(self) -> uuid.UUID | None:
        return self.cleaned_data["attempt"] if self.is_valid() else None

    @property
    def value_given(self) -> int:
        return int(self.cleaned_data["value"])
