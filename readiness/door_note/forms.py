"""The form of a door note: to whom it is given, and what only the coach can say."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import RunOnceForm
from readiness.door_note.words import DID
from readiness.models import DoorNote
from studio.models import Contact
from studio.people.names import fold

Kind = DoorNote.Kind
ELSE = "else"
GUARDIAN = "guardian"


class NoteForm(RunOnceForm):
    """``seen``: the mark of the words that stood on the page."""

    name = "door-note"
    seen = forms.CharField(widget=forms.HiddenInput, max_length=64, required=False)
    adult = forms.ChoiceField(
        label=gettext_lazy("Given to"),
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Say to whom it is given.")},
    )
    other = forms.CharField(
        label=gettext_lazy("If another adult: the name"), max_length=120, required=False
    )
    did = forms.ChoiceField(
        label=gettext_lazy("What we did"),
        choices=[("", gettext_lazy("not said in the note")), *DID.items()],
        required=False,
    )
    nothing_hurts = forms.BooleanField(
        label=gettext_lazy("Was asked, and said that nothing hurts"), required=False
    )

    def __init__(
        self, kind: str, family: Sequence[Contact], guardian: str, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        if kind != Kind.FALL:
            del self.fields["did"]
        if kind == Kind.HEAD:
            del self.fields["nothing_hurts"]
        self.family = {str(each.pk): each for each in family if not each.not_told}
        self.not_told = {fold(each.name) for each in family if each.not_told}
        self.guardian = "" if fold(guardian) in {fold(each.name) for each in family} else guardian
        adult = self.fields["adult"]
        assert isinstance(adult, forms.ChoiceField)
        named = [(key, _called(each)) for key, each in self.family.items()]
        if self.guardian:
            named.insert(0, (GUARDIAN, _("%(name)s, guardian") % {"name": self.guardian}))
        adult.choices = [*named, (ELSE, _("another adult"))]

    def clean(self) -> None:
        chosen, other = self.cleaned_data.get("adult"), self.cleaned_data.get("other", "")
        if chosen == ELSE and not other:
            self.add_error("other", _("Write the name."))
        if chosen == ELSE and fold(other) in self.not_told:
            self.add_error("other", _("The family wrote down that this person must not be told."))

    @property
    def told(self) -> str:
        """The adult's name; empty where nobody is named."""
        if not self.is_bound or not self.is_valid():
            return ""
        chosen = self.cleaned_data["adult"]
        if chosen == GUARDIAN:
            return self.guardian
        return self.cleaned_data["other"] if chosen == ELSE else self.family[chosen].name


def _called(contact: Contact) -> str:
    return f"{contact.name}, {contact.relation}" if contact.relation else contact.name
