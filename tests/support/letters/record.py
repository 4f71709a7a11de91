"""What a letter is judged by: one child's rows, asked by plain queries.

It shares no code with the letters. Where a sentence is about what the rules ask for, the engine
is asked; everything else is read off the rows.
"""

import datetime
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from progression.models import Attempt, LadderVersion, Surface
from readiness.models import Decision, Pain, PainGone, Pause, PauseLift, Placing
from readiness.record.standings import read
from studio.models import Child, SpottingConsent

DAY = datetime.timedelta(days=1)
HELP = {
    "a coach’s hands carry part of the weight": 3,
    "a coach’s hand touches lightly": 2,
    "a coach stands right beside, hands ready": 1,
    "a coach is near and watches": 0,
}


@dataclass
class Turns:
    """One child's turns that were not struck, as rows."""

    rows: list[Attempt]

    def days(self, drill: str = "") -> list[datetime.date]:
        return sorted({row.day for row in self.rows if drill in ("", row.drill.key)})

    def at(self, drill: str, day: datetime.date) -> list[Attempt]:
        return [row for row in self.rows if row.drill.key == drill and row.day == day]


@dataclass
class RawRecord:
    """One child's record on a day; ``drill`` and ``stage``: what was last spoken of."""

    child: Child
    today: datetime.date
    drill: str = ""
    stage: str = ""

    def __post_init__(self) -> None:
        rows = Attempt.objects.filter(child=self.child, day__lte=self.today).unstruck()
        self.turns = Turns(list(rows.select_related("drill", "surface").order_by("done_at", "id")))
        version = LadderVersion.objects.filter(from_day__lte=self.today).order_by("number").last()
        self.content: dict[str, Any] = (version or LadderVersion.objects.earliest("number")).content
        self.drills = {drill["key"]: drill for drill in self.content["drill"]}
        self.read = read(self.child, self.today).read
        days = self.turns.days()
        self.since = max(self.today - 84 * DAY, days[0]) if days else None
        self.lines = {self.family_line(drill): key for key, drill in self.drills.items()}
        self.within = {self.line_within(drill): key for key, drill in self.drills.items()}
        self.names = {self.family_name(drill): key for key, drill in self.drills.items()}
        self.stages = self.stage_codes()
        self.surfaces = {each["name"]: each["key"] for each in self.content["surface"]}

    @staticmethod
    def family_line(named: dict[str, Any]) -> str:
        return named.get("letter") or f"{named['name']}."

    @staticmethod
    def family_name(named: dict[str, Any]) -> str:
        return named["letter"].split(":")[0] if "letter" in named else named["name"]

    @staticmethod
    def line_within(named: dict[str, Any]) -> str:
        if "letter" not in named:
            return named["name"]
        name, what = named["letter"].split(":", 1)
        return f"{name} ({what.strip().removesuffix('.')})"

    def stage_codes(self) -> dict[str, str]:
        stages = {}
        for stage in self.content["stage"]:
            stages[self.family_name(stage)] = str(stage["number"])
            for release in stage.get("release", []):
                name = self.family_name(self.drills[release["drill"]])
                stages[f"{name}, without a coach’s hands"] = release["code"]
        return stages

    def days_since(self, days: int) -> list[datetime.date]:
        return [day for day in self.turns.days() if day > self.today - (days + 1) * DAY]

    def paused_since(self) -> datetime.date | None:
        """By a person's pause, a sore head or neck, or one place that hurt twice in a while."""
        told = [("pause", row.day, row.at, "") for row in Pause.objects.filter(child=self.child)]
        told += [
            ("lift", row.day, row.at, "") for row in PauseLift.objects.filter(child=self.child)
        ]
        told += [("pain", row.day, row.at, row.place) for row in self.pains()]
        rules = {each["place"]: each for each in self.content["pain"]}
        since: datetime.date | None = None
        sore: list[tuple[str, datetime.date]] = []
        for kind, day, _at, place in sorted(told, key=lambda each: each[1:3]):
            again = any(
                p == place and 0 < (day - d).days <= self.content["pain_rule"]["again_days"]
                for p, d in sore
            )
            if kind == "lift":
                since, sore = None, []
            elif kind == "pause" or again or rules.get(place, {}).get("pause"):
                since = since or day
            if kind == "pain":
                sore.append((place, day))
        return since

    def pains(self) -> list[Pain]:
        return list(Pain.objects.filter(child=self.child, day__lte=self.today).order_by("at", "id"))

    def hurts(self) -> list[Pain]:
        """What hurt after the last lifted pause, and is not gone; or where the ladder does not
        ask, what is not long ago."""
        lifts = [row.at for row in PauseLift.objects.filter(child=self.child)]
        gone = list(PainGone.objects.filter(child=self.child, day__lte=self.today))
        rule = self.content["pain_rule"]
        return [
            row
            for row in self.pains()
            if not any(row.at < lift for lift in lifts)
            and not (
                any(each.place == row.place and each.day > row.day for each in gone)
                if rule.get("ask")
                else (self.today - row.day).days > rule["again_days"]
            )
        ]

    def hurt_on(self) -> datetime.date | None:
        return max((row.day for row in self.hurts()), default=None)

    def hurt(self, day: str, places: str) -> bool:
        on = self.hurt_on()
        names = {each["place"]: each["name"] for each in self.content["pain"]}
        told = {names[row.place] for row in self.hurts() if row.day == on}
        return on == day_of(day) and set(places.split("; ")) == told

    def answer(self) -> str:
        """About a coach's hands: each guardian's latest counts, and one no is enough."""
        rows = SpottingConsent.objects.filter(child=self.child, day__lte=self.today)
        latest = {row.guardian.casefold(): row for row in rows.order_by("day", "at", "pk")}
        in_force = [row for row in latest.values() if row.asked_again_on > self.today]
        if any(not row.yes for row in in_force):
            return "no"
        return "yes" if in_force else "not-asked"

    def watched_again(self, cause: str = "") -> bool:
        return any(
            each.state == "re-check" and any(cause in ("", c.code) for c in each.causes)
            for each in self.read.stages
        )

    def away_weeks(self) -> int:
        days: int = self.content["way_back"]["away_days"]
        return days // 7

    def is_back(self, day: str) -> bool:
        away = self.content["way_back"]["away_days"]
        return any(
            after == day_of(day) and (after - before).days > away
            for before, after in pairwise(self.turns.days())
        )

    def went_back(self, day: str, works: str, hands: bool) -> bool:
        """That evening something at the drill was not clean; before it less help was asked."""
        self.drill, on = self.within.get(works, ""), day_of(day)
        seen = self.turns.at(self.drill, on)
        if not any(row.clean is False or row.caught or row.faults for row in seen):
            return False
        before = min(self.asked_on(on - DAY, row.surface) for row in seen)
        after = max(self.asked_on(on, row.surface) for row in seen)
        return before < 2 <= after if hands else before < after

    def as_before(self, day: str, works: str) -> bool:
        self.drill, on = self.within.get(works, ""), day_of(day)
        seen = self.turns.at(self.drill, on)
        unclean = any(row.clean is False or row.caught or row.faults for row in seen)
        return unclean and all(self.asked_on(on - DAY, row.surface) == 3 for row in seen)

    def signed_on_other_evidence(self, day: str, works: str) -> bool:
        self.drill = self.within.get(works, "")
        signed = Decision.objects.filter(child=self.child, kind="sign", day=day_of(day))
        return self.watched_again("evidence-changed") and any(
            self.drill in self.read.stage(row.stage).stage.skills for row in signed
        )

    def asked_on(self, day: datetime.date, surface: Surface) -> int:
        """The support asked for at the end of that evening."""
        allowed = read(self.child, day).read.allowed(self.drill, surface.key)
        return 4 if allowed.support is None else int(allowed.support)

    def asked_now(self) -> int:
        days = self.turns.days(self.drill)
        rank = [each["key"] for each in self.content["surface"]]
        last = (
            [row.surface.key for row in self.turns.at(self.drill, days[-1])] if days else rank[:1]
        )
        allowed = self.read.allowed(self.drill, max(last, key=rank.index))
        if allowed.causes == ("first-turn",):
            return 0
        return 4 if allowed.support is None else int(allowed.support)

    def went_by(self, weeks: str, works: str) -> bool:
        self.drill = self.within.get(works, "")
        days = [*self.turns.days(self.drill), self.today]
        gaps = [(after - before).days for before, after in pairwise(days)]
        return int(weeks) == self.away_weeks() and max(gaps) > int(weeks) * 7

    def helped(self, help_: str) -> bool:
        return bool(self.drill) and HELP.get(help_) == self.asked_now()

    def placing(self) -> Placing | None:
        last = Placing.objects.filter(child=self.child).order_by("at", "pk").last()
        return last if last and last.day > self.today - 84 * DAY else None

    def placed(self, day: str, director: str, stage: str) -> bool:
        row = self.placing()
        return row is not None and (row.day, row.by.called, str(row.stage)) == (
            day_of(day), director, self.stages.get(stage),
        )  # fmt: skip

    def open_signed(self, support: str) -> list[Decision]:
        """Signatures that hold, for a step that ends without hands."""
        kept = []
        for row in Decision.objects.filter(child=self.child, kind="sign").order_by("at", "pk"):
            stage = self.read.stage(row.stage)
            steps = [
                (f"{step['stage']}/{skill}" if step.get("release") else str(step["stage"]))
                for skill in stage.stage.skills
                for step in self.drills[skill]["allow"]
                if step["support"] == support
            ]
            if stage.state == "open" and row.stage in steps:
                kept.append(row)
        return kept

    def agreed(self, day: str, director: str, works: str, surface: str) -> bool:
        skill = self.within.get(works)
        return any(
            (row.day, row.by.called) == (day_of(day), director)
            and row.surface is not None
            and row.surface.key == self.surfaces.get(surface)
            and skill in self.read.stage(row.stage).stage.skills
            for row in self.open_signed("unspotted")
        )

    def open_codes(self) -> set[str]:
        return {each.stage.code for each in self.read.stages if each.opening}

    def at_the_top(self, stage: str) -> bool:
        last = max(each["number"] for each in self.content["stage"])
        return str(last) in self.open_codes() and self.stages.get(stage, str(last)) == str(last)

    def at_the_beginning(self) -> bool:
        asks = [each for each in self.content["stage"] if each.get("gate") or each.get("needs")]
        return not self.open_codes() & {str(each["number"]) for each in asks}

    def worked_on(self, line: str) -> bool:
        self.drill = self.lines[line]
        days = self.turns.days(self.drill)
        return bool(days) and days[-1] >= self.today - 28 * DAY

    # --- what has come, and what comes ------------------------------------------------

    def opened(self, stages: str) -> bool:
        """Each was closed on its evening and open on the next day, and somebody was at work or
        signed that evening; or time alone opened it."""
        told = [re.fullmatch(r"(.+) \((\d.+)\)", each) for each in stages.split("; ")]
        return all(each and self.opened_on(each[1], day_of(each[2])) for each in told)

    def opened_on(self, name: str, day: datetime.date) -> bool:
        code = self.stages.get(name)
        if code is None:
            return False
        before, after = read(self.child, day).read, read(self.child, day + DAY).read
        placed = Placing.objects.filter(child=self.child, day=day)
        signed = Decision.objects.filter(child=self.child, stage=code, kind="sign", day=day)
        earned = day in self.turns.days() or LadderVersion.objects.filter(from_day=day)
        return (
            self.since is not None
            and day >= self.since
            and code not in before.state.opened
            and code in after.state.opened
            and not placed
            and bool(signed if self.read.stage(code).stage.sign_off else earned)
        )

    def next_stages(self) -> list[str]:
        return [
            each.stage.code
            for each in self.read.stages
            if not each.opening
            and all(
                need in self.open_codes()
                or (each.stage.code in self.read.state.exceptions
                    and need in each.stage.exception_for)
                for need in each.stage.needs
            )
        ]  # fmt: skip

    def now_does(self, names: str) -> bool:
        return not self.placing() and all(self.newly(each) for each in names.split("; "))

    def newly(self, name: str) -> bool:
        for code in self.next_stages():
            for gate in self.gates(code):
                if self.asked_by(gate) == name and gate["kind"] in ("reach", "clean", "count"):
                    known = [day for day in self.turns.days() if day <= self.since]
                    met_before = any(self.met(code, gate, day) for day in known)
                    if self.met(code, gate, self.today) and not met_before:
                        return True
        return False

    def asked_by(self, gate: dict[str, Any]) -> str:
        """The drill of a gate, or the two of which one is enough."""
        keys = [key for key in (gate.get("or_drill"), gate["drill"]) if key]
        return " or ".join(self.family_name(self.drills[key]) for key in keys)

    def gates(self, code: str) -> list[dict[str, Any]]:
        for stage in self.content["stage"]:
            for part in [stage | {"code": str(stage["number"])}, *stage.get("release", [])]:
                if part["code"] == code:
                    return part.get("gate", [])
        return []

    def met(self, code: str, gate: dict[str, Any], day: datetime.date) -> bool:
        """Of a hold or of reps by the rows; of the others by the engine on that day."""
        measure = self.drills[gate["drill"]]["measure"]
        if gate["kind"] == "reach" and measure != "grade" and "or_drill" not in gate:
            first = day - gate.get("within", 90) * DAY
            days = [each for each in self.turns.days(gate["drill"]) if first <= each <= day]
            best = [max(row.value or 0 for row in self.turns.at(gate["drill"], d)) for d in days]
            return sum(value >= gate["at_least"] for value in best) >= gate.get("days", 2)
        read_on = read(self.child, day).read.stage(code)
        (reading,) = (each for each in read_on.gates if each.gate.code == gate["code"])
        return reading.met

    def first_time(self, names: str) -> bool:
        firsts = [self.turns.days(self.names.get(each, "?"))[:1] for each in names.split("; ")]
        return all(first and self.since and first[0] > self.since for first in firsts)

    def for_review(self, works: str) -> bool:
        """All that the step asks for is there, and it waits for a director."""
        return any(
            each.state == "for-review"
            and all(gate.met for gate in each.gates)
            and (not works or self.within.get(works) in each.stage.skills)
            for each in self.read.stages
        )

    def may_look_ahead(self) -> bool:
        waits = (self.paused_since(), self.hurt_on(), self.watched_again(), self.placing())
        return not any(waits) and self.answer() == "yes"

    def comes_next(self, stage: str) -> bool:
        self.stage = self.stages.get(stage, "")
        return self.stage in self.next_stages() and self.may_look_ahead()

    def asks(self, things: str) -> bool:
        """Each drill has a gate of the step that is not met; time is asked for by the others."""
        if not self.stage:
            return False
        unmet = [g for g in self.gates(self.stage) if not self.met(self.stage, g, self.today)]
        drills = {gate["drill"] for gate in unmet}
        for thing in things.split("; "):
            if thing == "and more":
                continue
            if thing == "calm, steady turns over several weeks":
                kinds = {gate["kind"] for gate in unmet}
                skills = self.read.stage(self.stage).stage.skills
                if not (
                    self.read.stage(self.stage).stage.sign_off
                    or kinds - {"reach", "clean", "count"}
                    or drills.intersection(skills)
                ):
                    return False
            elif thing not in {self.asked_by(gate) for gate in unmet}:
                return False
        return True

    def sent_back(self) -> bool:
        rows = Decision.objects.filter(
            child=self.child, kind__in=["send-back", "close"], stage=self.stage
        )
        last = rows.order_by("at", "pk").last()
        drills = {gate["drill"] for gate in self.gates(self.stage)}
        return last is not None and not any(
            row.day > last.day and row.drill.key in drills for row in self.turns.rows
        )


def day_of(text: str) -> datetime.date | None:
    """A date as letters write it; None for what is none."""
    try:
        return datetime.datetime.strptime(text, "%d %B %Y").date()  # noqa: DTZ007
    except ValueError:
        return None
