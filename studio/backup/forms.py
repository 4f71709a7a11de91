"""What the desk says of a child and of a class that came back after a restore."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.models import Child, ClassGroup, Location
from studio.people.names import clean_name, fold_name


class ChildForm(forms.Form):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    name_used = forms.CharField(label=gettext_lazy("Name used"), max_length=60, required=False)
    born = forms.RegexField(
        r"^(19|20)\d\d-(0[1-9]|1[0-2])$",
        label=gettext_lazy("Born (year-month)"),
        error_messages={"invalid": gettext_lazy("Write year and month, such as 2016-04.")},
    )

    def clean_name(self) -> str:
        name = clean_name(self.cleaned_data["name"])
        if not name:
            raise ValidationError(_("There is no letter in this name."))
        return name

    def clean_name_used(self) -> str:
        return clean_name(self.cleaned_data["name_used"])


class ClassForm(forms.Form):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    hall = forms.ModelChoiceField(Location.objects.none(), label=gettext_lazy("Hall"))

    def __init__(self, halls: QuerySet[Location], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hall"].queryset = halls.order_by("name", "pk")  # type: ignore[attr-defined]

    def clean(self) -> None:
        said = self.cleaned_data
        if ClassGroup.objects.filter(location=said.get("hall"), name=said.get("name")).exists():
            raise ValidationError(_("There is a class of this name in this hall already."))


def say_who(child: Child, name: str, name_used: str, born: str) -> None:
    """From now on it is a child like any other."""
    year, month = map(int, born.split("-"))
    child.name, child.name_key, child.name_used = name, fold_name(name), name_used
    child.birth_year, child.birth_month = year, month
    names = ["name", "name_key", "name_used", "search_key"]
    child.save(update_fields=[*names, "birth_year", "birth_month"])


def say_which(group: ClassGroup, name: str, hall: Location) -> None:
    group.name, group.location, group.to_be_sorted = name, hall, False
    group.save(update_fields=["name", "location", "to_be_sorted"])
