"""A row of any table, filled by the kinds of its columns."""

import uuid
from typing import Any

from django.db import models

from progression.models import Attempt, Drill, LadderVersion, Surface
from readiness.models import (
    HeadKnock,
    IncidentAccount,
    PrintedLetter,
    Show,
    ShowNumber,
    StationPlace,
    StationPlan,
    Told,
    Twelve,
)
from tests.support.cast import NOW, TODAY, Cast


def value_for(field: models.Field, cast: Cast, text: str = "some") -> Any:
    """What goes into a column by its kind; whatever is of a child is of Mai. ``text``: of words."""
    others = {
        "Child": cast.mai,
        "Staff": cast.omar,
        "Meeting": cast.meeting,
        "ClassGroup": cast.blue,
        "Location": cast.hall,
    }
    if field.related_model is not None:
        name = field.related_model.__name__
        if name == "Attempt":
            # Its key is not checked: nothing leaves that table.
            return Attempt(pk=uuid.uuid4())
        if field.related_model in (HeadKnock, IncidentAccount, Told):
            model = field.related_model
            about = {f.name: value_for(f, cast, text) for f in model._meta.concrete_fields}
            return model._default_manager.create(**about)
        if field.model is PrintedLetter and field.related_model is PrintedLetter:
            return None
        if field.model is StationPlace and name == "Staff":
            return None
        if field.related_model in (Show, ShowNumber, PrintedLetter, StationPlan, Twelve):
            model = field.related_model
            about = {f.name: value_for(f, cast, text) for f in model._meta.concrete_fields}
            return model._default_manager.create(**{k: v for k, v in about.items() if k != "id"})
        if name in others:
            # Two graders are two.
            return cast.ines if field.name == "second" else others[name]
        found = {"Drill": Drill, "Surface": Surface, "LadderVersion": LadderVersion}.get(name)
        return found.objects.first() if found else None
    if field.choices:
        return field.choices[0][0]
    kinds: list[tuple[type[models.Field], Any]] = [
        (models.UUIDField, uuid.uuid4()),
        (models.DateTimeField, NOW),
        (models.DateField, TODAY),
        (models.TimeField, NOW.time()),
        (models.BooleanField, False),
        (models.JSONField, {}),
        (models.BinaryField, b"%PDF"),
        (models.FloatField, None if field.null else 0.5),
        (models.IntegerField, 3),
    ]
    return next((value for kind, value in kinds if isinstance(field, kind)), text)
