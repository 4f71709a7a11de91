"""The form of the letter page: the coach's own sentence, and what only a director may tell."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.letters.type import as_printed
from readiness.models import PrintedLetter
from readiness.models.letters import LONGEST_OWN, LONGEST_REASON


class PrintedText(forms.CharField):
    """Text as it will be printed, so that what is counted is what the page has to hold."""

    def to_python(self, value: object) -> str:
        return as_printed(super().to_python(value) or "")


def own_sentence(**more: Any) -> PrintedText:
    return PrintedText(
        label=gettext_lazy("A sentence of your own"),
        max_length=LONGEST_OWN,
        error_messages={
            "max_length": gettext_lazy(
                "This is %(show_value)s characters long; the letter has room for %(limit_value)s."
            )
        },
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        **more,
    )


def reason_to_hold_back(**more: Any) -> forms.CharField:
    return forms.CharField(
        label=gettext_lazy("Hold it back: why"), max_length=LONGEST_REASON, required=False, **more
    )


def director_watches(**more: Any) -> forms.BooleanField:
    return forms.BooleanField(
        label=gettext_lazy("Say that a director has begun to watch"),
        help_text=gettext_lazy("Only if it is so: the family will wait for an answer."),
        required=False,
        **more,
    )


class LetterForm(forms.Form):
    own = own_sentence(
        help_text=gettext_lazy(
            "Printed after the greeting, as you type it, and kept with the letter."
        )
    )
    review = director_watches()
    replaces = forms.ChoiceField(
        label=gettext_lazy("It corrects an earlier letter"),
        help_text=gettext_lazy("It then says which one it replaces."),
        required=False,
    )
    held_back = reason_to_hold_back()

    def __init__(
        self,
        data: Any,
        may_tell_review: bool,
        earlier: Sequence[PrintedLetter],
        initial: dict[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=initial)
        self.earlier = {str(letter.uuid): letter for letter in earlier}
        replaces = self.fields["replaces"]
        assert isinstance(replaces, forms.ChoiceField)
        days = [(key, date_format(letter.day)) for key, letter in self.earlier.items()]
        replaces.choices = [("", _("No")), *days]
        if not may_tell_review:
            del self.fields["review"]
        if not earlier:
            del self.fields["replaces"]

    def said(self) -> dict[str, Any]:
        """What is said in the letter; of a wrong form nothing."""
        if not self.is_bound:
            said = {"own": "", **self.initial}
        elif self.is_valid():
            said = dict(self.cleaned_data)
        else:
            return {}
        return said | {"replaces": self.earlier.get(said.get("replaces", ""))}
