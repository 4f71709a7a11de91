"""The sentences about spotters."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from readiness.record.ladders import NamedLadder
from readiness.spotters.trained import Spotters
from readiness.words.numbers import join_words


def lapsed(
    people: Mapping[int, str],
    drills: Iterable[str],
    spotters: Spotters,
    ladder: NamedLadder,
    day: datetime.date,
) -> list[str]:
    """Who was trained for some of these drills and may not spot them any more, a sentence for each
    reason; people: their names, by key."""
    kept = list(drills)
    return [
        sentence
        for staff, name in people.items()
        for sentence in _of_one(staff, name, kept, spotters, ladder, day)
    ]


def _of_one(
    staff: int,
    name: str,
    drills: Iterable[str],
    spotters: Spotters,
    ladder: NamedLadder,
    day: datetime.date,
) -> Iterable[str]:
    ended: dict[datetime.date, list[str]] = defaultdict(list)
    too_young = []
    for drill in drills:
        why = spotters.why_not(staff, drill, day)
        if why == "expired":
            until = spotters.trainings[staff, drill].until
            ended[until].append(ladder.drills[drill]["name"])
        elif why == "too-young":
            too_young.append(ladder.drills[drill]["name"])
    for until, names in ended.items():
        form = _("%(name)s may not spot %(drill)s: the training was good until %(until)s.")
        values = {"name": name, "drill": join_words(names), "until": date_format(until, "j M Y")}
        yield form % values
    if too_young:
        form = _("%(name)s may not spot %(drill)s: too young by the studio’s rule.")
        yield form % {"name": name, "drill": join_words(too_young)}
