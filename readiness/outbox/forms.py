"""The forms with which a file saved from a tablet is brought in, and a refused line resolved."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.outbox.page import Place
from studio.imports.forms import UploadForm
from studio.models import Child, Meeting
from studio.people.told_apart import full_name


class OutboxFileForm(UploadForm):
    """The file that a tablet saved."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["file"]
        field.help_text = _("As the tablet saved it: its name ends in .json.")
        field.widget.attrs["accept"] = ".json,application/json"


class LogForm(forms.Form):
    """The class and the child for whom a refused line is logged after all."""

    to = forms.ChoiceField(label=gettext_lazy("Whose it is, and of which class"))

    def __init__(self, places: Sequence[Place], named: object, *args: Any, **kwargs: Any) -> None:
        """``named``: the public id of the child whom the line names."""
        super().__init__(*args, **kwargs)
        self._places = {
            f"{meeting.uuid} {child.uuid}": (meeting, child)
            for meeting, children in places
            for child in children
        }
        field = self.fields["to"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("Choose a child"))] + [
            (
                f"{meeting.group.shown}, {meeting.starts_at:%H:%M}",
                [(f"{meeting.uuid} {child.uuid}", full_name(child)) for child in children],
            )
            for meeting, children in places
        ]
        own = [key for key, (_meeting, child) in self._places.items() if str(child.uuid) == named]
        field.initial = own[0] if own else ""

    def clean_to(self) -> tuple[Meeting, Child]:
        return self._places[self.cleaned_data["to"]]


class StrikeForm(forms.Form):
    reason = forms.CharField(
        label=gettext_lazy("Why it counts for nothing"),
        max_length=300,
        error_messages={"required": gettext_lazy("Say why.")},
    )
