"""What the page of spotters shows: by drill, who may spot it and until when, and who no longer."""

import datetime
from typing import Any

from readiness.engine.evening.spotters import YOUNGEST
from readiness.record.ladders import NamedLadder
from readiness.spotters import forms
from readiness.spotters.trained import (
    Spotters,
    held_drills,
    most_to_an_adult,
    spotters_of,
)
from readiness.spotters.words import lapsed
from studio.access import visible_colleagues
from studio.models import Staff


def spotters_page(
    by: Staff, ladder: NamedLadder, today: datetime.date, refused: object = None
) -> dict[str, Any]:
    """``refused``: a form that takes the place of a new one of its kind."""
    people = visible_colleagues(by).filter(is_active=True, left_on=None, guest_on=None)
    staff = list(people.order_by("first_name", "username", "pk"))
    found, drills = spotters_of([each.pk for each in staff]), held_drills(ladder)
    fresh = {
        "training_form": forms.TrainingForm(by, ladder),
        "youngest_form": forms.YoungestForm(ladder, initial={"years": YOUNGEST}),
        "numbers_form": forms.NumbersForm(initial=most_to_an_adult()),
    }
    return {
        "rows": [_row(drill, staff, found, ladder, today) for drill in drills],
        "lapsed": lapsed({each.pk: each.called for each in staff}, drills, found, ladder, today),
        **{
            name: refused if isinstance(refused, type(form)) else form
            for name, form in fresh.items()
        },
    }


def _row(
    drill: str, staff: list[Staff], found: Spotters, ladder: NamedLadder, today: datetime.date
) -> dict[str, Any]:
    may = [each for each in staff if found.why_not(each.pk, drill, today) is None]
    return {
        "drill": ladder.drills[drill]["name"],
        "youngest": found.youngest.get(drill, YOUNGEST),
        "may": [(each, found.trainings[each.pk, drill]) for each in may],
    }
