"""The form of one fault on the map: its root, what it leads to, and what mends it, in order."""

import uuid
from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import REASON_MISSING, RunOnceForm
from readiness.record.ladders import NamedLadder
from readiness.words.names import Data

# Rows for mending drills: at least so many, and one more than there are; at most so many are read.
LEAST_ROWS, MOST_ROWS = 4, 12


class FaultForm(RunOnceForm):
    """``base``: the number of the version that was shown."""

    name = "fault"
    base = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
    root = forms.ChoiceField(label=gettext_lazy("Root"), widget=forms.RadioSelect)
    leads_to = forms.CharField(label=gettext_lazy("What it leads to"), max_length=200)
    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages=REASON_MISSING,
    )

    def __init__(
        self, ladder: NamedLadder, fault: Data, data: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(data, initial=_as_it_stands(ladder, fault))
        self.fields["root"].choices = list(ladder.strand_names.items())  # type: ignore[attr-defined]
        drills = [("", _("none")), *((key, d["name"]) for key, d in ladder.drills.items())]
        self.count = _rows(fault, data or {})
        for at in range(1, self.count + 1):
            label = _("Mending drill %(n)s") % {"n": at}
            self.fields[f"drill_{at}"] = forms.ChoiceField(
                label=label, choices=drills, required=at == 1
            )
            self.fields[f"note_{at}"] = forms.CharField(
                label=_("Note %(n)s") % {"n": at}, max_length=60, required=False
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        chosen: set[str] = set()
        for at in range(1, self.count + 1):
            drill, note = cleaned.get(f"drill_{at}", ""), cleaned.get(f"note_{at}", "")
            if drill in chosen:
                self.add_error(f"drill_{at}", _("This drill stands above already."))
            if note and not drill and f"drill_{at}" not in self.errors:
                self.add_error(f"note_{at}", _("A note needs its drill."))
            chosen |= {drill} - {""}
        return cleaned

    def changed_fault(self) -> dict[str, Any]:
        """The fields of the fault as a ladder holds them."""
        rows = [
            (self.cleaned_data[f"drill_{at}"], self.cleaned_data[f"note_{at}"])
            for at in range(1, self.count + 1)
        ]
        return {
            "root": self.cleaned_data["root"],
            "leads_to": self.cleaned_data["leads_to"],
            "mend": [
                {"drill": drill, "note": note} if note else {"drill": drill}
                for drill, note in rows
                if drill
            ],
        }

    def mending_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"drill_{at}"], self[f"note_{at}"]) for at in range(1, self.count + 1)]

    def again(self, ladder: NamedLadder, fault: Data) -> "FaultForm":
        """The form as it was sent, about what stands now."""
        fresh = {"base": str(ladder.number), "token": str(uuid.uuid4())}
        return FaultForm(ladder, fault, {**self.data, **fresh})


def _rows(fault: Data, data: Mapping[str, str]) -> int:
    """None that was filled in is left unread."""
    sent = [at for at in range(1, MOST_ROWS + 1) if data.get(f"drill_{at}")]
    return max(LEAST_ROWS, len(fault["mend"]) + 1, *sent)


def _as_it_stands(ladder: NamedLadder, fault: Data) -> dict[str, Any]:
    mends = dict(enumerate(fault["mend"], start=1))
    return {
        "base": ladder.number,
        "root": fault["root"],
        "leads_to": fault["leads_to"],
        **{f"drill_{at}": mend["drill"] for at, mend in mends.items()},
        **{f"note_{at}": mend.get("note", "") for at, mend in mends.items()},
    }
