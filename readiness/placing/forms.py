"""What is said of all children of the list at once, and the stage of each."""

import uuid
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import (
    REASON_MISSING,
    Choices,
    RunOnceForm,
    offer_choices,
)
from studio.models import Child


class PlacingForm(RunOnceForm):
    """Where and how they were seen; ``chosen`` reads the stages, a field for each child."""

    name = "placing"
    surface = forms.SlugField(label=gettext_lazy("Surface they were seen on"), widget=forms.Select)
    reason = forms.CharField(
        label=gettext_lazy("What you saw, and when"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages=REASON_MISSING,
    )

    def offer(self, surfaces: Choices) -> None:
        offer_choices(self.fields["surface"], [("", _("Choose")), *surfaces])


def field_of(child: Child) -> str:
    return f"stage-{child.uuid}"


def chosen(data: Any, stages: Choices) -> dict[uuid.UUID, int]:
    """The stage of each child that has one, by the child's public id; ValueError for what is no
    choice of the page."""
    offered, found = {value for value, _label in stages}, {}
    for name, value in data.items():
        if not name.startswith("stage-") or not value:
            continue
        if value not in offered:
            raise ValueError(value)
        found[uuid.UUID(name.removeprefix("stage-"))] = int(value)
    return found
