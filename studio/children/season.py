"""The season's turn: consent, telephones and cautions of a class's children on one sheet, asked of
every family again and answered in one list."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.children.forms import OnceForm
from studio.consents.forms import SeenForm
from studio.lists import csv_text
from studio.models import Child, ClassGroup, Contact, Staff
from studio.people.children import families_of
from studio.people.class_lists import in_class
from studio.people.consent_words import answer_word, slip_points
from studio.people.consents import NewAnswer, answer_on, answers_in_force, consents_of, write_down


class SeasonSeenForm(SeenForm, OnceForm):
    """Who saw the forms of all, and when."""


class SheetForm(forms.Form):
    """One child's line. Only what was changed in it is written down: a sheet may lie for days."""

    answer = forms.ChoiceField(
        label=gettext_lazy("a coach's hands"),
        choices=[
            ("yes", gettext_lazy("yes")),
            ("no", gettext_lazy("no")),
            ("", gettext_lazy("no form")),
        ],
        widget=forms.RadioSelect,
        required=False,
    )
    caution = forms.CharField(
        label=gettext_lazy("Caution"), max_length=120, required=False, show_hidden_initial=True
    )
    more_name = forms.CharField(
        label=gettext_lazy("One more to call"), max_length=120, required=False
    )
    more_phone = forms.CharField(label=gettext_lazy("Telephone"), max_length=40, required=False)

    def __init__(self, child: Child, family: Sequence[Contact], data: Any = None) -> None:
        phones = {f"phone{contact.pk}": contact for contact in family}
        initial = {"answer": "", "caution": child.caution}
        super().__init__(
            data,
            prefix=str(child.uuid),
            initial=initial | {name: contact.phone for name, contact in phones.items()},
        )
        self.child, self.phones = child, phones
        for name, contact in phones.items():
            self.fields[name] = forms.CharField(
                label=contact.name, max_length=40, required=False, show_hidden_initial=True
            )
        self.order_fields(["answer", "caution", *phones, "more_name", "more_phone"])

    def clean(self) -> None:
        if self.cleaned_data.get("more_phone") and not self.cleaned_data.get("more_name"):
            self.add_error("more_name", _("Write the name as well."))

    def keep(self) -> None:
        """Store what was changed, but the answer."""
        said = self.cleaned_data
        if "caution" in self.changed_data:
            self.child.caution = said["caution"]
            self.child.save(update_fields=["caution"])
        for name, contact in self.phones.items():
            if name in self.changed_data:
                contact.phone = said[name]
                contact.save(update_fields=["phone"])
        if said["more_name"]:
            new = {"name": said["more_name"], "phone": said["more_phone"], "to_call": True}
            Contact.objects.create(child=self.child, **new)


@dataclass(frozen=True)
class Line:
    """``again``: from when the answer is asked again, or None."""

    child: Child
    hands: str
    again: datetime.date | None
    family: list[Contact]
    form: SheetForm


def sheet_of(
    group: ClassGroup, day: datetime.date, data: Mapping[str, Any] | None = None
) -> list[Line]:
    """The children of a class who have not left, in the order of their names."""
    here = Child.objects.filter(pk__in=in_class(group.pk)).exclude(left_on__lte=day)
    children = list(here.order_by("search_key", "pk"))
    answers, families = consents_of(children), families_of(children)
    lines = []
    for child in children:
        own, family = answers[child.pk], families[child.pk]
        again = min((each.asked_again_on for each in answers_in_force(own, day)), default=None)
        hands = answer_word(answer_on(own, day))
        lines.append(Line(child, hands, again, family, SheetForm(child, family, data)))
    return lines


def keep_sheet(
    lines: Sequence[Line], seen: Mapping[str, Any], by: Staff, now: datetime.datetime
) -> None:
    """Everything that was changed, or nothing."""
    with transaction.atomic():
        for line in lines:
            line.form.keep()
        new = [
            NewAnswer(line.child, line.child.guardian, line.form.cleaned_data["answer"] == "yes")
            for line in lines
            if line.form.cleaned_data["answer"]
        ]
        if new:
            write_down(new, seen["seen_by"], seen["seen_on"], by, now)


def slips_of(lines: Sequence[Line]) -> list[dict[str, Any]]:
    """A slip for each household: it reads its own telephones and nobody else's."""
    return [
        {
            "child": line.child,
            "points": slip_points(line.child.called),
            "family": [c for c in line.family if c.household == household and not c.not_told],
        }
        for line in lines
        for household in sorted({c.household for c in line.family if not c.not_told}) or [1]
    ]


def sheet_file(lines: Sequence[Line]) -> str:
    """The same for a spreadsheet."""
    columns = [_("child"), _("born"), _("hands"), _("asked again from"), _("caution"), _("call")]
    return csv_text(
        columns,
        (
            (
                line.child.name,
                line.child.born,
                line.hands,
                line.again,
                line.child.caution,
                "; ".join(f"{c.name} {c.phone}" for c in line.family if c.to_call),
            )
            for line in lines
        ),
    )
