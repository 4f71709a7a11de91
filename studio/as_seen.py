"""Two desks and one row: a form carries a mark of what it was shown with, and nothing is stored if
somebody has changed that since. Shared: used by the halls, the staff and the classes.
"""

import hashlib

from django import forms


class ChangedMeanwhile(Exception):
    """Somebody else has stored something since the form was shown; nothing was stored."""


class SeenForm(forms.Form):
    """``seen``: the mark of what the form was shown with."""

    seen = forms.CharField(max_length=16, widget=forms.HiddenInput)


def mark(*facts: object) -> str:
    return hashlib.sha256(repr(facts).encode()).hexdigest()[:16]


def refuse_if_changed(seen: str, *facts: object) -> None:
    """``facts``: as they are now, read after the row was locked. Raises ChangedMeanwhile."""
    if seen != mark(*facts):
        raise ChangedMeanwhile
