"""The form with which a director says that a language was read."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import RunOnceForm
from readiness.letters.languages.reading import letter_languages


class ReadForm(RunOnceForm):
    name = "language-read"
    language = forms.ChoiceField(label=gettext_lazy("Language"))
    reader = forms.CharField(
        label=gettext_lazy("Who has read it"),
        help_text=gettext_lazy(
            "Somebody who grew up with the language, and has read a letter, a note for the door "
            "and a home sheet in it."
        ),
        max_length=80,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["language"].choices = [  # type: ignore[attr-defined]
            (each.code, each.name) for each in letter_languages() if each.is_translated
        ]
