"""The forms of pictures from the side."""

import datetime
import uuid
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from studio.consents.forms import SeenForm
from studio.models import Location


class TurnForm(forms.Form):
    """On or off, in one hall."""

    hall = forms.ModelChoiceField(Location.objects.none(), widget=forms.HiddenInput)
    on = forms.ChoiceField(choices=[("yes", ""), ("no", "")], widget=forms.HiddenInput)

    def __init__(self, halls: QuerySet[Location], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hall"].queryset = halls  # type: ignore[attr-defined]


class PictureConsentForm(SeenForm):
    """A guardian's word. Sent twice it is one answer: it carries a token."""

    token = forms.UUIDField(widget=forms.HiddenInput)
    guardian = forms.CharField(
        label=_("Which guardian"),
        help_text=_("One guardian's no is enough. It ends with the same one's yes."),
        max_length=120,
        required=False,
    )
    answer = forms.ChoiceField(
        label=_("May angles be read off a picture of this child?"),
        choices=[("yes", _("yes")), ("no", _("no"))],
        widget=forms.RadioSelect,
        error_messages={"required": _("Tap yes or no.")},
    )
    field_order = ["token", "answer", "guardian", "seen_by", "seen_on"]

    def __init__(self, today: datetime.date, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {"token": uuid.uuid4(), **kwargs.get("initial", {})}
        super().__init__(today, *args, **kwargs)
