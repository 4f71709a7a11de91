"""The fixed cast of the tests, and short ways to make people, classes and turns.

Petra and Luis direct the hall, Omar coaches the blue class there, Ines coaches the red class,
Tam assists in the blue class, Dora directs the other hall. Mai and Ilse are in the blue class,
Rosa in the red one. The fixtures ``cast`` and ``log`` (tests/conftest.py) make them.
"""

import datetime
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from progression.models import Attempt, LadderVersion
from studio.models import Child, ClassGroup, Location, Meeting, SpottingConsent, Staff, Studio
from studio.people.names import fold_name

LADDER_FILE = Path(__file__).resolve().parents[2] / "fixtures" / "ladder.toml"
# A Wednesday, 18:00 in the hall.
NOW = datetime.datetime(2026, 3, 4, 17, 0, tzinfo=datetime.UTC)
TODAY = datetime.date(2026, 3, 4)
# Before anything else.
EARLY = datetime.date(2020, 1, 1)
# Of the shipped ladder: a drill, and its easier half, which was a part of it before.
WHOLE, HALF = "wall-handstand", "wall-handstand-half"


@dataclass
class Cast:
    """Everybody and every place; ``meeting`` is the blue class's meeting on TODAY."""

    hall: Location
    other_hall: Location
    blue: ClassGroup
    red: ClassGroup
    far: ClassGroup
    petra: Staff
    luis: Staff
    omar: Staff
    ines: Staff
    tam: Staff
    dora: Staff
    mai: Child
    ilse: Child
    rosa: Child
    meeting: Meeting


def make_staff(name: str, role: str, *halls: Location) -> Staff:
    staff = Staff.objects.create_user(
        name.lower(), password="a long enough word", role=role, first_name=name
    )
    staff.locations.add(*halls)
    return staff


def make_child(
    name: str, *groups: ClassGroup, born: tuple[int, int] = (2016, 4), hands: bool = True
) -> Child:
    """``hands``: a guardian has said yes to hands-on spotting, long ago and for long."""
    child = Child.objects.create(
        name=name,
        name_key=fold_name(name),
        name_used=name.split()[0],
        birth_year=born[0],
        birth_month=born[1],
    )
    if hands:
        give_consent(child)
    child.classes.add(*groups)
    return child


def give_consent(
    child: Child, yes: bool = True, day: datetime.date = EARLY, guardian: str = ""
) -> SpottingConsent:
    """An answer that is not asked again within these tests."""
    return SpottingConsent.objects.create(
        child=child,
        guardian=guardian,
        yes=yes,
        day=day,
        asked_again_on=datetime.date(2100, 9, 1),
        seen_by="Petra",
        seen_on=day,
        at=datetime.datetime.combine(day, datetime.time(9), datetime.UTC),
    )


def make_class(name: str, hall: Location, *staff: Staff) -> ClassGroup:
    group = ClassGroup.objects.create(
        name=name, location=hall, weekday=2, starts_at=datetime.time(17, 30)
    )
    group.staff.add(*staff)
    return group


_found_right: set[str] = set()


def load_shipped(content: Mapping[str, Any]) -> LadderVersion:
    """The shipped ladder, from what is in its file. The check of it, which climbs it twice and
    takes longer than most tests, is made once in each process."""
    from progression.ladder.file import digest
    from readiness.record import ladder_loading

    early = datetime.datetime.combine(EARLY, datetime.time(), datetime.UTC)
    mark = digest(dict(content))
    check = (lambda content: None) if mark in _found_right else ladder_loading.check
    with patch.object(ladder_loading, "check", check):
        version = ladder_loading.load(content, now=early, from_day=EARLY)
    _found_right.add(mark)
    return version


