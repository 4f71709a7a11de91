"""What holds the whole child now: a pause, what hurts today, hands that nobody said yes to.

Shared: used by the child's page and the evidence page.
"""

from readiness.child.consent import consent_now
from readiness.child.forms import SoreForm
from readiness.child.lookup import names_of
from readiness.engine.support import asked_about
from readiness.record.latest_events import latest_events
from readiness.record.standings import Reading
from readiness.words.head import head_step_now
from readiness.words.pauses import gone_or_still_there, hurts_today, pause_ends, why_paused
from studio.people.children import cautions_of


def standing_now(reading: Reading) -> dict[str, object]:
    """How far the child is after a head knock, empty with none; a pause with its reason and its
    end, else what hurts today and what is still to be asked about, empty where there is none; and
    the answer to hands-on spotting and the desk's caution."""
    names, state = names_of(reading), reading.read.state
    since, consent = state.paused_since, consent_now(reading.child, state.day)
    caution = cautions_of([reading.child])[reading.child.pk]
    head = "" if state.head_step is None else head_step_now(state.head_step)
    if since is None:
        places = [place for day, place in state.pains if day == state.day]
        return {
            "paused_since": None,
            "head_now": head,
            "hurts_today": hurts_today(names, places),
            "asked": [
                (gone_or_still_there(names, place, day), SoreForm(initial={"place": place}))
                for place, day in asked_about(state, reading.ladder.engine).items()
            ],
            "consent": consent,
            "caution": caution,
        }
    events = latest_events([reading.child.pk])[reading.child.pk]
    lift = events.lift_under_way(state.day)
    return {
        "paused_since": since,
        "head_now": head,
        "why_paused": why_paused(names, events, since),
        "pause_ends": pause_ends(lift.by) if lift else "",
        "consent": consent,
        "caution": caution,
    }
