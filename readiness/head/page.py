"""What the page about a head knock shows: how far the child is, what waits, what was told."""

from collections.abc import Iterator

from readiness.child.lookup import names_of
from readiness.engine.head_steps import next_step
from readiness.head import forms
from readiness.head.words import clearance_text, knock_text, step_text, symptom_text
from readiness.models import Clearance, HeadKnock, StepGiven, Symptom
from readiness.record.standings import Reading
from readiness.record.told.head_knocks import knocks_of, way_now
from readiness.words.head import head_step_now, next_step_text, not_yet_text, waits_text
from readiness.words.names import Names
from studio.access import may_give_head_steps, may_tell_of_head
from studio.models import Staff
from studio.people.told_apart import who

Told = HeadKnock | Symptom | Clearance | StepGiven


def page_context(reading: Reading, staff: Staff, refused: object = None) -> dict[str, object]:
    """``refused``: a form that takes the place of a new one of its kind."""
    names, step = names_of(reading), reading.read.head_step
    way, rule = way_now(reading), reading.ladder.engine.head
    following = next_step(way, rule, reading.read.day) if way else None
    told = sorted(_told(reading), key=lambda each: (each.at, str(each.pk)), reverse=True)
    return {
        "child": reading.child,
        "who": who(reading.child, reading.read.day),
        "way": way,
        "now": "" if step is None else head_step_now(step),
        "next": next_step_text(names, following) if following else "",
        "waits": waits_text(following, rule) if following else [],
        "not_yet": not_yet_text(names, following) if following else "",
        "told": [(_text(each, names), each.by.called, each.day) for each in told],
        "tells": may_tell_of_head(staff),
        "gives": may_give_head_steps(staff),
        **_forms(reading, following.step if following else 0, refused),
    }


def _forms(reading: Reading, step: int, refused: object) -> dict[str, object]:
    today = reading.read.day
    initial = {
        "knock": forms.KnockForm(initial={"on": today}),
        "symptom": forms.SymptomForm(initial={"on": today}),
        "clearance": forms.ClearanceForm(initial={"on": today}),
        "step": forms.HeadStepForm(
            initial={"step": step, "said_on": today, "said_by": reading.child.guardian}
        ),
    }
    return {
        f"{name}_form": refused if isinstance(refused, type(form)) else form
        for name, form in initial.items()
    }


def _told(reading: Reading) -> Iterator[Told]:
    knocks = knocks_of(reading.child)
    yield from knocks.select_related("by")
    for table in (Symptom, Clearance, StepGiven):
        yield from table.objects.filter(knock__in=knocks).select_related("by")


def _text(told: Told, names: Names) -> str:
    match told:
        case HeadKnock():
            return knock_text(names, told.on, told.elsewhere)
        case Symptom():
            return symptom_text(names, told.on)
        case Clearance():
            return clearance_text(names, told.cleared_by, told.on)
        case StepGiven():
            return step_text(names, told.step, told.said_by, told.said_on)
