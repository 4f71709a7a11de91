"""What holds the whole child now: a pause, or what hurts today.

Shared: used by the child's page and the evidence page.
"""

from readiness.child.lookup import names_of
from readiness.record.latest_events import latest_events
from readiness.record.standings import Reading
from readiness.words.pauses import hurts_today, pause_ends, why_paused


def standing_now(reading: Reading) -> dict[str, object]:
    """A pause with its reason and its end, else what hurts today; empty where there is none."""
    names, state = names_of(reading), reading.read.state
    since = state.paused_since
    if since is None:
        places = [place for day, place in state.pains if day == state.day]
        return {"paused_since": None, "hurts_today": hurts_today(names, places)}
    events = latest_events([reading.child.pk])[reading.child.pk]
    lift = events.lift_under_way(state.day)
    return {
        "paused_since": since,
        "why_paused": why_paused(names, events, since),
        "pause_ends": pause_ends(lift.by) if lift else "",
    }
