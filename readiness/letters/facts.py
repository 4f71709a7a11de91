"""The facts of one child's record that a letter may tell: names and days, no marks."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from readiness.engine.gates import GateReading
from readiness.engine.ladder import Ladder
from readiness.engine.reading import RE_CHECK, StageReading
from readiness.letters.format import letter_date
from readiness.letters.type import on_one_line
from readiness.record.standings import Reading

# "In the last four weeks": what is worked on now.
LATELY = datetime.timedelta(days=28)
# The most that one list names, so that a letter stays a page.
MOST_NAMED = 4
# What a drill asks for; the other gates ask for time and for people.
DRILL_GATES = ("reach", "clean", "count")


@dataclass(frozen=True)
class ChildFacts:
    """One child's record; ``earlier``: the same record at the day since which the letter tells."""

    now: Reading
    earlier: Reading

    @property
    def name(self) -> str:
        return on_one_line(self.now.child.called)

    @property
    def day(self) -> datetime.date:
        return self.now.read.day

    @property
    def since(self) -> datetime.date:
        return self.earlier.read.day

    @property
    def paused_since(self) -> datetime.date | None:
        return self.now.read.state.paused_since

    def hurt_lately(self) -> tuple[datetime.date, list[str]] | None:
        """The latest day on which something hurt, if that is not long ago, and where."""
        pains = self.now.read.state.pains
        last = max((day for day, _place in pains), default=None)
        within = self.now.ladder.engine.pain_again_days
        if last is None or (self.day - last).days > within:
            return None
        places = dict.fromkeys(place for day, place in pains if day == last)
        names = self.now.ladder.pain_names
        return last, [on_one_line(names.get(place, place)) for place in places]

    def practised(self) -> list[str]:
        """The drills of most days lately, of equals the furthest; in the ladder's order."""
        since = self.day - LATELY
        drills = list(self.now.ladder.drills)
        days = {
            drill: sum(day >= since for day in self.now.evidence.days(drill, self.day))
            for drill in reversed(drills)
        }
        ranked = sorted(filter(days.get, days), key=days.__getitem__, reverse=True)
        return self.drill_names(drill for drill in drills if drill in ranked[:MOST_NAMED])

    def more_help(self) -> list[str]:
        stages = [each for each in self.now.read.stages if each.state == RE_CHECK]
        return self.drill_names(skill for each in stages for skill in each.stage.skills)

    def opened(self) -> list[str]:
        """Stages opened since, with the day; of those opened together, the furthest."""
        by_day: dict[datetime.date, list[str]] = {}
        for each in self.now.read.stages:
            if each.opening and each.opening.how != "start" and each.opening.since > self.since:
                by_day.setdefault(each.opening.since, []).append(each.stage.code)
        return [
            _("%(stage)s (%(date)s)") % {"stage": self.stage_name(code), "date": letter_date(day)}
            for day in sorted(by_day)
            for code in furthest(by_day[day], self.now.ladder.engine)
        ][-MOST_NAMED:]

    def reached(self) -> list[str]:
        """Drills at which a gate is met that was not met then, the furthest stage's first."""
        before = {gate.gate.code for gate in _drill_gates(self.earlier.read.stages) if gate.met}
        newly = [
            gate.gate
            for gate in _drill_gates(self.now.read.stages)
            if gate.met and gate.gate.code not in before
        ]
        return [gate.drill for gate in reversed(newly)]

    def begun(self) -> list[str]:
        """Drills of which the record has a first day since then, the furthest first; none
        for a record that is itself so new."""
        first = {
            drill: days[0]
            for drill in self.now.ladder.drills
            if (days := self.now.evidence.days(drill, self.day))
        }
        if not any(day <= self.since for day in first.values()):
            return []
        return [drill for drill in reversed(first) if first[drill] > self.since]

    def was_in_class(self) -> bool:
        return any(self.since < day <= self.day for day in self.now.evidence.all_days())

    def next_stages(self) -> list[StageReading]:
        """The stages that rest on open ones only: one or two, as the ladder's tracks run."""
        state = self.now.read.state
        return [
            each
            for each in self.now.read.stages
            if not each.opening
            and all(
                need in state.opened
                or (each.stage.code in state.exceptions and need in each.stage.exception_for)
                for need in each.stage.needs
            )
        ][:2]

    def drill_names(self, keys: Iterable[str]) -> list[str]:
        """The names of the first few drills, each once."""
        named = self.now.ladder.drills
        return [on_one_line(named[key]["name"]) for key in dict.fromkeys(keys)][:MOST_NAMED]

    def stage_name(self, code: str) -> str:
        name = on_one_line(self.now.ladder.stage_names[code])
        if self.now.ladder.engine.stage[code].part_of is None:
            return name
        return _("%(skill)s, unspotted") % {"skill": name}


def _drill_gates(stages: Iterable[StageReading]) -> list[GateReading]:
    return [gate for each in stages for gate in each.gates if gate.gate.kind in DRILL_GATES]


def furthest(codes: Sequence[str], ladder: Ladder) -> list[str]:
    """Those stages on which none of the others rests."""
    below = {under for code in codes for under in _rests_on(code, ladder)}
    return [code for code in codes if code not in below]


def _rests_on(code: str, ladder: Ladder) -> set[str]:
    needs = ladder.stage[code].needs
    return set(needs).union(*(_rests_on(need, ladder) for need in needs))
