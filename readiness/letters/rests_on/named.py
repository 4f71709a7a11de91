"""What the sentences of a letter rest on, from the facts they are made of. Nothing is read here."""

import datetime
from collections.abc import Iterable
from itertools import chain

from readiness.engine.reading import FOR_REVIEW, StageReading
from readiness.engine.replay.state import ONE_DAY
from readiness.letters.decided import Signed
from readiness.letters.facts import LATELY, TERM, ChildFacts, ReCheck
from readiness.letters.sentence import EVER, Kind, RestsOn

Named = tuple[RestsOn, ...]


def turns(child: ChildFacts, drill: str, first: datetime.date, last: datetime.date) -> Named:
    """Turns at a drill, also those logged before it was a drill of its own."""
    spans = child.now.ladder.engine.logged_as(drill)
    found = (
        RestsOn(Kind.TURNS, max(first, span.first), min(last, span.last), span.drill)
        for span in spans
    )
    return tuple(each for each in found if each.first <= each.last)


def turns_at(child: ChildFacts, drill: str, first: datetime.date) -> Named:
    return turns(child, drill, first, child.day)


def all_turns(child: ChildFacts, first: datetime.date) -> Named:
    return (RestsOn(Kind.TURNS, first, child.day),)


def turns_of_term(child: ChildFacts) -> Named:
    return all_turns(child, child.day - TERM + ONE_DAY)


def turns_lately(child: ChildFacts, drill: str) -> Named:
    """With the steps of less support: they decide what help is told."""
    lately = RestsOn(Kind.TURNS, child.day - LATELY, child.day, drill)
    return lately, RestsOn(Kind.DECISIONS, EVER, child.day, drill)


def turns_at_each(
    child: ChildFacts, drills: Iterable[tuple[str, ...]], first: datetime.date
) -> Named:
    """Of drills of which one is enough, both."""
    each = dict.fromkeys(drill for either in drills for drill in either)
    return tuple(named for drill in each for named in turns_at(child, drill, first))


def turns_of_days(child: ChildFacts, drill: str, days: Iterable[datetime.date]) -> Named:
    return tuple(named for day in days for named in turns(child, drill, day, day))


def first_turns(child: ChildFacts, drills: Iterable[tuple[str, ...]]) -> Named:
    """All turns ever, so that it is seen that none is older."""
    return turns_at_each(child, drills, EVER)


def pause(child: ChildFacts, since: datetime.date) -> Named:
    again = datetime.timedelta(days=child.now.ladder.engine.pain_again_days)
    return (
        RestsOn(Kind.PAUSES, since, child.day),
        RestsOn(Kind.PAIN, since - again, child.day),
    )


def pain(child: ChildFacts, since: datetime.date) -> Named:
    return (RestsOn(Kind.PAIN, since, child.day),)


def consent(child: ChildFacts) -> Named:
    return (RestsOn(Kind.CONSENT, EVER, child.day),)


def replaced_letter(day: datetime.date) -> Named:
    return (RestsOn(Kind.LETTERS, day, day),)


def came_back(child: ChildFacts, day: datetime.date) -> Named:
    """The turns of that evening, and of the last one before the break."""
    before = max((each for each in child.evenings if each < day), default=day)
    return (RestsOn(Kind.TURNS, before, day),)


def watched_again(child: ChildFacts, check: ReCheck) -> Named:
    """The turns that began it, or the last before the break, and the steps given since."""
    cause, drill = check.cause, check.drill
    first = cause.day
    if cause.code == "away":
        first = child.now.evidence.last_day(drill, cause.day - ONE_DAY) or cause.day
    elif cause.code != "stop-sign":
        first -= LATELY
    stages = cause.stages if cause.code == "evidence-changed" else ()
    return (
        RestsOn(Kind.TURNS, first, child.day, drill),
        *(RestsOn(Kind.DECISIONS, EVER, child.day, stage) for stage in stages),
        RestsOn(Kind.DECISIONS, cause.day, child.day, drill),
    )


def placing(day: datetime.date) -> Named:
    return (RestsOn(Kind.PLACINGS, day, day),)


def signature(child: ChildFacts, signed: Signed, skill: str) -> Named:
    decided = RestsOn(Kind.DECISIONS, EVER, child.day, signed.stage)
    return decided, *turns_at(child, skill, child.day - TERM)


def waiting_for_director(child: ChildFacts, skill: str) -> Named:
    """The decisions on its stage, how its gates are read, and the turns."""
    of_skill = [each for each in child.now.read.stages if skill in each.stage.skills]
    stage = max(of_skill, key=lambda each: each.state == FOR_REVIEW).stage.code
    decided = RestsOn(Kind.DECISIONS, EVER, child.day, stage)
    return decided, *gates(child, stage), *turns_at(child, skill, child.day - TERM)


def gates(child: ChildFacts, *stages: str) -> Named:
    return tuple(RestsOn(Kind.GATES, child.day, child.day, code) for code in stages)


def beginning(child: ChildFacts) -> Named:
    return gates(child, *(each.stage.code for each in child.next_stages()))


def next_step(child: ChildFacts, stage: StageReading) -> Named:
    code = stage.stage.code
    return *gates(child, code), RestsOn(Kind.DECISIONS, EVER, child.day, code)


def opened(child: ChildFacts, codes: Iterable[str]) -> Named:
    return tuple(named for code in codes for named in _opened(child, child.now.read.stage(code)))


def last_part(child: ChildFacts, code: str) -> Named:
    """Its skills may be signed one by one."""
    return opened(child, [code, *(each.stage.code for each in child.now.read.skills_of(code))])


def _opened(child: ChildFacts, each: StageReading) -> Named:
    """By what a stage was opened: the signature, the placing, or the turns of four weeks at what
    its gates ask for."""
    opening = each.opening
    if opening is None or opening.how == "start":
        return ()
    if opening.how == "signature":
        return (RestsOn(Kind.DECISIONS, EVER, child.day, each.stage.code),)
    if opening.how == "placing":
        return (RestsOn(Kind.PLACINGS, EVER, child.day),)
    evening = opening.since - ONE_DAY
    drills = dict.fromkeys(drill for gate in each.gates for drill in gate.gate.drills)
    found = (turns(child, drill, evening - LATELY, evening) for drill in drills)
    return tuple(chain.from_iterable(found))
