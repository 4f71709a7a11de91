"""What a sentence of a letter rests on, in words for staff."""

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.engine.reading import StageReading
from readiness.letters.sentence import EVER, Kind, RestsOn
from readiness.words.gates import gate_sentence, gate_title
from readiness.words.names import Names
from studio.models import SpottingConsent

HEADINGS: dict[Kind, Lazy] = {
    Kind.TURNS: gettext_lazy("Turns at %(about)s, %(days)s"),
    Kind.DECISIONS: gettext_lazy("Decisions on %(about)s, %(days)s"),
    Kind.GATES: gettext_lazy("Gates of %(about)s, as they are read on %(days)s"),
    Kind.PLACINGS: gettext_lazy("Placings, %(days)s"),
    Kind.PAUSES: gettext_lazy("Pauses, %(days)s"),
    Kind.PAIN: gettext_lazy("What hurt, %(days)s"),
    Kind.CONSENT: gettext_lazy("Answers to hands-on spotting, %(days)s"),
    Kind.LETTERS: gettext_lazy("Letters that were printed, %(days)s"),
}
ALL_TURNS = gettext_lazy("All turns, %(days)s")


def heading(names: Names, each: RestsOn) -> str:
    form = HEADINGS[each.kind] if each.about or each.kind != Kind.TURNS else ALL_TURNS
    return str(form) % {"about": _about(names, each.about), "days": _days(names, each)}


def _about(names: Names, about: str) -> str:
    """A stage by its code, or a drill by its key."""
    stages = names.ladder.stage_names
    return stages[about] if about in stages else names.drill(about)


def _days(names: Names, each: RestsOn) -> str:
    last = names.date(each.last)
    if each.first == each.last:
        return last
    if each.first == EVER:
        return _("up to %(day)s") % {"day": last}
    return _("%(first)s to %(last)s") % {"first": names.date(each.first), "last": last}


def gate_lines(names: Names, stage: StageReading) -> list[str]:
    """Each gate, whether it is met, and where it stands."""
    entered = stage.opening is not None
    return [
        _("%(gate)s: %(met)s. %(stands)s")
        % {
            "gate": gate_title(names, gate.gate, gate.need),
            "met": _("met") if gate.met else _("not yet"),
            "stands": gate_sentence(names, gate, entered=entered),
        }
        for gate in stage.gates
    ]


def answer_text(names: Names, answer: SpottingConsent) -> str:
    """One guardian's answer, and from when on it is asked for again."""
    said = _("yes") if answer.yes else _("no")
    if answer.guardian:
        said = _("%(answer)s, %(guardian)s") % {"answer": said, "guardian": answer.guardian}
    values = {"answer": said, "day": names.date(answer.asked_again_on)}
    return _("%(answer)s; asked again from %(day)s") % values
