"""Whatever comes in, in whatever order: tallies, standings and flags are those of a fold from
nothing, and a turn of today asks nothing of the years before."""

import copy
import datetime
import random
from contextlib import suppress
from typing import Any

import pytest

from progression.models import Attempt, LadderVersion, Surface
from readiness.engine.replay.checkpoint import as_data
from readiness.models import Decision, Standing
from readiness.record import decisions, intake, standings
from readiness.record.intake import take_lines
from readiness.record.ladder_loading import load
from readiness.record.ladders import Ladders
from readiness.record.rebuild import Difference, is_near, rebuild
from readiness.record.standings import current, kept_starts, read, readings, stand
from studio.models import Child, Meeting
from tests.conftest import Cast, make_child, time_ordered_id
from tests.readiness.ready import place_at

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
                    patched.setattr(intake, "begin_day", lambda *_: {})
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
            decisions.lift(child, self.cast.petra, decisions.seen_child(reading), now, "well")
        elif self.draw.random() < 0.3:
            decisions.pause(child, self.cast.omar, now, "fever")
        elif self.draw.random() < 0.5:
            stage, seen = self.draw.choice([3, 5, 6, 7]), decisions.seen_child(reading)
            with suppress(decisions.DecisionRefused):
                decisions.place(child, stage, self.cast.petra, seen, now, SURFACES[0], "seen")
        else:
            self.sign(child, self.draw.choice(["4", "8"]), now)

    def sign(self, child: Child, stage: str, now: datetime.datetime) -> None:
        """Whatever the record says, and read anew as after every decision."""
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
        stand([child], self.day)

    def other_ladder(self) -> None:
        changed = copy.deepcopy(self.content)
        hold = next(g for g in changed["stage"][1]["gate"] if g["code"] == "2.hollow-hold")
        hold["at_least"] = self.draw.randint(5, 30)
        load(changed, now=self.now(), from_day=self.day, reason="tried")


def differences() -> list[Difference]:
    return list(rebuild(Child.objects.order_by("pk"), check=True))


@pytest.mark.django_db
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_any_sequence_gives_what_a_fold_from_nothing_gives(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    evenings = Evenings(cast, seed, ladder_content)
    from_start = 0
    for number in range(70):
        evenings.class_day()
        if evenings.draw.random() < 0.4:
            children = [cast.mai, evenings.twin]
            kept = kept_starts(children, evenings.day, Ladders()).values()
            from_start += sum(each.start is not None for each in kept)
            current(children, evenings.now())
            for child, standing, reading in readings(children):
                whole = read(Child.objects.get(pk=child), standing.read_on)
                assert is_near(reading, whole.data), (seed, number)
        if number % 10 == 9:
            assert differences() == [], (seed, number)
    assert from_start > 20
    kept = kept_starts([cast.mai, evenings.twin], evenings.day, Ladders()).values()
    first = min(each.start.summary.first for each in kept if each.start is not None)
    assert first > FIRST + datetime.timedelta(days=60)
    # What is long past and only summed up is compared as well.
    assert differences() == []
    for standing in Standing.objects.exclude(start=None):
        assert standing.start is not None
        sums = next(s for *_, s in standing.start["summary"]["clean"] if s is not None)
        sums[0] += 1
        standing.save(update_fields=["start"])
        told = [each.what for each in differences() if each.child == standing.child_id]
        assert told == [f"start of {standing.start_on}"]


@pytest.mark.django_db
@pytest.mark.parametrize("seed", [5, 6])
def test_the_flags_of_a_turn_are_those_that_the_whole_record_gives(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    evenings = Evenings(cast, seed, ladder_content)
    evenings.decide = evenings.strike = lambda: None  # type: ignore[method-assign]
    for child in (cast.mai, evenings.twin):
        place_at(cast, child, 7, FIRST)
    for _ in range(40):
        evenings.class_day()
        # Reading turns by what is remembered of the start of their day leaves it as it was.
        for standing in Standing.objects.exclude(start=None):
            remembered = standings._start_of(standing.child_id, standing.start_id)
            assert remembered is not None
            assert as_data(remembered) == standing.start
        current([cast.mai], evenings.now())
    assert standings._start_of.cache_info().hits > 20
    found = {
        child: list(Attempt.objects.filter(child=child).order_by("done_at", "drill__key", "value",
                    "clean", "support").values_list("flags", flat=True))
        for child in (cast.mai, evenings.twin)
    }  # fmt: skip
    assert found[cast.mai] == found[evenings.twin]
    assert len({tuple(flags) for flags in found[cast.mai]}) > 2
