"""What the page of one child shows, put together from its parts."""

import uuid
from dataclasses import asdict

from django.utils.translation import gettext as _

from progression.log.lines import FALL, HANDS_AGAIN, STOP_SIGN
from readiness.causes.of_child import child_causes
from readiness.child import forms
from readiness.child.consent import ConsentForm
from readiness.child.decision_forms import surface_choices
from readiness.child.history import done_today, fault_rows, notes_of, recent_turns
from readiness.child.ladder_drawing import ladder_levels
from readiness.child.lead_in import path_of
from readiness.child.lookup import names_of
from readiness.child.stage_panel import stage_panel
from readiness.child.standing_now import standing_now
from readiness.child.support_rows import support_rows, taps_given_on
from readiness.engine.growing import is_growing
from readiness.engine.ladder import Stage
from readiness.engine.reading import FOR_REVIEW, stage_to_show
from readiness.engine.statistics.hand_contacts import HALF_WHILE_GROWING, hand_contacts, landings
from readiness.notes.keeping import notes_on
from readiness.record import decisions
from readiness.record.ladders import NamedLadder
from readiness.record.snapshots import child_snapshot
from readiness.record.standings import Reading
from readiness.record.told.on_the_page import elsewhere_now
from readiness.words.growing import growing_fast, growing_until
from readiness.words.landings import elsewhere_text, landing_sentences
from studio.access import may_decide, may_direct, may_report, may_write_letters
from studio.models import Staff
from studio.people.children import family_of
from studio.people.family import is_family
from studio.people.told_apart import who


def page_context(
    reading: Reading, staff: Staff, stage: str, refused: object = None
) -> dict[str, object]:
    """What the template names. ``stage``: the code asked for, else the one that matters most;
    ``refused``: a form that takes the place of a new one."""
    if stage not in reading.ladder.stage_names:
        stage = stage_to_show(reading.read).stage.code
    notes = notes_of(reading, confidential=may_report(staff))
    support = support_rows(reading, staff, taps_given_on(reading.child, reading.read.day))
    return {
        "child": reading.child,
        "reading": reading,
        "who": who(reading.child, reading.read.day),
        "levels": ladder_levels(reading, stage),
        "stage": stage_panel(reading, stage),
        "for_review": stage_for_review(reading),
        "causes": child_causes(reading),
        "path": path_of(reading),
        "faults": fault_rows(reading),
        "turns": recent_turns(reading),
        "notes": notes,
        "done_today": done_today(notes),
        "hand_contacts": hand_contact_sentences(reading),
        "elsewhere": elsewhere_sentences(reading),
        "growing": growing_sentences(reading),
        "may_grow": reading.ladder.engine.growing is not None,
        "family": family_of(reading.child) if may_report(staff) else [],
        "support": support,
        "folded": sum(not row.shown for row in support),
        "decides": may_decide(staff),
        "directs": may_direct(staff),
        "is_family": is_family(staff, reading.child),
        "reports": may_report(staff),
        # Of a blank sheet.
        "new_incident": uuid.uuid4(),
        "writes_letters": may_write_letters(staff),
        "seen": notes_on(reading.record.keys, reading.read.day),
        **standing_now(reading),
        **_forms(reading, staff, refused),
    }


def _forms(reading: Reading, staff: Staff, refused: object) -> dict[str, object]:
    """The forms of the page; ``refused`` takes the place of a new one of its kind."""
    snapshot = child_snapshot(reading)
    initial = asdict(snapshot)
    place = refused if isinstance(refused, forms.PlaceForm) else forms.PlaceForm(initial=initial)
    place.offer(
        stages_to_place(reading, decisions.HIGHEST_PLACING),
        surface_choices(reading.ladder),
    )
    seen = {
        "seen_by": staff.called,
        "seen_on": reading.read.day,
        "guardian": reading.child.guardian,
    }
    return {
        "consent_form": refused
        if isinstance(refused, ConsentForm)
        else ConsentForm(reading.read.day, initial=seen),
        "place_form": place,
        "pause_form": refused if isinstance(refused, forms.PauseForm) else forms.PauseForm(),
        "growing_form": refused if isinstance(refused, forms.GrowingForm) else forms.GrowingForm(),
        "elsewhere_form": refused
        if isinstance(refused, forms.ElsewhereForm)
        else forms.ElsewhereForm(),
        "not_tonight_form": forms.NotTonightForm(),
        "told_form": refused
        if isinstance(refused, forms.ToldForm)
        else forms.ToldForm(told_choices(reading)),
        "lift_form": refused
        if isinstance(refused, forms.LiftForm)
        else forms.LiftForm(reading.child.called, initial=initial),
    }


def told_choices(reading: Reading) -> list[tuple[str, str]]:
    """Of what the family may be told: a fall, a stop sign, hands again, or what the ladder says
    can hurt; first what did."""
    hurt = [place for _day, place in reversed(reading.read.state.pains)]
    names = reading.ladder.pain_names
    places = [place for place in dict.fromkeys([*hurt, *names]) if place in names]
    others = [
        (FALL, _("A fall")),
        (STOP_SIGN, _("A stop sign")),
        (HANDS_AGAIN, _("Hands again")),
    ]
    return [*others, *((place, names[place]) for place in places)]


def growing_sentences(reading: Reading) -> list[str]:
    """Since when the child grows fast, and what follows from it; none if it does not."""
    state, rule = reading.read.state, reading.ladder.engine.growing
    if rule is None or state.growing_since is None or not is_growing(state, reading.ladder.engine):
        return []
    return [growing_until(names_of(reading), rule, state.growing_since), growing_fast()]


def hand_contact_sentences(reading: Reading) -> list[str]:
    """What is said of the child's landings on the hands."""
    days = landings(reading.record.tallies, reading.ladder.engine.drills)
    growing = is_growing(reading.read.state, reading.ladder.engine)
    share = HALF_WHILE_GROWING if growing else 1.0
    read = hand_contacts(days, reading.read.day, share)
    return landing_sentences(names_of(reading), read, growing)


def elsewhere_sentences(reading: Reading) -> list[str]:
    """What is beside these landings, and in no count."""
    names = names_of(reading)
    return [
        elsewhere_text(names, each.kind, each.day, each.said_by)
        for each in elsewhere_now(reading.child)
    ]


def stage_for_review(reading: Reading) -> str:
    """The code of the highest stage that waits for people; empty if none does."""
    codes = [stage.stage.code for stage in reading.read.stages if stage.state == FOR_REVIEW]
    return codes[-1] if codes else ""


def stages_to_place(reading: Reading, highest: int) -> list[tuple[str, str]]:
    """The stages a director may place this child at: closed, not signed, not too high."""
    return [
        (str(stage.number), _numbered(reading.ladder, stage))
        for stage in reading.ladder.engine.stages
        if stage.part_of is None
        and not stage.sign_off
        and stage.number <= highest
        and stage.code not in reading.read.state.opened
    ]


def _numbered(ladder: NamedLadder, stage: Stage) -> str:
    return f"{stage.number} · {ladder.stage_names[stage.code]}"
