"""The forms of a child's whole record."""

from django import forms
from django.utils.translation import gettext_lazy as _

JSON, PDF = "json", "pdf"


class FileForm(forms.Form):
    """Which of both files."""

    kind = forms.ChoiceField(choices=[(JSON, "JSON"), (PDF, "PDF")])


class SureForm(forms.Form):
    """A yes to what nobody can take back."""

    sure = forms.BooleanField(label=_("I know that nobody can take this back."))
