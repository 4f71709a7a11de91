"""What people add to the record: signatures, placings, pauses, pain, consent."""

import datetime
from dataclasses import dataclass
from typing import Literal

EventKind = Literal[
    "sign",
    "send-back",
    "exception",
    "step",
    "place",
    "pause",
    "lift",
    "pain",
    "pain-gone",
    "growing",
    "growing-over",
    "consent-yes",
    "consent-no",
    "no-hands",
    "head-knock",
    "head-symptom",
    "head-clearance",
    "head-step",
]


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that was decided or reported, on a local day.

    stage: the stage's code, for sign, send-back, exception and place. drill, support: the
    skill and the support given, for step. surface: the one signed for or placed on. place:
    where it hurts, or hurt and does no longer. director: the person had a director's rights. asked:
    somebody has answered; False of a consent-no where nobody has, or where the season of the
    answer is over. on: the day that it is of, where that is not the day on which it was told; of a
    head-step, of the family's word. step: of the way back after a head knock.
    """

    kind: EventKind
    day: datetime.date
    at: datetime.datetime
    id: str
    stage: str = ""
    drill: str = ""
    surface: str = ""
    support: int = 3
    place: str = ""
    director: bool = False
    asked: bool = True
    on: datetime.date | None = None
    step: int = 0

    @property
    def of_day(self) -> datetime.date:
        return self.on or self.day


def in_order(events: list[Event]) -> list[Event]:
    """By day, time and id, so that the order of arrival is nothing."""
    return sorted(events, key=lambda event: (event.day, event.at, event.id))
