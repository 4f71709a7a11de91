"""The forms of the classes."""

import datetime
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from studio.access import may_sign_in_rows, visible_colleagues, visible_locations
from studio.as_seen import SeenForm
from studio.classes.changing import name_taken
from studio.imports.numbers import WholeNumberField
from studio.models import DAYS_OF_WEEK, Child, ClassGroup, Holiday, Location, MeetingVisit, Staff
from studio.people.names import clean_name

NAME_TAKEN = _("There is a class of this name in this hall already.")


def day_field(label: Any) -> forms.DateField:
    return forms.DateField(
        label=label, widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    )


def time_field() -> forms.TimeField:
    return forms.TimeField(
        label=_("Begins at"), widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"})
    )


def colleagues(by: Staff, today: datetime.date) -> QuerySet[Staff]:
    here = visible_colleagues(by).filter(may_sign_in_rows(today))
    return here.order_by("first_name", "last_name", "pk")


class StaffField(forms.ModelMultipleChoiceField):
    def __init__(self, label: Any) -> None:
        super().__init__(
            Staff.objects.none(), label=label, required=False, widget=forms.CheckboxSelectMultiple
        )


class PlanForm(forms.Form):
    """Where and when a class meets."""

    location = forms.ModelChoiceField(
        Location.objects.none(), label=_("Hall"), empty_label=_("Choose")
    )
    weekday = forms.TypedChoiceField(label=_("Day"), choices=DAYS_OF_WEEK, coerce=int)
    starts_at = time_field()
    minutes = WholeNumberField(label=_("Minutes"), min_value=10, max_value=300, initial=60)

    def __init__(self, by: Staff, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        halls = visible_locations(by).order_by("name", "pk")
        self.fields["location"].queryset = halls  # type: ignore[attr-defined]


class NewClassForm(PlanForm):
    name = forms.CharField(label=_("Name of the class"), max_length=80)
    staff = StaffField(_("Who teaches it"))
    field_order = ("name", "location", "weekday", "starts_at", "minutes", "staff")

    def __init__(self, by: Staff, today: datetime.date, *args: Any, **kwargs: Any) -> None:
        super().__init__(by, *args, **kwargs)
        self.fields["staff"].queryset = colleagues(by, today)  # type: ignore[attr-defined]

    def clean_name(self) -> str:
        return clean_name(self.cleaned_data["name"])

    def clean(self) -> None:
        said = self.cleaned_data
        if "name" in said and "location" in said and name_taken(said["location"], said["name"]):
            self.add_error("name", NAME_TAKEN)


class ClassForm(SeenForm):
    name = forms.CharField(label=_("Name of the class"), max_length=80)
    staff = StaffField(_("Who teaches it"))

    def __init__(
        self, group: ClassGroup, by: Staff, today: datetime.date, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.group = group
        self.fields["staff"].queryset = colleagues(by, today)  # type: ignore[attr-defined]

    def clean_name(self) -> str:
        name = clean_name(self.cleaned_data["name"])
        if name_taken(self.group.location, name, self.group):
            raise forms.ValidationError(NAME_TAKEN)
        return name


class MoveForm(PlanForm, SeenForm):
    from_day = day_field(_("From this day on"))
    field_order = ("from_day", "location", "weekday", "starts_at", "minutes", "seen")

    def __init__(
        self, group: ClassGroup, by: Staff, today: datetime.date, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(by, *args, **kwargs)
        self.group, self.today = group, today

    def clean_from_day(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["from_day"]
        if day < self.today:
            raise forms.ValidationError(_("This day is over: a class moves from today on."))
        return day

    def clean(self) -> None:
        hall = self.cleaned_data.get("location")
        if hall is not None and name_taken(hall, self.group.name, self.group):
            self.add_error("location", NAME_TAKEN)


class EveningForm(SeenForm):
    """Another day, time or hall for one evening."""

    day = day_field(_("On"))
    starts_at = time_field()
    location = forms.ModelChoiceField(
        Location.objects.none(), label=_("Hall"), empty_label=_("Choose")
    )

    def __init__(self, by: Staff, today: datetime.date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        halls = visible_locations(by).order_by("name", "pk")
        self.fields["location"].queryset = halls  # type: ignore[attr-defined]

    def clean_day(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["day"]
        if day < self.today:
            raise forms.ValidationError(_("This day is over."))
        return day


class StandInForm(SeenForm):
    staff = StaffField(_("Who stands in"))

    def __init__(
        self, group: ClassGroup, by: Staff, today: datetime.date, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        others = colleagues(by, today).exclude(classes=group)
        self.fields["staff"].queryset = others  # type: ignore[attr-defined]


class ChildField(forms.ModelChoiceField):
    def label_from_instance(self, child: Any) -> str:
        return str(child.name)


class VisitForm(forms.Form):
    child = ChildField(Child.objects.none(), label=_("Child"))
    makes_up = forms.BooleanField(
        label=_("To make up for an evening that it missed"), required=False
    )

    def __init__(self, children: QuerySet[Child], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["child"]
        field.queryset = children.order_by("name_key", "pk")


class EndVisitForm(forms.Form):
    visit = forms.ModelChoiceField(MeetingVisit.objects.none())

    def __init__(self, visits: QuerySet[MeetingVisit], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["visit"].queryset = visits  # type: ignore[attr-defined]


class HolidayForm(forms.Form):
    location = forms.ModelChoiceField(
        Location.objects.none(), label=_("Hall"), empty_label=_("Choose")
    )
    name = forms.CharField(label=_("What it is called"), max_length=80)
    first_day = day_field(_("First day"))
    last_day = day_field(_("Last day"))

    def __init__(self, by: Staff, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        halls = visible_locations(by).order_by("name", "pk")
        self.fields["location"].queryset = halls  # type: ignore[attr-defined]

    def clean(self) -> None:
        said = self.cleaned_data
        if said.keys() >= {"first_day", "last_day"} and said["last_day"] < said["first_day"]:
            self.add_error("last_day", _("The last day is before the first."))


class EndHolidayForm(forms.Form):
    holiday = forms.ModelChoiceField(Holiday.objects.none())

    def __init__(self, holidays: QuerySet[Holiday], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["holiday"].queryset = holidays  # type: ignore[attr-defined]
