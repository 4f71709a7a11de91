"""Where a child stands at the start of a day."""

import datetime
from dataclasses import dataclass, field, replace
from typing import Literal

from readiness.engine.head_steps import HeadWay
from readiness.engine.levels import Support

ONE_DAY = datetime.timedelta(days=1)

# Of a guardian, about a coach's hands; empty: of days on which it was not asked for yet.
Consent = Literal["", "yes", "no", "not-asked"]
CauseCode = Literal[
    "stop-sign", "away", "lately", "evidence-changed", "placed", "consent-again", "head-knock"
]


@dataclass(frozen=True)
class Cause:
    """Why more support is asked for.

    day: when it happened. stages: the open stages it sends to re-check (none for a placing,
    a yes after a no, or a head knock, which only start hands-on). asks: the least support that it
    asks for.
    """

    code: CauseCode
    day: datetime.date
    stages: tuple[str, ...]
    asks: Support


@dataclass(frozen=True)
class WayBack:
    """The support asked for, step by step less, until what the stages allow is reached.

    after: turns on later days count towards the next step. director: the last step to
    unspotted is a director's, not a coach's.
    """

    level: Support
    after: datetime.date
    causes: tuple[Cause, ...]
    director: bool = False

    def with_cause(self, cause: Cause, after: datetime.date, director: bool) -> "WayBack":
        """Several causes: the most support of all."""
        return replace(
            self,
            level=max(self.level, cause.asks),
            after=after,
            causes=(*self.causes, cause),
            director=self.director or director,
        )


@dataclass(frozen=True)
class Opening:
    """An open stage: since when, by what, and the hardest surface it was signed for."""

    since: datetime.date
    how: Literal["start", "evidence", "signature", "placing"]
    surface: str | None = None


@dataclass(frozen=True)
class Doubt:
    """The latest class day, if on it a fault that carries was seen, and at which skills."""

    day: datetime.date
    skills: frozenset[str]


@dataclass
class DrillState:
    """One drill of a child: since when it is open, the steps given, the way back; the latest days
    on which it fell, for as long as a rule counts them."""

    open_since: datetime.date | None = None
    steps: set[str] = field(default_factory=set)
    way_back: WayBack | None = None
    # The first day that counts for "lately", by what is watched.
    watched_from: dict[str, datetime.date] = field(default_factory=dict)
    falls: tuple[datetime.date, ...] = ()


@dataclass
class ChildState:
    """The state at the start of ``day``: the replay of everything before it."""

    day: datetime.date
    opened: dict[str, Opening] = field(default_factory=dict)
    drills: dict[str, DrillState] = field(default_factory=dict)
    exceptions: set[str] = field(default_factory=set)
    sent_back: dict[str, datetime.date] = field(default_factory=dict)
    paused_since: datetime.date | None = None
    pains: list[tuple[datetime.date, str]] = field(default_factory=list)
    doubt: Doubt | None = None
    # Clean turns so far, by drill and surface.
    clean_on: dict[str, dict[str, int]] = field(default_factory=dict)
    # Places that hurt on an earlier day and of which nobody has said yet that it is gone.
    sore: dict[str, datetime.date] = field(default_factory=dict)
    # Told to grow fast, on that day.
    growing_since: datetime.date | None = None
    consent: Consent = ""
    # The child's own word, for this day alone.
    no_hands: bool = False
    # The way back after the newest head knock; over once its last step is given.
    head: HeadWay | None = None

    @property
    def head_step(self) -> int | None:
        """0 to 5 on the way back after a head knock; None where none is under way."""
        return None if self.head is None or self.head.is_over else self.head.step

    @property
    def is_held(self) -> bool:
        """Paused, or on the way back after a head knock: nothing is decided meanwhile."""
        return self.paused_since is not None or self.head_step is not None

    def way_back(self, drill: str) -> WayBack | None:
        state = self.drills.get(drill)
        return state.way_back if state else None

    def rechecks(self, stage: str) -> list[Cause]:
        """The causes for which an open stage is on re-check; empty if it is not."""
        if stage not in self.opened:
            return []
        backs = [state.way_back for state in self.drills.values() if state.way_back]
        return [cause for back in backs for cause in back.causes if stage in cause.stages]

    def open_for_entry(self, stage: str) -> bool:
        """Open, and not on re-check."""
        return stage in self.opened and not self.rechecks(stage)
