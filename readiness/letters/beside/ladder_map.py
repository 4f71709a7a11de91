"""The ladder as a map: each part by its name and a word for where the child stands, no number."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy

from readiness.engine.ladder import Drill
from readiness.engine.levels import Support
from readiness.engine.reading import CLOSED, FOR_REVIEW, OPEN, PAUSED, RE_CHECK, StageReading
from readiness.engine.support import barred
from readiness.letters.facts import ChildFacts

WORDS = {
    OPEN: gettext_lazy("works here"),
    CLOSED: gettext_lazy("later"),
    FOR_REVIEW: gettext_lazy("our director looks"),
    RE_CHECK: gettext_lazy("hands again for now"),
    PAUSED: gettext_lazy("rests"),
}


@dataclass(frozen=True)
class Stop:
    """A part of the ladder. word: for the state of that code; needs: the places on the map of the
    parts that it rests on; ``code``: its own in the ladder."""

    name: str
    word: str
    state: str
    needs: tuple[int, ...]
    code: str = ""


def ladder_map(child: ChildFacts, review: bool) -> tuple[Stop, ...]:
    """The parts in the order of the ladder. review: say where a director watches."""
    whole = [each for each in child.now.read.stages if each.stage.part_of is None]
    places = {each.stage.code: place for place, each in enumerate(whole)}
    return tuple(_stop(child, each, review, places) for each in whole)


def _stop(child: ChildFacts, each: StageReading, review: bool, places: dict[str, int]) -> Stop:
    state = _state(child, each, review)
    needs = tuple(places[need] for need in each.stage.needs if need in places)
    code = each.stage.code
    return Stop(child.stage_name(code), str(WORDS[state]), state, needs, code)


def _state(child: ChildFacts, each: StageReading, review: bool) -> str:
    """That a part waits for a director is told only where a director lets it be told."""
    if not each.opening:
        return FOR_REVIEW if review and each.state == FOR_REVIEW else CLOSED
    if child.paused_since or not any(_may_be_done(child, drill) for drill in _drills(child, each)):
        return PAUSED
    return RE_CHECK if _hands_are_back(child, each) else OPEN


def _drills(child: ChildFacts, each: StageReading) -> list[Drill]:
    """The skills of a part, or all that it opens where it has none."""
    drills = child.now.ladder.engine.drills
    skills = [drills[skill] for skill in each.stage.skills]
    return skills or [drill for drill in drills.values() if drill.stage == each.stage.code]


def _may_be_done(child: ChildFacts, drill: Drill) -> bool:
    read, ladder = child.now.read, child.now.ladder.engine
    supports = [each.allowed.support for each in read.support if each.drill == drill.key]
    if supports:
        return any(support is not None for support in supports)
    return not barred(drill, read.state, ladder, child.day)


def _hands_are_back(child: ChildFacts, each: StageReading) -> bool:
    """A drill of it that went with less than a hand is done with one now."""
    return any(
        check.before is not None
        and check.before <= Support.STANDING_BY
        and check.now is not None
        and check.now >= Support.LIGHT_TOUCH
        for check in child.re_checks
        if each.stage.code in check.cause.stages or check.drill in each.stage.skills
    )
