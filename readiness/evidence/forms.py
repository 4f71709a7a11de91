"""The forms of the evidence page: recommend, sign, send back, close, write an exception."""

from django import forms
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import Choices, ReasonForm, SnapshotForm, offer_choices


class SurfaceForm(SnapshotForm):
    """The page offers ``surfaces``; whether one will do is for the decision to say."""

    surface = forms.SlugField(label=gettext_lazy("Surface"), widget=forms.Select)
    reason = forms.CharField(
        label=gettext_lazy("A note"),
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def offer(self, surfaces: Choices) -> None:
        offer_choices(self.fields["surface"], surfaces)


class RecommendForm(SurfaceForm):
    name = "recommend"


class SignForm(SurfaceForm):
    name = "sign"
    seen_on = forms.DateField(
        label=gettext_lazy("I saw it on"),
        help_text=gettext_lazy("The day on which you saw it yourself, in the last 28 days."),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": gettext_lazy("Say on which day you saw it yourself.")},
    )
    field_order = ("surface", "seen_on", "reason")


class SendBackForm(ReasonForm):
    name = "send-back"


class CloseForm(ReasonForm):
    name = "close"


class ExceptionForm(ReasonForm):
    name = "exception"
