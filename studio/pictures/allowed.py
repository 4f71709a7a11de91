"""Where pictures from the side may be taken, and of whom.

Off in every hall until a director turns them on there. Of a child only with the family's yes of
this season; no answer is no yes.
Shared: used by the halls, the floor's pack and the door for turns.
"""

import datetime
from collections.abc import Iterable

from django.db.models import Model

from studio.models import Child, HallPictures, Location, PictureConsent, Staff
from studio.people.consents import YES, answer_on, answers_of


def halls_with_pictures(halls: Iterable[Location]) -> set[int]:
    """Those in which they are on, by key, in one query."""
    said = HallPictures.objects.filter(hall__in=list(halls)).order_by("at", "pk")
    latest = dict(said.values_list("hall", "is_on"))
    return {hall for hall, on in latest.items() if on}


def turn(hall: Location, on: bool, by: Staff, now: datetime.datetime) -> Model:
    return HallPictures.objects.create(hall=hall, is_on=on, by=by, at=now)


def may_be_pictured(children: Iterable[Child], day: datetime.date) -> set[int]:
    """Whose families have said yes, by key, in two queries however many children there are."""
    children = list(children)
    answers = answers_of(PictureConsent, children)
    return {child.pk for child in children if answer_on(answers.get(child.pk, ()), day) == YES}
