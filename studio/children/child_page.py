"""The page of one child's facts: its forms, and what it says of leaving and coming back."""

import datetime
from collections.abc import Mapping
from typing import Any

from studio import access
from studio.children.forms import (
    ClassDayForm,
    ClassesDayForm,
    Contacts,
    DayForm,
    FactsForm,
    FamilyForm,
)
from studio.children.page import contacts_of, facts_of
from studio.models import Child, Staff
from studio.people.class_lists import classes_of
from studio.people.consent_words import answer_word
from studio.people.consents import answer_on, consents_of
from studio.people.family import family_on_staff
from studio.people.today import local_today


def child_page(
    child: Child, staff: Staff, now: datetime.datetime, refused: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """What the template names; a form that was refused takes the place of a new one."""
    classes = classes_of([child])[child.pk]
    today = local_today([child], now)[child.pk]
    mine, day = access.visible_classes(staff), {"day": today}
    own = [group.pk for group in classes]
    before = {**day, "groups": [group.uuid for group in classes]}
    forms = {
        "facts": FactsForm(today, initial=facts_of(child)),
        "contacts": Contacts(initial=contacts_of(child), prefix="contact"),
        "join": ClassDayForm(mine.exclude(pk__in=own), None, initial=day, prefix="join"),
        "out": ClassDayForm(mine.filter(pk__in=own), today, initial=day, prefix="out"),
        "gone": DayForm(None, initial=day, prefix="gone"),
        "back": ClassesDayForm(mine, None, initial=before, prefix="back"),
        "family": FamilyForm(access.visible_colleagues(staff), prefix="family"),
    }
    return {
        "child": child,
        "classes": classes,
        "left_already": child.left_on is not None and child.left_on <= today,
        "hands": answer_word(answer_on(consents_of([child])[child.pk], today)),
        "on_staff": family_on_staff(child),
        "may_end": access.family_they_may_end(staff, child),
        **forms,
        **(refused or {}),
    }