def whole_handstand_alone(content: dict[str, Any]) -> None:
    """The ladder as it was before the half-way handstand was a drill of its own."""
    content["drill"] = [drill for drill in content["drill"] if drill["key"] != HALF]
    for fault in content["fault"]:
        fault["belongs"] = [key for key in fault["belongs"] if key != HALF]
        mends = [
            {"drill": "front-support"} if mend["drill"] == HALF else mend for mend in fault["mend"]
        ]
        fault["mend"] = list({mend["drill"]: mend for mend in mends}.values())
    for gate in [gate for stage in content["stage"] for gate in stage.get("gate", [])]:
        gate.pop("or_drill", None)


def make_cast() -> Cast:
    """Everybody and every place; the ladder is loaded before."""
    # No page speaks of backups, but where a test asks for it.
    far = datetime.datetime(2100, 1, 1, tzinfo=datetime.UTC)
    Studio.objects.create(name="Lantern Yard", backed_up_at=far)
    hall = Location.objects.create(
        name="Mill hall",
        address="4 Weir Lane",
        zone="Europe/Berlin",
        emergency_number="112",
        confirmed_on=TODAY,
    )
    other = Location.objects.create(name="Quay hall", zone="Europe/Berlin")
    petra, luis = make_staff("Petra", "director", hall), make_staff("Luis", "director", hall)
    omar, ines = make_staff("Omar", "coach", hall), make_staff("Ines", "coach", hall)
    tam, dora = make_staff("Tam", "assistant", hall), make_staff("Dora", "director", other)
    blue, red = make_class("Blue", hall, omar, tam), make_class("Red", hall, ines)
    meeting = Meeting.objects.create(group=blue, date=TODAY, starts_at=blue.starts_at)
    meeting.staff.add(omar, tam)
    return Cast(
        hall, other, blue, red, make_class("Far", other), petra, luis, omar, ines, tam, dora,
        make_child("Mai Tran", blue),
        make_child("Ilse Brand", blue, born=(2015, 9)),
        make_child("Rosa Vidal", red),
        meeting,
    )  # fmt: skip


@dataclass
class Logged:
    """A short way to log turns through the real door; see the ``log`` fixture."""

    cast: Cast
    count: int = 0

    def __call__(
        self,
        child: Child,
        drill: str,
        outcomes: str | list[float],
        *,
        day: datetime.date = TODAY,
        support: int = 3,
        surface: str = "sprung-dance-floor",
        by: Staff | None = None,
        faults: tuple[str, ...] = (),
    ) -> list[Attempt]:
        """``outcomes``: "110" is clean, clean, not clean; or a list of values.

        ``faults`` go with the turns that were not clean.
        """
        from readiness.record.intake import take_lines

        by = by or self.cast.omar
        group = child.classes.order_by("pk").first()
        assert group is not None
        meeting, _ = Meeting.objects.get_or_create(group=group, date=day, starts_at=group.starts_at)
        now = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
        lines = []
        for outcome in outcomes:
            self.count += 1
            at = now + datetime.timedelta(seconds=self.count)
            line = {
                "kind": "turn",
                "id": str(time_ordered_id(at, self.count)),
                "at": at.isoformat(),
                "child": str(child.uuid),
                "drill": drill,
                "surface": surface,
                "support": support,
            }
            if isinstance(outcome, str):
                line["clean"] = outcome == "1"
                if outcome == "0" and faults:
                    line["faults"] = list(faults)
            else:
                line["value"] = outcome
            lines.append(line)
        sent = now + datetime.timedelta(hours=1)
        answers = take_lines(meeting, by, "test tablet", sent, lines, 1, sent)
        assert [answer.answer for answer in answers] == ["kept"] * len(lines), answers
        return list(Attempt.objects.filter(pk__in=[line["id"] for line in lines]).order_by("pk"))


def time_ordered_id(at: datetime.datetime, count: int = 0) -> uuid.UUID:
    """A UUID of version 7 (RFC 9562, 5.7) from a time and a counter."""
    milliseconds = int(at.timestamp() * 1000)
    low = uuid.uuid4().int & ((1 << 62) - 1)
    return uuid.UUID(int=milliseconds << 80 | 7 << 76 | (count & 0xFFF) << 64 | 2 << 62 | low)
