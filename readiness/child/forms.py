"""The forms of what people decide about a child."""

import uuid
from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.record.decisions import Seen
from studio.imports.forms import UploadForm

REASON_MISSING = {"required": gettext_lazy("Write a reason: it stays with the decision.")}
Choices = Sequence[tuple[str, str]]


class OnceForm(forms.Form):
    """A form that does its work once: it carries a token."""

    token = forms.UUIDField(widget=forms.HiddenInput)

    # Names the form's fields apart from those of the other forms on the page.
    name = ""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", f"{self.name}-%s")
        kwargs["initial"] = {"token": uuid.uuid4(), **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)


class SeenForm(OnceForm):
    """A form that also carries what its page showed: the digest and the last decision."""

    digest = forms.CharField(widget=forms.HiddenInput, max_length=64)
    last = forms.CharField(widget=forms.HiddenInput, max_length=36, required=False)

    def seen(self) -> Seen:
        return Seen(self.cleaned_data["digest"], self.cleaned_data["last"])

    def said(self) -> dict[str, Any]:
        """What was filled in."""
        carried = ("token", "digest", "last")
        return {key: value for key, value in self.cleaned_data.items() if key not in carried}


class SurfaceForm(SeenForm):
    """The page offers ``surfaces``; whether one will do is for the decision to say."""

    surface = forms.SlugField(label=gettext_lazy("Surface"), widget=forms.Select)
    reason = forms.CharField(
        label=gettext_lazy("A note"),
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def offer(self, surfaces: Choices) -> None:
        _offer(self.fields["surface"], surfaces)


def _offer(field: forms.Field, choices: Choices) -> None:
    assert isinstance(field.widget, forms.Select)
    field.widget.choices = list(choices)


class RecommendForm(SurfaceForm):
    name = "recommend"


class SignForm(SurfaceForm):
    name = "sign"


class ReasonForm(SeenForm):
    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages=REASON_MISSING,
    )


class SendBackForm(ReasonForm):
    name = "send-back"


class ExceptionForm(ReasonForm):
    name = "exception"


class StepForm(SeenForm):
    """The tap that gives a step of less support."""

    name = "step"
    drill = forms.SlugField(widget=forms.HiddenInput)
    support = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=3)


class PlaceForm(ReasonForm):
    name = "place"
    stage = forms.IntegerField(label=gettext_lazy("Stage"), widget=forms.Select)
    surface = forms.SlugField(label=gettext_lazy("Surface"), widget=forms.Select)
    field_order = ["token", "digest", "last", "stage", "surface", "reason"]

    def offer(self, stages: Choices, surfaces: Choices) -> None:
        _offer(self.fields["stage"], [("", _("Choose")), *stages])
        _offer(self.fields["surface"], [("", _("Choose")), *surfaces])


class PauseForm(OnceForm):
    name = "pause"
    reason = forms.CharField(
        label=gettext_lazy("Reason"), max_length=300, error_messages=REASON_MISSING
    )


class LiftForm(SeenForm):
    name = "lift"
    reason = forms.CharField(
        label=gettext_lazy("Who said yes, and who saw it"),
        max_length=300,
        error_messages=REASON_MISSING,
    )


class OutboxFileForm(UploadForm):
    """The file that a tablet saved."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["file"]
        field.help_text = _("As the tablet saved it: its name ends in .json.")
        field.widget.attrs["accept"] = ".json,application/json"
