"""Who does a skill in the show: whether the turns in the phrase are enough for a yes, and what ends
one.

Six clean turns in the phrase on two days, the first of each day among them, on the show's own
floor, in its shoes and costume, at the end of a run-through; a yes that ends with a stop sign, a
pause, 28 days or the show: common practice, no source.

A yes is still the answer of a rule. On the day itself the child says it once more, and anybody may
take it back.
"""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import groupby
from typing import Literal

from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.replay.decisions import pain_pauses
from readiness.engine.replay.events import Event
from readiness.engine.replay.events import in_order as events_in_order
from readiness.engine.tallies import Turn, in_order

CLEAN_TURNS = 6
CLEAN_DAYS = 2
# Turns, and a yes, count for so many days: 28 counts, 29 does not.
GOOD_FOR = datetime.timedelta(days=28)
ONE_DAY = datetime.timedelta(days=1)

# From what is always there to what is given: the easy version, somebody beside, alone.
Version = Literal["easy", "beside", "yes"]
VERSIONS: tuple[Version, ...] = ("easy", "beside", "yes")
VoidCode = Literal["show", "stop-sign", "pause", "days"]


@dataclass(frozen=True)
class Phrase:
    """A skill in a number. ends: by day, when the first run-through of that day was over that was
    on the show's floor, in its shoes and costume."""

    drill: str
    surface: str
    ends: Mapping[datetime.date, datetime.datetime] = field(default_factory=dict)

    def has(self, turn: Turn) -> bool:
        """Done on that floor at the end of a run-through."""
        end = self.ends.get(turn.day)
        where = (turn.drill, turn.surface) == (self.drill, self.surface)
        return where and end is not None and turn.at >= end


@dataclass(frozen=True)
class Breaks:
    """The latest days of a stop sign, at whatever drill, and of a pause; None: there was none."""

    stop_sign: datetime.date | None = None
    pause: datetime.date | None = None

    @property
    def last(self) -> datetime.date:
        return max(self.stop_sign or datetime.date.min, self.pause or datetime.date.min)


@dataclass(frozen=True)
class PhraseRecord:
    """The clean turns that count, and their days, the newest first; missed_on: the day whose first
    turn was not one of them, so that nothing before it counts."""

    clean: int
    days: tuple[datetime.date, ...]
    missed_on: datetime.date | None

    @property
    def met(self) -> bool:
        return self.clean >= CLEAN_TURNS and len(self.days) >= CLEAN_DAYS


def phrase_record(
    turns: Iterable[Turn], phrase: Phrase, day: datetime.date, breaks: Breaks
) -> PhraseRecord:
    """What counts for a yes on ``day``: unstruck turns of the last 28 days, after the day of the
    newest stop sign or pause, and after a day that began with a turn that does not count."""
    first = max(day - GOOD_FOR, min(breaks.last, day) + ONE_DAY)
    counted = in_order(t for t in turns if first <= t.day <= day and phrase.has(t))
    by_day = [(on, list(group)) for on, group in groupby(counted, key=lambda turn: turn.day)]
    clean = 0
    days: list[datetime.date] = []
    for on, of_day in reversed(by_day):
        if not _counts(of_day[0]):
            return PhraseRecord(clean, tuple(days), on)
        clean += sum(map(_counts, of_day))
        days.append(on)
    return PhraseRecord(clean, tuple(days), None)


def _counts(turn: Turn) -> bool:
    """Clean with nobody's hands, as somebody saw it who may grade."""
    return turn.clean is True and turn.graded and turn.support <= Support.STANDING_BY


def why_void(
    signed_on: datetime.date, show_on: datetime.date, day: datetime.date, breaks: Breaks
) -> VoidCode | None:
    """Why a yes no longer holds on ``day``; None while it does. What happened on the very day of
    the signature counts: nobody knows which came first."""
    if day > show_on:
        return "show"
    if breaks.stop_sign is not None and breaks.stop_sign >= signed_on:
        return "stop-sign"
    if breaks.pause is not None and breaks.pause >= signed_on:
        return "pause"
    return "days" if day - signed_on > GOOD_FOR else None


def last_pause(events: Iterable[Event], ladder: Ladder) -> datetime.date | None:
    """The latest day on which a child was paused: by a word, by what hurt, by a head knock."""
    latest = None
    pains: list[tuple[datetime.date, str]] = []
    for event in events_in_order(list(events)):
        hurts = event.kind == "pain"
        pauses = hurts and pain_pauses(pains, event, ladder)
        if pauses or event.kind in ("pause", "head-knock"):
            latest = event.day
        if hurts:
            pains.append((event.day, event.place))
    return latest


def is_less(version: Version, than: Version) -> bool:
    return VERSIONS.index(version) < VERSIONS.index(than)
