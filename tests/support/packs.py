"""Invented classes, and the pack of one before and after some turns."""

import datetime
import json
import random
from typing import Any
from unittest import mock

from progression.models import LadderVersion, Surface
from readiness.floor.pack import build_pack
from readiness.models import Decision, Placing
from readiness.record.intake import take_lines
from studio.models import Child, Meeting, Staff
from tests.support.cast import NOW, TODAY, Cast, give_consent, make_child, time_ordered_id

NAMES = ["Anouk", "Bente", "Cleo", "Dunja", "Esme", "Frida", "Greta", "Hedda"]
SURFACES = ["sprung-dance-floor", "sprung-dance-floor", "spring-floor", "hard-floor"]
DRILLS = [
    "back-walkover", "back-walkover", "handspring", "handspring", "walkover-in-dance",
    "kick-over-block", "barrel", "sit-fall", "safe-fall", "hollow-hold", "wall-shrugs",
    "bridge-line", "sit-depth",
]  # fmt: skip
FAULTS = ["half-hearted", "stalls-over-top", "hands-wide-out", "low-back-only"]
Line = dict[str, Any]


class Dice:
    """Throws that are the same each time."""

    def __init__(self, seed: int, ladder: dict[str, Any]) -> None:
        self.draw = random.Random(seed)
        self.drills = {drill["key"]: drill for drill in ladder["drill"]}
        self.count = 0
        self.rate = 0.97

    def turn(self, child: Child, at: datetime.datetime) -> Line:
        self.count += 1
        drill = self.drills[self.draw.choice(DRILLS)]
        held = drill["support_logged"]
        at += datetime.timedelta(seconds=self.count)
        line = {
            "kind": "turn",
            "id": str(time_ordered_id(at, self.count)),
            "at": at.isoformat(),
            "child": str(child.uuid),
            "drill": drill["key"],
            "surface": self.draw.choice(SURFACES),
            "support": self.draw.choice([0, 1, 1, 2, 3]) if held else 0,
        }
        if drill["measure"] != "clean":
            return line | {"value": self.draw.randint(0, int(min(drill["most"], 40)))}
        clean = self.draw.random() < self.rate
        faults = [] if clean else self.draw.sample(FAULTS, self.draw.randint(0, 2))
        caught = {"caught": True} if held and not clean and self.draw.random() < 0.2 else {}
        return line | {"clean": clean, "faults": faults} | caught

    def strike(self, turn: str, at: datetime.datetime) -> Line:
        self.count += 1
        at += datetime.timedelta(seconds=self.count)
        name = str(time_ordered_id(at, self.count))
        return {"kind": "strike", "id": name, "at": at.isoformat(), "turn": turn, "code": "other"}

    def report(self, kind: str, child: Child, at: datetime.datetime, **about: str) -> Line:
        self.count += 1
        name = str(time_ordered_id(at, self.count))
        about |= {"child": str(child.uuid)}
        return {"kind": kind, "id": name, "at": at.isoformat(), **about}


def place(cast: Cast, child: Child, stage: int) -> None:
    day = TODAY - datetime.timedelta(weeks=10)
    Placing.objects.create(
        child=child,
        stage=stage,
        surface=Surface.objects.get(key=SURFACES[0]),
        reason="seen on the first day",
        by=cast.petra,
        at=datetime.datetime.combine(day, datetime.time(17), datetime.UTC),
        day=day,
        ladder=LadderVersion.objects.get(),
    )


def sign(cast: Cast, child: Child, stage: str, surface: str) -> None:
    """Omar recommends and Petra signs, whatever the record says."""
    day = TODAY - datetime.timedelta(weeks=3)
    about: dict[str, Any] = {
        "child": child,
        "stage": stage,
        "surface": Surface.objects.get(key=surface),
        "at": datetime.datetime.combine(day, datetime.time(19), datetime.UTC),
        "day": day,
        "ladder": LadderVersion.objects.get(),
        "reading": {},
    }
    kinds = Decision.Kind
    asked = Decision.objects.create(**about, kind=kinds.RECOMMEND, by=cast.omar, as_director=False)
    Decision.objects.create(
        **about, kind=kinds.SIGN, by=cast.petra, as_director=True, answers=asked
    )


