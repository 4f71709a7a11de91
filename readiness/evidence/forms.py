"""The forms of the evidence page: recommend, sign, send back, write an exception."""

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


class SendBackForm(ReasonForm):
    name = "send-back"


class ExceptionForm(ReasonForm):
    name = "exception"
