"""Classes on which anything may happen, late too, drawn by a seed."""

import copy
import datetime
import random
from contextlib import suppress
from typing import Any

import pytest

from progression.models import LadderVersion, Surface
from readiness.models import Decision
from readiness.record import decisions, intake
from readiness.record.intake import take_lines
from readiness.record.ladder_loading import load
from readiness.record.snapshots import child_snapshot
from readiness.record.standings import read, refresh_standings
from studio.models import Child, Meeting
from tests.support.cast import Cast, make_child, time_ordered_id

FIRST = datetime.date(2024, 1, 10)
SURFACES = ["sprung-dance-floor", "sprung-dance-floor", "spring-floor"]
DRILLS = ["back-walkover", "back-walkover", "walkover-in-dance", "kick-over-block", "safe-fall",
          "hollow-hold", "bridge-line", "wall-shrugs", "handspring"]  # fmt: skip
FAULTS = ["half-hearted", "stalls-over-top", "hands-wide-out", "low-back-only"]
Line = dict[str, Any]


class Evenings:
    """Classes of two children who do the same at the same time; so does what happens late."""

    def __init__(self, cast: Cast, seed: int, content: Any) -> None:
        self.cast = cast
        self.content = content
        self.draw = random.Random(seed)
        self.twin = make_child("Mai Twin", cast.blue)
        self.day = FIRST
        self.count = 0
        self.logged: list[tuple[Line, datetime.date]] = []

    def now(self) -> datetime.datetime:
        self.count += 1
        hour = datetime.datetime.combine(self.day, datetime.time(17), datetime.UTC)
        return hour + datetime.timedelta(seconds=self.count % 7000)

    def turn(self, day: datetime.date) -> Line:
        at = datetime.datetime.combine(day, datetime.time(16), datetime.UTC)
        at += datetime.timedelta(seconds=self.draw.randrange(3000))
        drill = self.draw.choice(DRILLS)
        about = next(each for each in self.content["drill"] if each["key"] == drill)
        support = self.draw.choice([0, 1, 1, 2, 3]) if about["support_logged"] else 0
        line = {"kind": "turn", "at": at.isoformat(), "drill": drill, "support": support}
        line["surface"] = self.draw.choice(SURFACES)
        if about["measure"] != "clean":
            return line | {"value": self.draw.randint(0, int(min(about["most"], 40)))}
        clean = self.draw.random() < 0.9
        faults = [] if clean else self.draw.sample(FAULTS, self.draw.randint(0, 2))
        return line | {"clean": clean, "faults": faults}

    def send(self, lines: list[Line], day: datetime.date, child: Child) -> None:
        meeting, _ = Meeting.objects.get_or_create(
            group=self.cast.blue, date=day, starts_at=self.cast.blue.starts_at
        )
        now = datetime.datetime.combine(self.day, datetime.time(18), datetime.UTC)
        answers = take_lines(meeting, self.cast.omar, "tablet", now, lines, 1, now)
        assert {answer.answer for answer in answers} <= {"kept", "had"}, answers

    def both(self, lines: list[Line], day: datetime.date) -> None:
        """Mai's go as they are; the twin's with flags from the whole record."""
        for child in (self.cast.mai, self.twin):
            own = [line | self._named(line, child) for line in lines]
            if child == self.twin:
                with pytest.MonkeyPatch.context() as patched:
                    patched.setattr(intake, "load_day_context", lambda *_: {})
                    self.send(own, day, child)
            else:
                self.send(own, day, child)
            self.logged += [(line, day) for line in own if line["kind"] == "turn"]

    def _named(self, line: Line, child: Child) -> Line:
        self.count += 1
        at = datetime.datetime.fromisoformat(line["at"])
        return {"id": str(time_ordered_id(at, self.count)), "child": str(child.uuid)}

    def class_day(self) -> None:
        self.day += datetime.timedelta(days=self.draw.choice([2, 5, 7, 7, 7, 14, 30]))
        self.both([self.turn(self.day) for _ in range(self.draw.randint(1, 9))], self.day)
        for chance, happens in ((0.15, self.late), (0.15, self.strike), (0.12, self.decide),
                                (0.08, self.hurt), (0.02, self.other_ladder)):  # fmt: skip
            if self.draw.random() < chance:
                happens()

    def late(self) -> None:
        day = self.day - datetime.timedelta(days=self.draw.choice([1, 7, 20, 60]))
        if day >= FIRST:
            self.both([self.turn(day) for _ in range(3)], day)

    def strike(self) -> None:
        line, day = self.draw.choice(self.logged[-60:])
        at = self.now()
        self.send(
            [{"kind": "strike", "id": str(time_ordered_id(at, self.count)), "at": at.isoformat(),
              "turn": line["id"], "code": "other"}],
            day, self.cast.mai,
        )  # fmt: skip

    def hurt(self) -> None:
        at = self.now().isoformat()
        self.both([{"kind": "hurt", "at": at, "place": "wrist"}], self.day)

    def decide(self) -> None:
        child, now = self.cast.mai, self.now()
        reading = read(child, self.day)
        if reading.read.state.paused_since is not None:
            decisions.lift(child, self.cast.petra, child_snapshot(reading), now, "well")
        elif self.draw.random() < 0.3:
            decisions.pause(child, self.cast.omar, now, "fever")
        elif self.draw.random() < 0.5:
            stage, seen = self.draw.choice([3, 5, 6, 7]), child_snapshot(reading)
            with suppress(decisions.DecisionRefused):
                decisions.place(child, stage, self.cast.petra, seen, now, SURFACES[0], "seen")
        else:
            self.sign(child, self.draw.choice(["4", "8"]), now)

    def sign(self, child: Child, stage: str, now: datetime.datetime) -> None:
        """Whatever the record says, and read again as after every decision."""
        about: dict[str, Any] = {
            "child": child, "stage": stage, "at": now, "day": self.day, "reading": {},
            "surface": Surface.objects.get(key=SURFACES[0]), "digest": "",
            "ladder": LadderVersion.objects.first(),
        }  # fmt: skip
        kinds = Decision.Kind
        asked = Decision.objects.create(
            **about, kind=kinds.RECOMMEND, by=self.cast.omar, as_director=False
        )
        Decision.objects.create(
            **about, kind=kinds.SIGN, by=self.cast.petra, as_director=True, answers=asked
        )
        refresh_standings([child], self.day)

    def other_ladder(self) -> None:
        changed = copy.deepcopy(self.content)
        hold = next(g for g in changed["stage"][1]["gate"] if g["code"] == "2.hollow-hold")
        hold["at_least"] = self.draw.randint(5, 30)
        load(changed, now=self.now(), from_day=self.day, reason="tried")
