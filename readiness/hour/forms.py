"""The planner's form, and a grader's."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import RunOnceForm
from readiness.hour.candidates import MOST_CHILDREN, Candidate
from readiness.hour.plan import Seen
from readiness.models import HourChild
from studio.models import Staff
from studio.people.class_dates import Evening


def key_of(evening: Evening) -> str:
    return f"{evening.group.uuid}.{evening.day.isoformat()}"


def evening_choices(evenings: Sequence[Evening]) -> list[tuple[str, str]]:
    return [
        (
            key_of(each),
            f"{each.group.shown}, {date_format(each.day, 'D j M')} {each.starts_at:%H:%M}",
        )
        for each in evenings
    ]


class StaffField(forms.ModelChoiceField):
    def label_from_instance(self, obj: Staff) -> str:
        return obj.called


class PlanForm(RunOnceForm):
    """Which children, and who grades. The planner, who is shown the chances, does not."""

    name = "evidence-hour"
    children = forms.MultipleChoiceField(
        label=gettext_lazy("Children"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Choose who comes: one to four.")},
    )
    first = StaffField(
        Staff.objects.none(), label=gettext_lazy("First grader"), to_field_name="uuid"
    )
    second = StaffField(
        Staff.objects.none(), label=gettext_lazy("Second grader"), to_field_name="uuid"
    )

    def __init__(
        self, open_to: Sequence[Candidate], graders: QuerySet[Staff], *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        choices = [(str(each.child.uuid), each.child.listed) for each in open_to]
        field = self.fields["children"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = choices
        for name in ("first", "second"):
            chooser = self.fields[name]
            assert isinstance(chooser, forms.ModelChoiceField)
            chooser.queryset = graders

    def clean_children(self) -> list[str]:
        chosen: list[str] = self.cleaned_data["children"]
        if len(chosen) > MOST_CHILDREN:
            raise forms.ValidationError(_("Four children at most: six turns each take the hour."))
        return chosen

    def clean(self) -> None:
        said = self.cleaned_data
        if said.get("first") and said.get("first") == said.get("second"):
            self.add_error("second", _("Two people grade, not one twice."))


class SeenForm(forms.Form):
    """One turn as its grader saw it; nothing chosen: not done."""

    clean_turn = forms.ChoiceField(
        choices=[
            ("", gettext_lazy("not done")),
            ("yes", gettext_lazy("clean")),
            ("no", gettext_lazy("not clean")),
        ],
        required=False,
    )
    fault = forms.ChoiceField(label=gettext_lazy("What was seen"), required=False)

    def __init__(
        self, row: HourChild, number: int, faults: Sequence[tuple[str, str]], data: Any = None
    ) -> None:
        super().__init__(data, prefix=f"{row.pk}-{number}")
        self.row = row
        self.fields["clean_turn"].label = _("Turn %(number)s") % {"number": number}
        field = self.fields["fault"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("nothing more")), *faults]

    def clean(self) -> None:
        said = self.cleaned_data
        if said.get("fault") and said.get("clean_turn") != "no":
            self.add_error("clean_turn", _("With a fault chosen the turn was not clean."))

    def seen(self) -> Seen | None:
        said = self.cleaned_data
        if not said["clean_turn"]:
            return None
        return Seen(said["clean_turn"] == "yes", said["fault"])


class SheetForm(RunOnceForm):
    name = "hour-sheet"
