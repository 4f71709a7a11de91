"""The form of the letter page: the coach's own sentence, and what only a director may tell."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from readiness.letters.type import as_printed


class PrintedText(forms.CharField):
    """Text as it will be printed, so that what is counted is what the page has to hold."""

    def to_python(self, value: object) -> str:
        return as_printed(super().to_python(value) or "")


class LetterForm(forms.Form):
    own = PrintedText(
        label=gettext_lazy("A sentence of your own"),
        help_text=gettext_lazy("Printed after the greeting, as you type it. It is not kept."),
        max_length=300,
        error_messages={
            "max_length": gettext_lazy(
                "This is %(show_value)s characters long; the letter has room for %(limit_value)s."
            )
        },
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    review = forms.BooleanField(
        label=gettext_lazy("Say that a director has begun to watch"),
        help_text=gettext_lazy("Only if it is so: the family will wait for an answer."),
        required=False,
    )

    def __init__(self, data: Any, may_tell_review: bool) -> None:
        super().__init__(data)
        if not may_tell_review:
            del self.fields["review"]
