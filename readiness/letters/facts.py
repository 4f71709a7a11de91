"""The facts of one child's record that a letter may tell: names and days, no marks."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain, pairwise
from typing import Any

from django.utils.translation import gettext as _

from readiness.engine.gates import Gate
from readiness.engine.ladder import Drill, Ladder
from readiness.engine.levels import Support
from readiness.engine.reading import FOR_REVIEW, OPEN, StageReading
from readiness.engine.replay.state import ONE_DAY, Cause
from readiness.engine.support import base, skills_behind
from readiness.letters.decided import Placed, Signed
from readiness.letters.ladder_words import name_and_what, told
from readiness.letters.type import on_one_line
from readiness.record.standings import Reading

# A letter tells of one term at most (its weeks: common practice, no source).
TERM = datetime.timedelta(days=84)
# "In the last four weeks": what is worked on now.
LATELY = datetime.timedelta(days=28)
# With fewer evenings on record there is too little to say (common practice, no source).
EVENINGS_TO_TELL = 3
# The most that one list names, and the most drills told in a line each, so that a letter stays
# a page.
MOST_NAMED = 4
MOST_LINES = 3
# What a drill asks for; the other gates ask for time and for people.
DRILL_GATES = ("reach", "clean", "count")


@dataclass(frozen=True)
class ReCheck:
    """A drill that is watched again. cause: what it began with, or the first that asked for
    hands. before, now: the support that the open stages ask for by themselves, and the support
    asked for now, if it may be done at all.
    """

    drill: str
    cause: Cause
    before: Support | None
    now: Support | None

    @property
    def hands_came_back(self) -> bool:
        had_none = self.before is not None and self.before <= Support.STANDING_BY
        return had_none and self.cause.asks >= Support.LIGHT_TOUCH


@dataclass(frozen=True)
class ChildFacts:
    """One child's record, and what was decided. lacking: what the ladder names and has no words
    for in the letter's language, as it was asked for."""

    now: Reading
    signed: tuple[Signed, ...] = ()
    placed: Placed | None = None
    lacking: dict[str, None] = field(default_factory=dict, compare=False)

    @property
    def name(self) -> str:
        return on_one_line(self.now.child.called)

    @property
    def day(self) -> datetime.date:
        return self.now.read.day

    @cached_property
    def evenings(self) -> list[datetime.date]:
        """The days with turns, oldest first."""
        return sorted(day for day in self.now.evidence.all_days() if day <= self.day)

    @property
    def since(self) -> datetime.date | None:
        """The later of a term's start and the first class; None before any class."""
        return max(self.day - TERM, self.evenings[0]) if self.evenings else None

    @property
    def paused_since(self) -> datetime.date | None:
        """The way back after a head knock is one too."""
        state = self.now.read.state
        on_the_way = state.head if state.head_step is not None else None
        return state.paused_since or (on_the_way.knocked_on if on_the_way else None)

    @property
    def placed_lately(self) -> Placed | None:
        return self.placed if self.placed and self.placed.day > self.day - TERM else None

    @property
    def no_yes_to_hands(self) -> bool:
        return self.now.read.state.consent in ("no", "not-asked")

    def new_to_us(self) -> bool:
        """Nothing is on record from before the term."""
        return not self.evenings or self.evenings[0] > self.day - TERM

    def evenings_lately(self) -> list[datetime.date]:
        """The days with turns of this term."""
        return [day for day in self.evenings if day > self.day - TERM]

    def hurt_lately(self) -> tuple[datetime.date, list[str]] | None:
        """The latest day on which something hurt, and where: until somebody says that it is
        gone, or where the ladder does not ask, for as long as a second time would matter."""
        ladder = self.now.ladder.engine
        pains = self._not_gone() if ladder.pain_ask else self.now.read.state.pains
        last = max((day for day, _place in pains), default=None)
        if last is None:
            return None
        if not ladder.pain_ask and (self.day - last).days > ladder.pain_again_days:
            return None
        places = dict.fromkeys(place for day, place in pains if day == last)
        return last, [self.place_name(place) for place in places]

    def _not_gone(self) -> list[tuple[datetime.date, str]]:
        state = self.now.read.state
        today = [(day, place) for day, place in state.pains if day == self.day]
        return [*today, *((day, place) for place, day in state.sore.items())]

    def practised(self) -> list[str]:
        """The drills of most days lately, of equals the furthest; in the ladder's order."""
        since = self.day - LATELY
        drills = list(self.now.ladder.drills)
        days = {
            drill: sum(day >= since for day in self.now.evidence.days(drill, self.day))
            for drill in reversed(drills)
        }
        ranked = sorted(filter(days.get, days), key=days.__getitem__, reverse=True)
        return [drill for drill in drills if drill in ranked[:MOST_LINES]]

    def help_at(self, drill: str) -> Support | None:
        """The support asked for now after the first turn, on the floor of the latest turns; None
        for a drill that needs none, or that is not to be done now."""
        rule, last = self.now.ladder.engine.drills[drill], self._last_floor(drill)
        if not rule.support_logged or not rule.allow or last is None:
            return None
        allowed = self.now.read.allowed(drill, last)
        return Support.UNSPOTTED if allowed.causes == ("first-turn",) else allowed.support

    def _last_floor(self, drill: str) -> str | None:
        ladder, last = self.now.ladder.engine, self.now.evidence.last_day(drill, self.day)
        if last is None:
            return ladder.surfaces[0]
        used = {tally.surface for tally in self.now.evidence.on(drill, last)}
        return max(used.intersection(ladder.surfaces), key=ladder.rank, default=None)

    @cached_property
    def re_checks(self) -> list[ReCheck]:
        """The drills for which an open stage is watched again."""
        state, ladder = self.now.read.state, self.now.ladder.engine
        found = []
        for key, drill in ladder.drills.items():
            back = state.way_back(key)
            today = [
                fall
                for read in self.now.read.support
                if read.drill == key
                for fall in read.allowed.falls
            ]
            causes = [
                cause
                for cause in [*(back.causes if back else ()), *today]
                if any(code in state.opened for code in cause.stages)
            ]
            if causes:
                hands = (cause for cause in causes if cause.asks >= Support.LIGHT_TOUCH)
                before = base(drill, state, ladder, None)
                found.append(ReCheck(key, next(hands, causes[0]), before, self.help_at(key)))
        return found

    def back_since(self) -> datetime.date | None:
        """The first evening after the last break of this term: more days without any turn than
        the way back allows; None if there was none, or it has not ended."""
        away = self.now.ladder.engine.way_back.away_days
        ended = [day for before, day in pairwise(self.evenings) if (day - before).days > away]
        return ended[-1] if ended and ended[-1] > self.day - TERM else None

    def without_hands(self) -> list[tuple[Signed, str]]:
        """Skills that a director signed to be done without hands and that may be done now, each
        with its signature for the hardest floor: those of this term, or practised lately."""
        state, ladder = self.now.read.state, self.now.ladder.engine
        practised = self.practised()
        watched = {each.drill for each in self.re_checks}
        found = []
        for each in self.now.read.stages:
            signed = self._signature(each)
            if signed is None:
                continue
            for skill in each.stage.skills:
                least = base(ladder.drills[skill], state, ladder, signed.surface)
                told = signed.day > self.day - TERM or skill in practised
                now = self.now.read.allowed(skill, signed.surface).support
                held = any(each.key in watched for each in self._behind(skill))
                if least is Support.UNSPOTTED and told and now is not None and not held:
                    found.append((signed, skill))
        return sorted(found, key=lambda each: each[0].day)[-2:]

    def _behind(self, skill: str) -> list[Drill]:
        """Of the dance of a skill: that skill."""
        ladder = self.now.ladder.engine
        return skills_behind(ladder.drills[skill], ladder)

    def _signature(self, each: StageReading) -> Signed | None:
        if each.state != OPEN or not each.opening or each.opening.how != "signature":
            return None
        given = [
            signed
            for signed in self.signed
            if signed.stage == each.stage.code and signed.surface == each.opening.surface
        ]
        return given[-1] if given else None

    def opened(self) -> list[tuple[str, datetime.date]]:
        """Stages that were earned or signed in this term, with the evening; of those of one
        evening, the furthest. What a placing opened is no news."""
        by_day: dict[datetime.date, list[str]] = {}
        since = self.since
        for each in self.now.read.stages:
            if each.opening and each.opening.how in ("evidence", "signature"):
                evening = each.opening.since - ONE_DAY
                if since and evening >= since:
                    by_day.setdefault(evening, []).append(each.stage.code)
        return [
            (code, day)
            for day in sorted(by_day)
            for code in furthest(by_day[day], self.now.ladder.engine)
        ][-MOST_NAMED:]

    def reached(self) -> list[tuple[str, ...]]:
        """Drills that now do what the next step needs, those of which one is enough together: a
        gate of it is met, and never was before this term. The furthest stage's first. The skill
        itself is a matter of time and of people."""
        if not self.looks_ahead():
            return []
        newly = [
            reading.gate
            for each in self.next_stages()
            for reading in each.gates
            if reading.met
            and reading.gate.kind in DRILL_GATES
            and reading.gate.drill not in each.stage.skills
            and not self._met_before(reading.gate, each.surface)
        ]
        return [gate.drills for gate in reversed(newly)]

    def _met_before(self, gate: Gate, surface: str | None) -> bool:
        evidence, rules = self.now.evidence, self.now.ladder.engine
        logged = {span.drill for drill in gate.drills for span in rules.logged_as(drill)}
        days = {day for drill in logged for day in evidence.days(drill, self.since or self.day)}
        return any(gate.read_for_entry(evidence, day, rules, surface).met for day in days)

    def begun(self) -> list[str]:
        """Drills of which the record has a first day since then, the furthest first; not of a
        child who came with skills."""
        if self.placed_lately:
            return []
        first = {drill: self._first_day(drill) for drill in reversed(self.now.ladder.drills)}
        since = self.since
        return [drill for drill, day in first.items() if day and since and day > since]

    def _first_day(self, drill: str) -> datetime.date | None:
        """None for a drill without turns. Turns that were logged as another drill, before this one
        was split from it, were turns of this one."""
        evidence, today = self.now.evidence, self.day
        own = evidence.days(drill, today)
        spans = self.now.ladder.engine.logged_as(drill) if own else ()
        logged = [evidence.days(each.drill, min(each.last, today), each.first) for each in spans]
        return min([*own, *chain.from_iterable(logged)], default=None)

    def looks_ahead(self) -> bool:
        """Not while something hurts, is watched again, or was placed just now, nor without a
        yes to a coach's hands."""
        return not (
            self.paused_since
            or self.hurt_lately()
            or self.re_checks
            or self.placed_lately
            or self.no_yes_to_hands
        )

    def for_review(self) -> list[str]:
        """The skills of stages that wait for a director."""
        waiting = [each for each in self.now.read.stages if each.state == FOR_REVIEW]
        return [skill for each in waiting for skill in each.stage.skills]

    def next_stages(self) -> list[StageReading]:
        """The stages that rest on open ones only: one or two, as the ladder's tracks run. The
        dance of a skill is no step of the way up."""
        state = self.now.read.state
        return [
            each
            for each in self.now.read.stages
            if not each.opening
            and not any(self._behind(skill) for skill in each.stage.skills)
            and all(
                need in state.opened
                or (each.stage.code in state.exceptions and need in each.stage.exception_for)
                for need in each.stage.needs
            )
        ][:2]

    def highest_stage(self) -> str:
        """The furthest stage that is open, as a whole."""
        whole = [each for each in self.now.read.stages if each.stage.part_of is None]
        return [each.stage.code for each in whole if each.opening][-1]

    def at_the_beginning(self) -> bool:
        """Only what asks for nothing is open."""
        return all(each.opening.how == "start" for each in self.now.read.stages if each.opening)

    def at_the_top(self) -> bool:
        """The last stage is open, whatever of its skills is still to come."""
        return self.now.ladder.engine.stage[self.highest_stage()].number == max(
            stage.number for stage in self.now.ladder.engine.stages
        )

    def line(self, drill: str) -> str:
        """A drill, as families read it: its name, and where the ladder has one, what it is."""
        named = self.now.ladder.drills[drill]
        named_only = _("%(drill)s.") % {"drill": on_one_line(named["name"])}
        return self._told(named, "letter") or named_only

    def line_within(self, drill: str) -> str:
        """The same inside a sentence: the name, and what it is in brackets."""
        _name, what = name_and_what(self._told(self.now.ladder.drills[drill], "letter"))
        values = {"drill": self.drill_name(drill), "what": what.removesuffix(".")}
        return _("%(drill)s (%(what)s)") % values if values["what"] else values["drill"]

    def drill_name(self, drill: str) -> str:
        """The part of a drill's line before the colon, or its name."""
        return self._called(self.now.ladder.drills[drill])

    def drill_names(self, asked: Iterable[tuple[str, ...]]) -> list[str]:
        """The names of the first few drills, each once; of those of which one is enough, both."""
        return [self._either_name(drills) for drills in dict.fromkeys(asked)][:MOST_NAMED]

    def _either_name(self, drills: tuple[str, ...]) -> str:
        other, *either = map(self.drill_name, drills)
        return _("%(one)s or %(other)s") % {"one": either[0], "other": other} if either else other

    def stage_name(self, code: str) -> str:
        stage = self.now.ladder.engine.stage[code]
        if stage.part_of is not None:
            return _("%(skill)s, without a coach’s hands") % {
                "skill": self.drill_name(stage.skills[0])
            }
        (named,) = (
            each for each in self.now.ladder.content["stage"] if each["number"] == stage.number
        )
        return self._called(named)

    def surface_name(self, surface: str) -> str:
        rows = {row["key"]: row for row in self.now.ladder.content["surface"]}
        return self._told(rows.get(surface, {"name": surface}), "name")

    def place_name(self, place: str) -> str:
        """A place of the body that hurt."""
        rows = {row["place"]: row for row in self.now.ladder.content["pain"]}
        return self._told(rows.get(place, {"name": place}), "name")

    def _called(self, row: dict[str, Any]) -> str:
        before_colon, _what = name_and_what(self._told(row, "letter"))
        return before_colon or on_one_line(row["name"])

    def _told(self, row: dict[str, Any], name: str) -> str:
        """What the ladder says to families in this field; in its own words where it has none in
        the letter's language, and those are noted as lacking."""
        text = told(row, name)
        if text is None:
            self.lacking[on_one_line(row["name"])] = None
        return on_one_line(row.get(name, "") if text is None else text)


def furthest(codes: Sequence[str], ladder: Ladder) -> list[str]:
    """Those stages on which none of the others rests."""
    below = {under for code in codes for under in _rests_on(code, ladder)}
    return [code for code in codes if code not in below]


def _rests_on(code: str, ladder: Ladder) -> set[str]:
    needs = ladder.stage[code].needs
    return set(needs).union(*(_rests_on(need, ladder) for need in needs))
