"""For which stages each class is meant, and its places."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.models import ClassAim
from studio.models import ClassGroup

MOST_PLACES = 60


class AimForm(forms.Form):
    """All three, or none of them: then nothing is said of the class."""

    lowest = forms.TypedChoiceField(
        label=gettext_lazy("From stage"), coerce=int, empty_value=None, required=False
    )
    highest = forms.TypedChoiceField(
        label=gettext_lazy("To stage"), coerce=int, empty_value=None, required=False
    )
    places = forms.IntegerField(
        label=gettext_lazy("Places"), min_value=1, max_value=MOST_PLACES, required=False
    )

    def __init__(
        self,
        group: ClassGroup,
        aim: ClassAim | None,
        stages: Sequence[tuple[str, str]],
        data: Any = None,
    ) -> None:
        names = ("lowest", "highest", "places")
        initial = {name: getattr(aim, name) for name in names} if aim else {}
        super().__init__(data, prefix=str(group.uuid), initial=initial)
        self.group = group
        for name in ("lowest", "highest"):
            field = self.fields[name]
            assert isinstance(field, forms.TypedChoiceField)
            field.choices = [("", "–"), *stages]

    def clean(self) -> None:
        said = [self.cleaned_data.get(name) for name in ("lowest", "highest", "places")]
        if any(each is None for each in said) and any(each is not None for each in said):
            raise forms.ValidationError(_("Say all three, or none of them."))
        if said[0] is not None and said[1] is not None and said[0] > said[1]:
            self.add_error("highest", _("Not lower than the first."))

    def keep(self) -> None:
        said = self.cleaned_data
        if said["places"] is None:
            ClassAim.objects.filter(group=self.group).delete()
        else:
            ClassAim.objects.update_or_create(group=self.group, defaults=said)


class KeepForm(forms.Form):
    """Sent with the table, so that an empty call is told from a table left empty."""

    keep = forms.CharField(widget=forms.HiddenInput, initial="aims")
