"""Numbers as people type them, read alike in every language: 7.5 and 7,5 are seven and a half.
What might mean two things, as 1.234,5 does, is refused.

Shared: used by every form with a number and by the paper log; on the floor page
static/floor/entry/numbers.js reads alike.
"""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

NUMBER = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,4})?")


def read_number(text: str) -> Decimal | None:
    """None for anything but digits with at most one point or comma among them."""
    text = text.strip()
    return Decimal(text.replace(",", ".")) if NUMBER.fullmatch(text) else None


class NumberField(forms.DecimalField):
    """A text field, so that what was typed stays in sight when it is refused."""

    widget = forms.TextInput

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.widget.attrs["inputmode"] = "decimal"

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values:
            return None
        number = read_number(str(value))
        if number is None:
            raise ValidationError(_("Write a number such as 7 or 7.5."), code="invalid")
        return number


class WholeNumberField(forms.IntegerField):
    """The same for whole numbers."""

    widget = forms.TextInput

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.widget.attrs["inputmode"] = "numeric"

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values:
            return None
        number = read_number(str(value))
        if number is None or number != int(number):
            raise ValidationError(_("Write a whole number such as 7."), code="invalid")
        return int(number)
