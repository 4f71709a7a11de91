"""The forms of the children's pages: looking for somebody, one child's facts, days and classes."""

import datetime
from typing import Any

from django import forms
from django.conf import settings
from django.conf.locale import LANG_INFO
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.models import Child, ClassGroup, Contact, FamilyOnStaff, Staff
from studio.people.language import language_name, letter_language
from studio.people.names import clean_name

DATE_BOX = {"type": "date"}
# Here; those of whom nobody has said yet who they are; those who have left.
HERE, UNNAMED, LEFT = "here", "unnamed", "left"


class ClassField(forms.ModelChoiceField):
    """One of the classes that somebody sees, each with its hall."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(ClassGroup.objects.none(), to_field_name="uuid", **kwargs)

    def label_from_instance(self, obj: ClassGroup) -> str:
        return f"{obj.name} ({obj.location.name})"


class ClassesField(ClassField, forms.ModelMultipleChoiceField):
    """Some of them."""


def offer_classes(field: Any, groups: QuerySet[ClassGroup]) -> None:
    field.queryset = groups.select_related("location").order_by("location__name", "name", "pk")


class SearchForm(forms.Form):
    """Sent by POST: no name stands in an address."""

    q = forms.CharField(label=gettext_lazy("Any part of a name"), max_length=120, required=False)
    group = ClassField(
        label=gettext_lazy("Class"),
        empty_label=gettext_lazy("all"),
        required=False,
    )
    which = forms.ChoiceField(
        label=gettext_lazy("Who"),
        choices=[
            (HERE, gettext_lazy("here")),
            (UNNAMED, gettext_lazy("not said yet who")),
            (LEFT, gettext_lazy("left the studio")),
        ],
        required=False,
    )

    def __init__(self, groups: QuerySet[ClassGroup], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_classes(self.fields["group"], groups)


def language_choices() -> list[tuple[str, str]]:
    """Those with letters first; the others say that they have none."""
    without = _("%(language)s (letters in English)")
    known = [code for code, info in LANG_INFO.items() if "name" in info]
    own = [*settings.LETTER_LANGUAGES, *(code for code in known if letter_language(code))]
    others = sorted(
        (without % {"language": language_name(code)}, code)
        for code in known
        if not letter_language(code)
    )
    return [
        *((code, language_name(code)) for code in dict.fromkeys(own)),
        *((code, words) for words, code in others),
    ]


class OnceForm(forms.Form):
    """A form whose job is done once, however often it is sent."""

    token = forms.UUIDField(widget=forms.HiddenInput)

    def run_once_token(self) -> str:
        return str(self.cleaned_data["token"])


class FactsForm(forms.Form):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    name_used = forms.CharField(
        label=gettext_lazy("Name used in class"), max_length=60, required=False
    )
    born = forms.RegexField(
        r"^(19|20)\d\d(-(0[1-9]|1[0-2]))?$",
        label=gettext_lazy("Born"),
        help_text=gettext_lazy("Year and month, such as 2016-04, or the year only."),
        error_messages={"invalid": gettext_lazy("Write 2016-04, or 2016 for the year only.")},
    )
    guardian = forms.CharField(label=gettext_lazy("Guardian"), max_length=120, required=False)
    letter_language = forms.ChoiceField(label=gettext_lazy("Language of letters"))
    caution = forms.CharField(
        label=gettext_lazy("Caution"),
        help_text=gettext_lazy(
            "One line that every coach reads before class, such as “no weight on the left wrist”."
        ),
        max_length=120,
        required=False,
    )
    kick_leg = forms.ChoiceField(
        label=gettext_lazy("Kicks over with"),
        choices=[("", gettext_lazy("not known")), *Child.Leg.choices],
        required=False,
    )

    def __init__(self, today: datetime.date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        field = self.fields["letter_language"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = language_choices()
        # What a list brought in stays, even if it is no language that is known here.
        before = self.initial.get("letter_language")
        if before and before not in dict(field.choices):
            field.choices = [(before, before), *field.choices]

    def clean_name(self) -> str:
        name = clean_name(self.cleaned_data["name"])
        if not any(sign.isalpha() for sign in name):
            raise ValidationError(_("There is no letter in this name."))
        return name

    def clean_name_used(self) -> str:
        return clean_name(self.cleaned_data["name_used"])

    def clean_born(self) -> str:
        born: str = self.cleaned_data["born"]
        if born > f"{self.today:%Y-%m}"[: len(born)]:
            raise ValidationError(_("This day has not come yet."))
        return born

    def values(self) -> dict[str, Any]:
        """The child's fields, by name."""
        said = dict(self.cleaned_data)
        year, _dash, month = said.pop("born").partition("-")
        return said | {"birth_year": int(year), "birth_month": int(month) if month else None}


