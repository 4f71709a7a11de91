"""What a letter says comes next, and why it is “not yet”."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from readiness.engine.reading import StageReading
from readiness.letters.facts import DRILL_GATES, EVENINGS_TO_TELL, ChildFacts
from readiness.letters.format import name_list
from readiness.letters.rests_on import named
from readiness.letters.sentence import Sentence


def why_not_yet(child: ChildFacts) -> Iterator[Sentence]:
    """Nothing while the child does not look ahead: why not has its own words."""
    if not child.looks_ahead():
        return
    if not child.new_to_us() and len(child.evenings_lately()) < EVENINGS_TO_TELL:
        gap = _(
            "Steps grow from weeks that follow each other. After a gap we begin with the "
            "shapes, and with our hands where hands are needed."
        )
        yield Sentence(gap, named.turns_of_term(child))
    elif child.at_the_beginning():
        yield Sentence(
            _(
                "Nobody sees the floor on the way back. So shapes and arms come first, in their "
                "own time. “Not yet” is no mark. It is the part of the work that carries the next "
                "part."
            )
        )
    elif child.at_the_top():
        yield Sentence(
            _(
                "What comes now is keeping it steady: new floors, and the dance, one at a time. "
                "Each harder floor begins with a coach beside."
            )
        )
    else:
        stages = child.next_stages()
        for stage in stages:
            told = " ".join(_next_step(child, stage, beside=stage is not stages[0]))
            yield Sentence(told, named.next_step(child, stage))
        yield Sentence(
            _(
                "Some come quickly, some slowly, and that says little about a dancer. We name no "
                "day."
            )
        )


def _next_step(child: ChildFacts, stage: StageReading, beside: bool) -> Iterator[str]:
    values = {"stage": child.stage_name(stage.stage.code)}
    if beside:
        yield _("Beside it comes “%(stage)s”.") % values
    else:
        yield _("What comes next is “%(stage)s”, when the pieces below it are steady.") % values
    asks = _still_asks(child, stage)
    if asks:
        yield _("It asks for: %(list)s.") % {"list": name_list(asks)}
    if stage.sent_back:
        yield _("Our director has asked for more time first.")
    elif stage.stage.sign_off:
        yield _("Then our director looks, and decides.")


def _still_asks(child: ChildFacts, stage: StageReading) -> list[str]:
    """The drills whose gates are not met, and time. A signed step always asks for time: whether
    it has had enough is for the director to tell."""
    unmet = [gate.gate for gate in stage.gates if not gate.met]
    drills = dict.fromkeys(
        gate.drills
        for gate in unmet
        if gate.kind in DRILL_GATES and gate.drill not in stage.stage.skills
    )
    asks = child.drill_names(drills)
    if len(asks) < len(drills):
        asks.append(_("and more"))
    if stage.stage.sign_off or any(gate.drills not in drills for gate in unmet):
        asks.append(_("calm, steady turns over several weeks"))
    return asks