def take(cast: Cast, lines: list[Line], by: Staff, day: datetime.date) -> None:
    meeting, _ = Meeting.objects.get_or_create(
        group=cast.blue, date=day, starts_at=cast.blue.starts_at
    )
    sent = datetime.datetime.combine(day, datetime.time(18), datetime.UTC)
    answers = take_lines(meeting, by, "tablet", sent, lines, 1, sent)
    assert {answer.answer for answer in answers} <= {"kept"}, answers


def packs(cast: Cast, dice: Dice, reader: Staff) -> dict[str, Any]:
    children = [cast.mai, cast.ilse, *(make_child(f"{name} Test", cast.blue) for name in NAMES)]
    for at, child in enumerate(children):
        if at:
            place(cast, child, [2, 3, 3, 5, 6, 7, 7][at % 7])
        if at % 3 == 0 and at:
            sign(cast, child, dice.draw.choice(["4", "8"]), dice.draw.choice(SURFACES))
    for week in range(9, 0, -1):
        day = TODAY - datetime.timedelta(weeks=week)
        start = datetime.datetime.combine(day, datetime.time(16), datetime.UTC)
        if week == 2:
            hurts = zip((3, 5, 6, 7), ("wrist", "knee", "back", "dizzy"), strict=True)
            sore = [dice.report("hurt", children[at], start, place=place) for at, place in hurts]
            take(cast, sore, cast.omar, day)
        for by in (cast.omar, cast.tam):
            lines = [dice.turn(child, start) for child in children for _ in range(6)]
            lines = [line for line in lines if by == cast.omar or may_assist(line, dice)]
            take(cast, lines, by, day)
    start = NOW - datetime.timedelta(hours=1)
    dice.rate = 0.75
    known = [dice.turn(child, start) for child in children for _ in range(2)]
    take(cast, [line for line in known if may_assist(line, dice)], cast.tam, TODAY)
    # One family has said no; two children want no hands tonight, and one of them changes its mind.
    give_consent(children[9], yes=False, day=TODAY)
    said = [dice.report("no-hands", children[at], start) for at in (8, 9)]
    take(cast, said, cast.omar, TODAY)
    before = json.loads(build_pack(cast.meeting, reader, NOW))
    lines = [dice.turn(child, start) for child in children for _ in range(9)]
    lines = [line for line in lines if reader == cast.omar or may_assist(line, dice)]
    own = [line["id"] for line in lines]
    lines += [dice.strike(turn, start) for turn in dice.draw.sample(own, 12)]
    # The second one hurt two weeks ago as well, and that is a pause.
    for child, sore in [
        (children[2], "knee"),
        (children[3], "wrist"),
        (children[4], "neck"),
        (children[8], "dizzy"),
    ]:
        lines.append(dice.report("hurt", child, start, place=sore))
    # These two are asked: the knee is gone, and whoever was dizzy is well again.
    for child, sore in [(children[5], "knee"), (children[7], "dizzy")]:
        lines.append(dice.report("gone", child, start, place=sore))
    lines += [dice.report("growing", child, start) for child in children[3:7]]
    lines.append(dice.strike(said[0]["id"], start))
    lines += [dice.report("no-hands", children[at], start) for at in (1, 2)]
    take(cast, lines, reader, TODAY)
    # The pack says what was allowed but for "no hands", which the tablet puts on top.
    with mock.patch("readiness.floor.pack_part.without_no_hands", lambda reading: reading):
        after = json.loads(build_pack(cast.meeting, reader, NOW))
    return {"before": before, "lines": lines, "after": after}


def may_assist(line: Line, dice: Dice) -> bool:
    return dice.drills[line["drill"]]["measure"] != "grade"
