"""The forms of the staff: an invitation, an account, its papers, the end of somebody's access."""

from typing import Any

from django import forms
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.db.models import QuerySet
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from studio.access import visible_classes, visible_locations
from studio.as_seen import SeenForm
from studio.models import ClassGroup, Location, Staff, StaffPaper
from studio.people.names import clean_name


def day_field(label: Any, **more: Any) -> forms.DateField:
    return forms.DateField(
        label=label, widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}), **more
    )


class LeaveForm(forms.Form):
    """From this day on they cannot sign in."""

    who = forms.ModelChoiceField(queryset=Staff.objects.none(), widget=forms.HiddenInput)
    left_on = day_field(_("The first day without access"))

    def __init__(self, staff: QuerySet[Staff], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["who"].queryset = staff  # type: ignore[attr-defined]


class RowsField(forms.ModelMultipleChoiceField):
    def __init__(self, label: Any, **more: Any) -> None:
        super().__init__(
            Location.objects.none(), label=label, widget=forms.CheckboxSelectMultiple, **more
        )

    def label_from_instance(self, row: Any) -> str:
        return f"{row.name} ({row.location.name})" if isinstance(row, ClassGroup) else str(row)


class AccountForm(forms.Form):
    """``by``: the director, whose halls and classes can be given."""

    first_name = forms.CharField(label=_("First name"), max_length=150)
    last_name = forms.CharField(label=_("Family name"), max_length=150, required=False)
    role = forms.ChoiceField(
        label=_("Role"),
        choices=Staff.Role.choices,
        help_text=_(
            "Assistants log turns. Coaches grade and see their classes. Directors see their halls "
            "and sign."
        ),
    )
    halls = RowsField(
        _("Halls"), error_messages={"required": _("Choose at least one of your halls.")}
    )
    classes = RowsField(_("Classes"), required=False)

    def __init__(self, by: Staff, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        halls, classes = visible_locations(by), visible_classes(by).select_related("location")
        self.fields["halls"].queryset = halls.order_by("name", "pk")  # type: ignore[attr-defined]
        self.fields["classes"].queryset = classes.order_by(  # type: ignore[attr-defined]
            "location__name", "weekday", "starts_at", "pk"
        )

    def clean_first_name(self) -> str:
        return clean_name(self.cleaned_data["first_name"])

    def clean_last_name(self) -> str:
        return clean_name(self.cleaned_data["last_name"])


class InviteForm(AccountForm):
    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        validators=[UnicodeUsernameValidator()],
        help_text=_("Short, without spaces, such as the first name."),
    )
    guest_on = day_field(
        _("Guest reviewer on"),
        required=False,
        help_text=_(
            "Only for a guest, who works on this one day: looks, grades, and as a director signs."
        ),
    )
    field_order = ("first_name", "last_name", "username", "role", "halls", "classes", "guest_on")

    def clean_username(self) -> str:
        name: str = self.cleaned_data["username"]
        if Staff.objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(_("Somebody has this sign-in name already."))
        return name


class ChangeForm(AccountForm, SeenForm):
    """A director's role is changed at the server only, so that nobody is left as the only one."""

    def __init__(self, by: Staff, of: Staff, *args: Any, **kwargs: Any) -> None:
        super().__init__(by, *args, **kwargs)
        if of.role == Staff.Role.DIRECTOR:
            del self.fields["role"]


class PapersForm(SeenForm):
    """The last day on which each paper is good; empty where there is none."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for kind, label in StaffPaper.Kind.choices:
            self.fields[kind] = day_field(capfirst(label), required=False)