class AddForm(FactsForm, OnceForm):
    """The facts of somebody new."""

    def values(self) -> dict[str, Any]:
        values = super().values()
        del values["token"]
        return values


class ContactForm(forms.Form):
    """One of the family. A row whose name is taken out is taken out."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120, required=False)
    relation = forms.CharField(
        label=gettext_lazy("Who it is to the child"), max_length=40, required=False
    )
    phone = forms.CharField(
        label=gettext_lazy("Telephone"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
    )
    household = forms.TypedChoiceField(
        label=gettext_lazy("Household"),
        choices=Contact.Household.choices,
        coerce=int,
        initial=Contact.Household.FIRST,
    )
    to_call = forms.BooleanField(label=gettext_lazy("call"), required=False)
    may_collect = forms.BooleanField(label=gettext_lazy("may collect"), required=False)
    not_told = forms.BooleanField(label=gettext_lazy("must not be told"), required=False)

    def clean(self) -> None:
        said = self.cleaned_data
        if said.get("name"):
            if said["not_told"] and (said["to_call"] or said["may_collect"]):
                raise ValidationError(
                    _("Who must not be told is not called and does not collect. Take one away.")
                )
        elif any(said.get(name) for name in ("phone", "relation", "not_told")):
            raise ValidationError(_("Write the name as well."))


Contacts = forms.formset_factory(ContactForm, extra=2, max_num=12)


def contact_values(contacts: Any) -> list[dict[str, Any]]:
    """Those of a valid formset that have a name."""
    return [form.cleaned_data for form in contacts if form.cleaned_data.get("name")]


class FamilyForm(forms.Form):
    """Who of the staff is family of a child."""

    staff = forms.ModelChoiceField(
        Staff.objects.none(), label=gettext_lazy("Who"), to_field_name="uuid"
    )

    def __init__(self, staff: QuerySet[Staff], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["staff"]
        field.queryset = staff.order_by("first_name", "last_name", "username", "pk")


class FamilyEndForm(forms.Form):
    row = forms.ModelChoiceField(FamilyOnStaff.objects.none(), to_field_name="uuid")

    def __init__(self, rows: QuerySet[FamilyOnStaff], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["row"].queryset = rows  # type: ignore[attr-defined]


class DayForm(forms.Form):
    """A day, not after ``latest``."""

    day = forms.DateField(
        label=gettext_lazy("From"),
        widget=forms.DateInput(attrs=DATE_BOX, format="%Y-%m-%d"),
    )

    def __init__(self, latest: datetime.date | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.latest = latest

    def clean_day(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["day"]
        if self.latest is not None and day > self.latest:
            raise ValidationError(_("This day has not come yet. Come back to it then."))
        return day


class ClassDayForm(DayForm):
    """A class and a day."""

    group = ClassField(label=gettext_lazy("Class"))
    field_order = ["group", "day"]

    def __init__(
        self, groups: QuerySet[ClassGroup], latest: datetime.date | None, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(latest, *args, **kwargs)
        offer_classes(self.fields["group"], groups)


class ClassesDayForm(DayForm):
    """The classes of somebody who comes, or comes back."""

    groups = ClassesField(
        label=gettext_lazy("Classes"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Choose a class: nobody sees who is in none.")},
    )
    field_order = ["groups", "day"]

    def __init__(
        self, groups: QuerySet[ClassGroup], latest: datetime.date | None, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(latest, *args, **kwargs)
        offer_classes(self.fields["groups"], groups)


class NewcomerForm(OnceForm):
    name = forms.CharField(
        label=gettext_lazy("Name, if it was said"), max_length=120, required=False
    )

    def clean_name(self) -> str:
        return clean_name(self.cleaned_data["name"])
