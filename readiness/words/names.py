"""The names and dates in sentences: the child, days, and what is on the ladder. Shared: used by
every room that staff read."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from readiness.record.ladders import NamedLadder
from readiness.words.numbers import join_words

Data = Mapping[str, Any]


@dataclass(frozen=True)
class Names:
    """The names that sentences about one child use, under one ladder, read on one day."""

    child: str
    ladder: NamedLadder
    day: datetime.date

    def date(self, day: datetime.date | str) -> str:
        """A day and a month; the year only if it is another one."""
        if isinstance(day, str):
            day = datetime.date.fromisoformat(day)
        return date_format(day, "j M" if day.year == self.day.year else "j M Y")

    def drill(self, key: str) -> str:
        drill = self.ladder.drills.get(key)
        return drill["name"] if drill else key

    def surface(self, key: str) -> str:
        return self.ladder.surface_names.get(key, key)

    def place(self, key: str) -> str:
        """Where something hurts."""
        return self.ladder.pain_names.get(key, key)

    def surfaces(self, keys: Sequence[str]) -> str:
        """Surfaces that lie side by side in the ladder's order, easiest first."""
        every = list(self.ladder.surface_names)
        if len(keys) > 1 and keys[0] == every[0]:
            return _("%(surface)s and easier") % {"surface": self.surface(keys[-1])}
        if len(keys) > 1 and keys[-1] == every[-1]:
            return _("%(surface)s and harder") % {"surface": self.surface(keys[0])}
        return join_words([self.surface(key) for key in keys])

    def stage(self, code: str) -> str:
        return self.ladder.stage_names.get(code, code)
