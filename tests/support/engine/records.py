"""Short ways to write a record in tests."""

import copy
import datetime
import random
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TypeVar

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Ladder
from readiness.engine.reading import ChildReading, read_child
from readiness.engine.replay.events import Event
from readiness.engine.support import allowed_now
from readiness.engine.tallies import Turn, fault_counts, tally_turns

FILE = Path(__file__).resolve().parents[3] / "fixtures" / "ladder.toml"
CONTENT = tomllib.loads(FILE.read_text(encoding="utf-8"))
LADDER = Ladder.from_content(CONTENT)


def without_new_rules(content: dict[str, Any]) -> dict[str, Any]:
    """The same as a version from before there were these rules."""
    earlier = copy.deepcopy(content)
    for name in ("first_turn", "tap", "new_surface", "stop_sign", "head_knock"):
        earlier.pop(name, None)
    for name in ("re_checks", "re_checks_within"):
        earlier["way_back"].pop(name, None)
    for drill in earlier["drill"]:
        for name in ("goes", "hands_leave", "after_head"):
            drill.pop(name, None)
        for step in drill.get("allow", []):
            step.pop("clean_each", None)
            # What waited for nothing, or for the record alone.
            if drill["key"] != "back-walkover":
                step.pop("tap", None)
            if step["stage"] == 7 and step["support"] == "light-touch":
                step.pop("steady", None)
        if drill["key"].endswith("-in-dance"):
            drill["allow"].pop()
    for stage in earlier["stage"]:
        if stage["number"] in (4, 8):
            stage.pop("release")
    for fault in earlier["fault"]:
        for name in ("carries", "before_turn", "ends_backward", "asks_head"):
            fault.pop(name, None)
        if fault["key"] == "stopped-before":
            fault["stop"] = "second"
    return earlier


EARLIER = Ladder.from_content(without_new_rules(CONTENT))
FIRST = datetime.date(2026, 1, 5)
T = TypeVar("T")
MAT, HARD = "sprung-dance-floor", "hard-floor"


def day(number: int) -> datetime.date:
    return FIRST + datetime.timedelta(days=number)


def at_noon(number: int, second: int = 0) -> datetime.datetime:
    noon = datetime.datetime.combine(day(number), datetime.time(12), datetime.UTC)
    return noon + datetime.timedelta(seconds=second)


class Story:
    """One child's turns and events, written day by day."""

    def __init__(self, ladder: Ladder = LADDER) -> None:
        self.ladder = ladder
        self.turns: list[Turn] = []
        self.events: list[Event] = []

    def did(
        self,
        number: int,
        drill: str,
        outcomes: str | list[float],
        support: int = 3,
        surface: str = MAT,
        author: int = 1,
        graded: bool = True,
        faults: tuple[str, ...] = (),
        caught: bool = False,
        meeting: int = 1,
    ) -> "Story":
        """``outcomes``: "110" is clean, clean, not; a list holds values. Faults and caught go
        with the turns that were not clean."""
        for outcome in outcomes:
            count = len(self.turns)
            missed = outcome == "0"
            self.turns.append(
                Turn(
                    id=f"{count:06}",
                    drill=drill,
                    surface=surface,
                    support=support,
                    author=author,
                    day=day(number),
                    at=at_noon(number, count),
                    graded=graded,
                    clean=None if isinstance(outcome, float | int) else outcome == "1",
                    value=float(outcome) if isinstance(outcome, float | int) else None,
                    faults=faults if missed else (),
                    caught=caught and missed,
                    meeting=meeting,
                )
            )
        return self

    def happened(self, number: int, kind: str, **about: object) -> "Story":
        count = len(self.events)
        event = Event(kind, day(number), at_noon(number, 50_000 + count), f"e{count}", **about)
        self.events.append(event)
        return self

    def read(self, number: int) -> ChildReading:
        today = [turn for turn in self.turns if turn.day == day(number)]
        tallies = tally_turns(self.turns, self.ladder.stops)
        evidence = Evidence(tallies, faults=fault_counts(self.turns))
        return read_child(evidence, self.events, today, day(number), lambda _: self.ladder)

    def state(self, number: int, stage: str) -> str:
        return self.read(number).stage(stage).state

    def under(self, number: int, ladder: Ladder = LADDER) -> ChildReading:
        """The reading of a day from which on another ladder is in force."""
        tallies = tally_turns(self.turns, self.ladder.stops)
        evidence = Evidence(tallies, faults=fault_counts(self.turns))
        change = day(number)
        return read_child(
            evidence, self.events, [], change, lambda on: ladder if on >= change else self.ladder
        )

    def allowed(
        self, number: int, drill: str, surface: str = MAT, meeting: int | None = None
    ) -> str | None:
        reading = self.read(number)
        if meeting is None:
            support = reading.allowed(drill, surface).support
        else:
            today = [turn for turn in self.turns if turn.day == day(number)]
            about = self.ladder.drills[drill], reading.state, Evidence(), self.ladder, surface
            support = allowed_now(*about, today, meeting).support
        return None if support is None else support.code

    def causes(self, number: int, stage: str) -> list[str]:
        return [cause.code for cause in self.read(number).stage(stage).causes]


# Every gate of stages 2 and 5, met in two days and in time for a climb.
def with_stage(number: int, start: int = 0, ladder: Ladder = LADDER) -> Story:
    """A child whom a director placed at a stage on the day before ``start``."""
    return Story(ladder).happened(start - 1, "place", stage=str(number), surface=MAT)


def unspotted_walkover(start: int = 0, ladder: Ladder = LADDER) -> Story:
    """A child signed for stage 4 on day ``start`` + 30, on the mat, with a clean record."""
    story = with_stage(3, start, ladder)
    for week in range(5):
        number = start + 7 * week
        story.did(number, "back-walkover", "111", support=3 if week < 1 else 1)
        story.did(number, "back-walkover", "111", support=1, author=2)
        story.did(number, "bridge-line", [2, 2])
    return story.happened(start + 28, "sign", stage="4", surface=MAT, director=True)


def shuffled(items: Sequence[T], rng: random.Random) -> list[T]:
    mixed = list(items)
    rng.shuffle(mixed)
    return mixed
