"""What a letter says comes next, and why it is “not yet”."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from readiness.engine.reading import StageReading
from readiness.letters.facts import DRILL_GATES, ChildFacts
from readiness.letters.format import name_list


def why_not_yet(child: ChildFacts) -> Iterator[str]:
    stages = child.next_stages()
    if not stages:
        yield _(
            "%(child)s has come to the top of our ladder. What comes next is keeping it "
            "steady, on new surfaces, and in the dance."
        ) % {"child": child.name}
    for stage in stages:
        yield _next_step(child, stage)
    yield _(
        "Backward skills are done without seeing the floor, so arms, shoulders and shape "
        "come first, and they grow at their own pace. A step opens when everything it asks "
        "for is there at once. “Not yet” means that the ground under the next step is being "
        "built; that is why we name no date."
    )


def _next_step(child: ChildFacts, stage: StageReading) -> str:
    values = {"stage": child.stage_name(stage.stage.code)}
    if child.paused_since:
        return _("Next on the ladder, once the pause is over: %(stage)s.") % values
    return " ".join([_("Next on the ladder: %(stage)s.") % values, *_waits_for(child, stage)])


def _waits_for(child: ChildFacts, stage: StageReading) -> Iterator[str]:
    asks = _still_asks(child, stage)
    if asks:
        yield _("It still asks for: %(list)s.") % {"list": name_list(asks)}
        if stage.stage.sign_off:
            yield _("Then a director looks too, and decides.")
    elif stage.sent_back:
        yield _("A director has looked, and asks for more time on it first.")
    elif stage.stage.sign_off:
        yield _("What it asks for is on the record; a director looks at it and decides.")
    else:
        yield _("What it asks for is on the record.")


def _still_asks(child: ChildFacts, stage: StageReading) -> list[str]:
    unmet = [gate.gate for gate in stage.gates if not gate.met]
    drills = [
        gate.drill
        for gate in unmet
        if gate.kind in DRILL_GATES and gate.drill not in stage.stage.skills
    ]
    asks = child.drill_names(drills)
    if len(asks) < len(drills):
        asks.append(_("and more"))
    if len(drills) < len(unmet):
        asks.append(_("calm, steady turns over several weeks"))
    return asks
