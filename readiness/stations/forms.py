"""The forms of the stations."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.db.models import QuerySet

from readiness.child.decision_forms import RunOnceForm
from readiness.models import HallEquipment
from readiness.record.ladders import NamedLadder
from readiness.stations.evening.equipment import things
from readiness.stations.words import counted_text
from studio.models import Location

MOST = 200


class CountField(forms.IntegerField):
    """May be left empty and is no option: see the page."""

    missed = True


class EquipmentForm(RunOnceForm):
    """How many of each thing a hall has; left empty where nobody has counted."""

    name = "equipment"
    hall = forms.ModelChoiceField(Location.objects.none(), widget=forms.HiddenInput)

    def __init__(
        self,
        halls: QuerySet[Location],
        ladder: NamedLadder,
        said: Mapping[str, HallEquipment],
        *args: Any,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hall"].queryset = halls  # type: ignore[attr-defined]
        for thing, name in things(ladder).items():
            self.fields[thing] = CountField(
                label=name,
                min_value=0,
                max_value=MOST,
                required=False,
                initial=said[thing].count if thing in said else None,
                help_text=counted_text(said[thing]) if thing in said else "",
            )

    def counts(self) -> dict[str, int]:
        said = self.cleaned_data
        things = said.keys() - {"token", "hall"}
        return {thing: said[thing] for thing in things if said[thing] is not None}


class TakeForm(RunOnceForm):
    """The plan as it was shown, signed."""

    name = "stations-take"
    draft = forms.CharField(widget=forms.HiddenInput, max_length=60000)
