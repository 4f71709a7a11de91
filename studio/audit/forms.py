"""Looking for entries of the audit log."""

from django import forms
from django.utils.translation import gettext_lazy as _

from studio.models import AuditEntry


class FilterForm(forms.Form):
    kind = forms.ChoiceField(
        label=_("What"), choices=[("", _("all")), *AuditEntry.Kind.choices], required=False
    )
    day = forms.DateField(
        label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}), required=False
    )
