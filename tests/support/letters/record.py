"""What a letter is judged by: one child's rows, asked by plain queries.

It shares no code with the letters. Where a sentence is about what the rules ask for, the engine
is asked; everything else is read off the rows. Drills, stages, floors and places are told by their
keys, so that the questions are the same in every language.
"""

import datetime
from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from progression.models import Attempt, LadderVersion, Strike
from readiness.models import (
    Decision,
    HeadKnock,
    Pain,
    PainGone,
    Pause,
    PauseLift,
    Placing,
    PrintedLetter,
    StepGiven,
)
from readiness.record.standings import Reading, read
from studio.models import Child, Location, SpottingConsent

DAY = datetime.timedelta(days=1)
# A term, and "the last four weeks".
TERM, LATELY = 84 * DAY, 28 * DAY
# On their way back from a head knock a child has six steps.
LAST_HEAD_STEP = 6
# Of a drill that nobody helps with, and of one that is not to be done now.
NO_HELP, NOT_AT_ALL = -1, 4
TURNS = """
select turn.*, drill.key as drill_key, surface.key as surface_key
from progression_attempt turn
join progression_drill drill on drill.id = turn.drill_id
join progression_surface surface on surface.id = turn.surface_id
left join progression_strike strike on strike.attempt_id = turn.id
where strike.id is null and turn.day <= %s
  and turn.child_id in (select id from studio_child where id = %s or merged_into_id = %s)
order by turn.done_at, turn.id
"""


@dataclass
class Turns:
    """One child's turns that were not struck, as rows."""

    rows: list[Any]

    def __post_init__(self) -> None:
        self.by_drill: dict[str, set[datetime.date]] = defaultdict(set)
        for row in self.rows:
            self.by_drill[row.drill_key].add(row.day)

    def days(self, drill: str = "") -> list[datetime.date]:
        every = [self.by_drill[drill]] if drill else self.by_drill.values()
        return sorted(set().union(*every))

    def at(self, drill: str, day: datetime.date) -> list[Any]:
        return [row for row in self.rows if row.drill_key == drill and row.day == day]


