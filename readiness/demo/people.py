"""The invented studio's rows: halls, staff, classes, meetings, children."""

import datetime
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random

from django.contrib.auth.hashers import make_password

from readiness.demo.calendar import MINUTES, Evening, local_day, starting_time
from readiness.demo.ids import uuid4
from readiness.demo.names import CHILDREN, GROUPS, HALLS, PASSWORD, STAFF, STUDIO, Group
from readiness.demo.pupils import Pupil
from studio.models import Child, ClassGroup, Location, Meeting, SpottingConsent, Staff, Studio
from studio.people.consents import asked_again_on
from studio.people.names import fold_name

# By their places in names.CHILDREN: families who have said no to a coach's hands, or not answered.
SAID_NO = {11, 40}
NOT_ASKED = {33}


@dataclass(frozen=True)
class People:
    """Staff by username; classes in the order of names.GROUPS."""

    staff: Mapping[str, Staff]
    groups: Sequence[ClassGroup]


def make_people(now: datetime.datetime, rng: Random) -> People:
    """The studio, its halls, staff and classes."""
    Studio.objects.create(name=STUDIO, log=uuid4(rng))
    halls = [
        Location.objects.create(
            name=hall.name,
            address=hall.address,
            zone=hall.zone,
            emergency_number="112",
            # Of the numbers that are given to nobody.
            phone="555 0142",
            questions=hall.questions,
            confirmed_on=now.date(),
        )
        for hall in HALLS
    ]
    # One hash for all: the password is printed on the screen anyway.
    password = make_password(PASSWORD)
    staff = {}
    for person in STAFF:
        row = Staff.objects.create(
            uuid=uuid4(rng),
            username=person.username,
            first_name=person.given,
            last_name=person.family,
            role=person.role,
            password=password,
            date_joined=now,
        )
        row.locations.set([halls[index] for index in person.halls])
        staff[person.username] = row
    return People(staff, [_make_group(group, halls, staff, now, rng) for group in GROUPS])


def _make_group(
    group: Group,
    halls: Sequence[Location],
    staff: Mapping[str, Staff],
    now: datetime.datetime,
    rng: Random,
) -> ClassGroup:
    day = local_day(group.hall, now) + datetime.timedelta(days=group.after_today)
    row = ClassGroup.objects.create(
        uuid=uuid4(rng),
        name=group.name,
        location=halls[group.hall],
        weekday=day.weekday(),
        starts_at=starting_time(group, now),
        minutes=MINUTES,
    )
    row.staff.set([staff[name] for name in (group.lead, group.second, group.assistant)])
    return row


def make_children(
    pupils: Sequence[Pupil], people: People, today: datetime.date, rng: Random
) -> dict[uuid.UUID, Child]:
    """The children, in their classes."""
    children = {}
    codes = [group.code for group in GROUPS]
    for pupil in pupils:
        name, used, guardian = CHILDREN[pupil.index]
        month = rng.randint(1, 12)
        child = Child.objects.create(
            uuid=pupil.id,
            name=name,
            name_key=fold_name(name),
            name_used=used,
            birth_year=today.year - pupil.plan.age - (month > today.month),
            birth_month=month,
            guardian=guardian,
        )
        child.classes.set([people.groups[codes.index(code)] for code in pupil.plan.classes])
        children[pupil.id] = child
        _answer(child, pupil.index, people, today)
    return children


def _answer(child: Child, index: int, people: People, today: datetime.date) -> None:
    """The family's answers to hands-on spotting: the studio keeps them since last week."""
    since, yesterday = today - datetime.timedelta(days=7), today - datetime.timedelta(days=1)
    child.consent_asked_from = yesterday if index in NOT_ASKED else since
    child.save(update_fields=["consent_asked_from"])
    given = [] if index in NOT_ASKED else [(since, True)]
    if index in SAID_NO:
        given.append((yesterday, False))
    director = people.staff[STAFF[0].username]
    for day, yes in given:
        SpottingConsent.objects.create(
            child=child,
            guardian=child.guardian,
            yes=yes,
            day=day,
            asked_again_on=asked_again_on(day),
            seen_by=director.called,
            seen_on=day,
            by=director,
            at=datetime.datetime.combine(day, datetime.time(9), datetime.UTC),
        )


def make_meetings(evenings: Sequence[Evening], people: People) -> dict[uuid.UUID, Meeting]:
    """A meeting for each of these evenings."""
    rows = [
        Meeting(
            uuid=evening.id,
            group=people.groups[evening.group],
            date=evening.day,
            starts_at=people.groups[evening.group].starts_at,
        )
        for evening in evenings
    ]
    Meeting.objects.bulk_create(rows)
    return {row.uuid: row for row in rows}
