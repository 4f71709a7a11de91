"""The forms of pictures from the side."""

import datetime
import uuid
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from studio.consents.forms import GuardianForm
from studio.models import Location


class TurnForm(forms.Form):
    """On or off, in one hall."""

    hall = forms.ModelChoiceField(Location.objects.none(), widget=forms.HiddenInput)
    on = forms.ChoiceField(choices=[("yes", ""), ("no", "")], widget=forms.HiddenInput)

    def __init__(self, halls: QuerySet[Location], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hall"].queryset = halls  # type: ignore[attr-defined]


class PictureConsentForm(GuardianForm):
    """Sent twice it is one answer: it carries a token."""

    token = forms.UUIDField(widget=forms.HiddenInput)
    question = _("May angles be read off a picture of this child?")

    def __init__(self, today: datetime.date, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {"token": uuid.uuid4(), **kwargs.get("initial", {})}
        super().__init__(today, *args, **kwargs)
