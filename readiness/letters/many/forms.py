"""The form of one child's row on the page of a class's letters."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.letters.forms import director_watches, own_sentence, reason_to_hold_back
from readiness.letters.many.preparing import Prepared


class RowForm(forms.Form):
    """``changed_data`` is told from what the page showed, so that of two who write on one page each
    changes only what they wrote."""

    own = own_sentence(show_hidden_initial=True)
    review = director_watches(show_hidden_initial=True)
    held_back = reason_to_hold_back(show_hidden_initial=True)
    read = forms.BooleanField(
        label=gettext_lazy("I have read it: it may be printed"), required=False
    )
    chosen = forms.BooleanField(label=gettext_lazy("Print this letter"), required=False)
    # What the record said when the page was shown.
    seen = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, each: Prepared, reads: bool, data: Any = None) -> None:
        draft = each.draft
        initial = {name: getattr(draft, name) for name in ("own", "review", "held_back") if draft}
        may_go = not each.held_back and not each.waits
        initial |= {"seen": each.seen, "chosen": may_go and not printed_today(each)}
        super().__init__(data, prefix=str(each.child.uuid), initial=initial)
        self.each, self.reads = each, reads
        if not (reads and each.facts.for_review()):
            del self.fields["review"]
        if not (reads and each.waits):
            del self.fields["read"]

    def clean(self) -> None:
        said, draft = self.cleaned_data, self.each.draft
        stored = draft.own if draft else ""
        shown = self.fields["own"].clean(self.data.get(self.add_initial_prefix("own"), ""))
        if "own" in self.changed_data and stored not in (shown, said.get("own")):
            self.add_error("own", _("Somebody else has written here meanwhile: %s") % stored)
        if said.get("read") and said.get("seen") != self.each.seen:
            self.add_error("read", _("The record says something else now: read it once more."))

    def prepares(self) -> bool:
        return bool({"own", "review", "held_back", "read"} & set(self.changed_data))

    def said(self) -> dict[str, Any]:
        names = ("own", "review", "held_back")
        return {name: self.cleaned_data[name] for name in names if name in self.cleaned_data}

    def is_read(self) -> bool:
        """By who has ticked it, or wrote in it: her own letter is read."""
        wrote = self.reads and bool({"own", "review"} & set(self.changed_data))
        same = self.cleaned_data["seen"] == self.each.seen
        return bool(self.cleaned_data.get("read")) or (wrote and same)


def printed_today(each: Prepared) -> bool:
    return each.last is not None and each.last.day == each.facts.day