@dataclass(eq=False)
class RawRecord:
    """One child's record on a day. Rows are asked for once, and a day is read once: the same
    questions come in six languages."""

    child: Child
    today: datetime.date
    read_days: dict[datetime.date, Reading] = field(default_factory=dict)
    told: dict[Any, list[Any]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        own = self.child.pk
        self.turns = Turns(list(Attempt.objects.raw(TURNS, [self.today, own, own])))
        version = LadderVersion.objects.filter(from_day__lte=self.today).order_by("number").last()
        self.content: dict[str, Any] = (version or LadderVersion.objects.earliest("number")).content
        self.drills = {drill["key"]: drill for drill in self.content["drill"]}
        self.read = self.read_on(self.today).read
        self.struck = set(Strike.objects.values_list("attempt_id", flat=True))
        days = self.turns.days()
        self.since = max(self.today - TERM, days[0]) if days else None

    def read_on(self, day: datetime.date) -> Reading:
        if day not in self.read_days:
            whole = next(iter(self.read_days.values()), None)
            self.read_days[day] = read(self.child, day, record=whole.record if whole else None)
        return self.read_days[day]

    def rows(self, model: Any) -> list[Any]:
        """In the order in which they were written down."""
        if model not in self.told:
            rows = model.objects.filter(child__in=self.child.records).order_by("at", "pk")
            self.told[model] = list(rows.select_related("by"))
        return self.told[model]

    def reports(self, model: Any) -> list[Any]:
        """What was told of the child until today, without what was taken back."""
        return [r for r in self.rows(model) if r.day <= self.today and r.pk not in self.struck]

    def where_to_ask(self) -> set[str]:
        """What the halls of the child's classes say."""
        halls = Location.objects.filter(classes__children__in=self.child.records)
        if Location not in self.told:
            self.told[Location] = list(halls.exclude(questions=""))
        return {hall.questions for hall in self.told[Location]}

    def evenings_of_term(self) -> int:
        return sum(day > self.today - TERM for day in self.turns.days())

    def evenings_lately(self) -> int:
        return sum(day >= self.today - LATELY for day in self.turns.days())

    def worked_lately(self, drill: str) -> bool:
        days = self.turns.days(drill)
        return bool(days) and days[-1] >= self.today - LATELY

    # --- a pause, what hurt, and what is watched again ----------------------------------

    def paused_since(self) -> datetime.date | None:
        return self.stopped_since() or self.knocked_on()

    def stopped_since(self) -> datetime.date | None:
        """By a person's pause, a sore head or neck, or one place that hurt twice in a while."""
        told = [("pause", row.day, row.at, "") for row in self.rows(Pause)]
        told += [("lift", row.day, row.at, "") for row in self.rows(PauseLift)]
        told += [("pain", row.day, row.at, row.place) for row in self.pains()]
        rules = {each["place"]: each for each in self.content["pain"]}
        since: datetime.date | None = None
        sore: list[tuple[str, datetime.date]] = []
        for kind, day, _at, place in sorted(told, key=lambda each: each[1:3]):
            again = any(p == place and 0 < (day - d).days <= self.again_days() for p, d in sore)
            if kind == "lift":
                since, sore = None, []
            elif kind == "pause" or again or rules.get(place, {}).get("pause"):
                since = since or day
            if kind == "pain":
                sore.append((place, day))
        return since

    def knocked_on(self) -> datetime.date | None:
        """The newest knock on the head, until the last step of the way back was given for it."""
        knocks = self.reports(HeadKnock)
        if not knocks:
            return None
        knock = max(knocks, key=lambda row: (row.on, row.at))
        over = StepGiven.objects.filter(knock=knock, step=LAST_HEAD_STEP, day__lte=self.today)
        return None if over.exists() else knock.on

    def again_days(self) -> int:
        return int(self.content["pain_rule"]["again_days"])

    def pains(self) -> list[Pain]:
        return self.reports(Pain)

    def hurts(self) -> list[Pain]:
        """What hurt after the last lifted pause, and is not gone; or where the ladder does not
        ask, what is not long ago."""
        lifts = [row.at for row in self.rows(PauseLift)]
        gone = self.reports(PainGone)
        ask = self.content["pain_rule"].get("ask")
        return [
            row
            for row in self.pains()
            if not any(row.at < lift for lift in lifts)
            and not (
                any(each.place == row.place and each.day > row.day for each in gone)
                if ask
                else (self.today - row.day).days > self.again_days()
            )
        ]

    def hurt_on(self) -> datetime.date | None:
        return max((row.day for row in self.hurts()), default=None)

    def hurt_at(self, day: datetime.date | None) -> set[str]:
        return {row.place for row in self.hurts() if row.day == day}

    def answer(self) -> str:
        """About a coach's hands: each guardian's latest counts, and one no is enough."""
        rows = [row for row in self.rows(SpottingConsent) if row.day <= self.today]
        rows.sort(key=lambda row: row.day)
        latest = {row.guardian.casefold(): row for row in rows}
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

    def back_since(self) -> datetime.date | None:
        """The first evening after the last break, if it was in this term."""
        away = self.content["way_back"]["away_days"]
        ends = [b for a, b in pairwise(self.turns.days()) if (b - a).days > away]
        return ends[-1] if ends and ends[-1] > self.today - TERM else None

    def was_unclean(self, drill: str, day: datetime.date) -> bool:
        seen = self.turns.at(drill, day)
        return any(row.clean is False or row.caught or row.faults for row in seen)

    def asked_before_and_after(self, drill: str, day: datetime.date) -> tuple[int, int, int]:
        """The least and the most support asked for on the day before, and the most at the end of
        that evening, on the floors of its turns."""
        floors = {row.surface_key for row in self.turns.at(drill, day)}
        before = [self.asked_on(drill, day - DAY, floor) for floor in floors]
        after = [self.asked_on(drill, day, floor) for floor in floors]
        return min(before), max(before), max(after)

    def asked_on(self, drill: str, day: datetime.date, surface: str) -> int:
        """The support asked for at the end of that evening."""
        read_on = self.read_on(day).read
        found = [e for e in read_on.support if (e.drill, e.surface) == (drill, surface)]
        if not found:
            return NO_HELP
        allowed = found[0].allowed
        if day == self.today and allowed.causes == ("first-turn",):
            return 0
        return NOT_AT_ALL if allowed.support is None else int(allowed.support)

    def asked_now(self, drill: str) -> int:
        """On the hardest floor of the last evening."""
        days = self.turns.days(drill)
        rank = [each["key"] for each in self.content["surface"]]
        last = [row.surface_key for row in self.turns.at(drill, days[-1])] if days else rank[:1]
        return self.asked_on(drill, self.today, max(last, key=rank.index))

    def longest_gap(self, drill: str) -> int:
        """In days, to today; of a skill that was never tried, since it was opened."""
        opened = {
            each.opening.since
            for each in self.read.stages
            if each.opening and drill in each.stage.skills
        }
        days = sorted(opened | {*self.turns.days(drill), self.today})
        return max(((after - before).days for before, after in pairwise(days)), default=0)

    def printed_on(self) -> datetime.date | None:
        """The day of the last letter that is kept."""
        kept = PrintedLetter.objects.filter(child__in=self.child.records).order_by("at", "pk")
        return kept.values_list("day", flat=True).last()

    # --- what people decided ---------------------------------------------------------

    def placing(self) -> Placing | None:
        last = self.rows(Placing)[-1:]
        return last[0] if last and last[0].day > self.today - TERM else None

    def decisions(self, *kinds: str) -> list[Decision]:
        return [row for row in self.rows(Decision) if row.kind in kinds]

    def signed_without_hands(self) -> list[Decision]:
        """Signatures that hold, for a step that ends without hands."""
        kept = []
        for row in self.decisions("sign"):
            stage = self.read.stage(row.stage)
            steps = [
                (f"{step['stage']}/{skill}" if step.get("release") else str(step["stage"]))
                for skill in stage.stage.skills
                for step in self.drills[skill]["allow"]
                if step["support"] == "unspotted"
            ]
            if stage.state == "open" and row.stage in steps:
                kept.append(row)
        return kept

    def sent_back(self, stage: str) -> bool:
        """And nothing was tried since that the step asks for."""
        back = [row for row in self.decisions("send-back", "close") if row.stage == stage]
        drills = {gate["drill"] for gate in self.gates(stage)}
        return bool(back) and not any(
            row.day > back[-1].day and row.drill_key in drills for row in self.turns.rows
        )

    # --- stages ----------------------------------------------------------------------

    def open_codes(self) -> set[str]:
        return {each.stage.code for each in self.read.stages if each.opening}

    def last_stage(self) -> str:
        return str(max(each["number"] for each in self.content["stage"]))

    def at_the_beginning(self) -> bool:
        asks = [each for each in self.content["stage"] if each.get("gate") or each.get("needs")]
        return not self.open_codes() & {str(each["number"]) for each in asks}

    def opened_on(self, code: str, day: datetime.date) -> bool:
        """It was closed on its evening and open on the next day, and somebody was at work or
        signed that evening; or time alone opened it."""
        before, after = self.read_on(day).read, self.read_on(day + DAY).read
        placed = any(row.day == day for row in self.rows(Placing))
        signed = any((row.stage, row.day) == (code, day) for row in self.decisions("sign"))
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
        opened = self.open_codes()
        return [
            each.stage.code
            for each in self.read.stages
            if not each.opening
            and all(
                need in opened
                or (each.stage.code in self.read.state.exceptions
                    and need in each.stage.exception_for)
                for need in each.stage.needs
            )
        ]  # fmt: skip

    def gates(self, code: str) -> list[dict[str, Any]]:
        for stage in self.content["stage"]:
            for part in [stage | {"code": str(stage["number"])}, *stage.get("release", [])]:
                if part["code"] == code:
                    return part.get("gate", [])
        return []

    @staticmethod
    def asked_by(gate: dict[str, Any]) -> tuple[str, ...]:
        """The drill of a gate, or the two of which one is enough."""
        return tuple(key for key in (gate.get("or_drill"), gate["drill"]) if key)

    def met(self, code: str, gate: dict[str, Any], day: datetime.date) -> bool:
        """Of a hold or of reps by the rows; of the others by the engine on that day."""
        measure = self.drills[gate["drill"]]["measure"]
        if gate["kind"] == "reach" and measure != "grade" and "or_drill" not in gate:
            first = day - gate.get("within", 90) * DAY
            days = [each for each in self.turns.days(gate["drill"]) if first <= each <= day]
            best = [max(row.value or 0 for row in self.turns.at(gate["drill"], d)) for d in days]
            return sum(value >= gate["at_least"] for value in best) >= gate.get("days", 2)
        read_on = self.read_on(day).read.stage(code)
        (reading,) = (each for each in read_on.gates if each.gate.code == gate["code"])
        return bool(reading.met)

    def newly_met(self, asked: tuple[str, ...]) -> bool:
        """A gate of a next step asks for it, is met, and was on no day before this term."""
        return any(
            set(self.asked_by(gate)) == set(asked)
            and gate["kind"] in ("reach", "clean", "count")
            and self.met(code, gate, self.today)
            and not self.met_before(code, gate)
            for code in self.next_stages()
            for gate in self.gates(code)
        )

    def met_before(self, code: str, gate: dict[str, Any]) -> bool:
        known = [day for day in self.turns.days() if self.since and day <= self.since]
        return any(self.met(code, gate, day) for day in reversed(known))

    def first_day(self, drill: str) -> datetime.date | None:
        """Of a drill that was split from another: of its old turns too, when they were one."""
        days = self.turns.days(drill)
        whole = self.drills[drill].get("formerly", "")
        versions = list(LadderVersion.objects.order_by("number"))
        known = [any(row["key"] == drill for row in each.content["drill"]) for each in versions]
        if days and whole and not known[0]:
            split_on = versions[known.index(True)].from_day
            days = [*(day for day in self.turns.days(whole) if day < split_on), *days]
        return min(days, default=None)

    def waits_for_review(self, drill: str = "") -> bool:
        """All that the step asks for is there, and it waits for a director."""
        return any(
            each.state == "for-review"
            and all(gate.met for gate in each.gates)
            and drill in ("", *each.stage.skills)
            for each in self.read.stages
        )

    def may_look_ahead(self) -> bool:
        waits = (self.paused_since(), self.hurt_on(), self.watched_again(), self.placing())
        return not any(waits) and self.answer() == "yes"
