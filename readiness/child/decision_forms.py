"""The base forms of what people decide about a child, and the surfaces to choose from.

Shared: used by the child's page, the evidence page and the gates.
"""

import uuid
from collections.abc import Iterable, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from readiness.record.ladders import NamedLadder
from readiness.record.snapshots import Snapshot

REASON_MISSING = {"required": gettext_lazy("Write a reason: it stays with the decision.")}
Choices = Sequence[tuple[str, str]]
# What a form carries of the page it stands on.
CARRIED = ("digest", "last", "ladder")


class RunOnceForm(forms.Form):
    """A form that does its work once: it carries a token."""

    token = forms.UUIDField(widget=forms.HiddenInput)

    # Names the form's fields apart from those of the other forms on the page.
    name = ""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", f"{self.name}-%s")
        kwargs["initial"] = {"token": uuid.uuid4(), **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)


class SnapshotForm(RunOnceForm):
    """A form that also carries what its page showed: the digest, the last decision and the
    ladder."""

    digest = forms.CharField(widget=forms.HiddenInput, max_length=64)
    last = forms.CharField(widget=forms.HiddenInput, max_length=36, required=False)
    ladder = forms.IntegerField(widget=forms.HiddenInput)

    def snapshot(self) -> Snapshot:
        return Snapshot(**{name: self.cleaned_data[name] for name in CARRIED})

    def decision_fields(self) -> dict[str, Any]:
        """The cleaned data that the decision takes: all but what the page carried."""
        return {
            key: value for key, value in self.cleaned_data.items() if key not in ("token", *CARRIED)
        }


class ReasonForm(SnapshotForm):
    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages=REASON_MISSING,
    )


def offer_choices(field: forms.Field, choices: Choices) -> None:
    assert isinstance(field.widget, forms.Select)
    field.widget.choices = list(choices)


def surface_choices(
    ladder: NamedLadder, keys: Iterable[str] | None = None
) -> list[tuple[str, str]]:
    """Surfaces to choose from, easiest first; all of them if none are named."""
    wanted = set(ladder.surface_names if keys is None else keys)
    return [(key, name) for key, name in ladder.surface_names.items() if key in wanted]
