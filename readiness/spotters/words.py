"""The sentences about spotters."""

import datetime
from collections.abc import Iterable, Mapping

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from readiness.record.ladders import NamedLadder
from readiness.spotters.trained import Spotters


def lapsed(
    people: Mapping[int, str],
    drills: Iterable[str],
    spotters: Spotters,
    ladder: NamedLadder,
    day: datetime.date,
) -> list[str]:
    """Who was trained for one of these drills and may not spot it any more; people: their names,
    by key."""
    found = []
    for staff, name in people.items():
        for drill in drills:
            why, values = spotters.why_not(staff, drill, day), {"name": name}
            values["drill"] = ladder.drills[drill]["name"]
            if why == "expired":
                until = spotters.trainings[staff, drill].until
                form = _("%(name)s may not spot %(drill)s: the training was good until %(until)s.")
                found.append(form % (values | {"until": date_format(until, "j M Y")}))
            elif why == "too-young":
                form = _("%(name)s may not spot %(drill)s: too young by the studio’s rule.")
                found.append(form % values)
    return found
