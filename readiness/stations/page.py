"""What the pages of stations show."""

import datetime
from typing import Any

from django.db.models import QuerySet

from readiness.record.ladders import Ladders
from readiness.stations.evening.equipment import said_of
from readiness.stations.forms import EquipmentForm
from readiness.stations.wall.forms import WallForm
from readiness.stations.wall.wanted import wanted_in
from studio import access
from studio.models import Location, Staff
from studio.people.today import site_today


def equipment_form(staff: Staff, now: datetime.datetime, data: Any) -> EquipmentForm:
    halls = access.visible_locations(staff)
    return EquipmentForm(halls, Ladders().named_on(site_today(now)), {}, data)


def equipment_forms(
    staff: Staff, now: datetime.datetime, posted: EquipmentForm | None = None
) -> list[tuple[Location, EquipmentForm]]:
    """Each hall with its form; ``posted``: one that was refused, in the place of its hall's."""
    visible, ladder = access.visible_locations(staff), Ladders().named_on(site_today(now))
    halls = list(visible.order_by("name", "pk"))
    said = said_of(halls)
    refused = str(posted["hall"].value()) if posted else ""
    return [
        (
            hall,
            posted
            if posted and refused == str(hall.pk)
            else EquipmentForm(
                visible,
                ladder,
                said[hall.pk],
                initial={"hall": hall.pk},
                auto_id=f"equipment-{hall.pk}-%s",
            ),
        )
        for hall in halls
    ]


def equipment_context(
    staff: Staff, now: datetime.datetime, posted: EquipmentForm | None = None
) -> dict[str, Any]:
    """rows: a hall, the form of what it has, whether it wants its stations on a screen, and the
    form that says the opposite."""
    rows = equipment_forms(staff, now, posted)
    halls = access.visible_locations(staff)
    wanted = wanted_in(hall for hall, _form in rows)
    return {"rows": [(hall, form, *_wall(halls, hall, hall.pk in wanted)) for hall, form in rows]}


def _wall(halls: QuerySet[Location], hall: Location, wanted: bool) -> tuple[bool, WallForm]:
    opposite = {"hall": hall.pk, "wanted": "no" if wanted else "yes"}
    return wanted, WallForm(halls, initial=opposite, auto_id=f"wall-{hall.pk}-%s")
