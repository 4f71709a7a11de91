"""What the rooms are made of: the demo's rows, its pupils, and what was simulated."""

import datetime
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.demo.calendar import Evening
from readiness.demo.history import Rows
from readiness.demo.names import GROUPS
from readiness.demo.pupils import Pupil
from readiness.demo.simulation import PupilRecord
from studio.models import Child, ClassGroup, Staff


@dataclass(frozen=True)
class Scene:
    """today: the first local day of the halls."""

    rows: Rows
    pupils: Sequence[Pupil]
    records: Mapping[uuid.UUID, PupilRecord]
    now: datetime.datetime
    today: datetime.date

    def staff(self, username: str) -> Staff:
        return self.rows.people.staff[username]

    def group(self, code: str) -> ClassGroup:
        return self.rows.people.groups[[group.code for group in GROUPS].index(code)]

    def child(self, pupil: Pupil) -> Child:
        return self.rows.children[pupil.id]

    def with_story(self, story: str) -> list[Pupil]:
        return [pupil for pupil in self.pupils if pupil.plan.story == story]

    def last_evening(self, pupil: Pupil) -> Evening:
        """The last class of the child before today."""
        return [evening for evening in pupil.evenings if evening.day < self.today][-1]

    def days_ago(self, days: int) -> datetime.datetime:
        """In the morning so many days before today."""
        day = self.today - datetime.timedelta(days=days)
        return datetime.datetime.combine(day, datetime.time(9), datetime.UTC)
