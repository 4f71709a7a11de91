"""What comes in about notes: the call of a tablet, and the studio's list."""

import json
import uuid
from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.notes.keeping import LONGEST, LONGEST_READY, MOST_READY, NewNote
from studio.models import Child

MOST_NOTES = 50


class UnreadableNotes(Exception):
    """The body is not a call of the agreed form."""


def read_notes(body: bytes, children: Mapping[str, Child]) -> tuple[list[NewNote], list[str]]:
    """The notes of a call, and the ids of those that are on nobody of this class."""
    try:
        raw = json.loads(body)["notes"]
        if not isinstance(raw, list) or len(raw) > MOST_NOTES:
            raise UnreadableNotes
        read = [_read_note(each) for each in raw]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise UnreadableNotes from error
    notes = [
        NewNote(id_, children[child], text, turn)
        for id_, child, text, turn in read
        if child in children
    ]
    return notes, [str(id_) for id_, child, _text, _turn in read if child not in children]


def _read_note(raw: Mapping[str, Any]) -> tuple[uuid.UUID, str, str, uuid.UUID | None]:
    text = " ".join("".join(c if c.isprintable() else " " for c in raw["text"]).split())
    if not text or len(text) > LONGEST:
        raise UnreadableNotes
    turn = raw.get("turn")
    return uuid.UUID(raw["id"]), str(raw["child"]), text, uuid.UUID(turn) if turn else None


class ReadyNotesForm(forms.Form):
    """The list, one note a line; empty lines are left out."""

    texts = forms.CharField(
        label=gettext_lazy("One note a line"),
        required=False,
        help_text=gettext_lazy("An empty list brings the first one back."),
        max_length=(LONGEST_READY + 2) * MOST_READY * 2,
        widget=forms.Textarea(attrs={"rows": 10}),
    )

    def clean_texts(self) -> list[str]:
        lines = [" ".join(line.split()) for line in self.cleaned_data["texts"].splitlines()]
        texts = list(dict.fromkeys(line for line in lines if line))
        if len(texts) > MOST_READY:
            sentence = _("These are %(n)s notes; at most %(most)s fit on the floor.")
            raise forms.ValidationError(sentence % {"n": len(texts), "most": MOST_READY})
        for text in texts:
            if len(text) > LONGEST_READY:
                sentence = _("“%(text)s” is longer than %(most)s letters.")
                raise forms.ValidationError(sentence % {"text": text, "most": LONGEST_READY})
        return texts
