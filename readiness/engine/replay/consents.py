"""What a family answers about a coach's hands, and a child's own "no hands tonight"."""

from collections.abc import Iterable
from dataclasses import replace

from readiness.engine.ladder import Ladder
from readiness.engine.levels import Support
from readiness.engine.replay.events import Event
from readiness.engine.replay.re_check import start_hands_on
from readiness.engine.replay.state import Cause, ChildState

# They can come long before a child's first class, and begin no record.
ABOUT_HANDS = ("consent-yes", "consent-no", "no-hands")


def apply_consent(state: ChildState, event: Event, ladder: Ladder) -> None:
    """A yes after a no: from hands-on again at every drill that is open and taught by hand. Not
    after a season in which nobody was asked, where nobody had said no."""
    if event.kind == "consent-no":
        refused = event.asked or state.consent == "no"
        state.consent = "no" if refused else "not-asked"
    elif event.kind == "consent-yes":
        if state.consent == "no":
            cause = Cause("consent-again", event.day, (), Support.HANDS_ON)
            start_hands_on(state, cause, ladder)
        state.consent = "yes"


def with_todays_hands(state: ChildState, today: Iterable[Event], ladder: Ladder) -> ChildState:
    """The state with what was said of hands today: all of it counts at once."""
    said = [event for event in today if event.kind in ABOUT_HANDS]
    if not said:
        return state
    drills = {key: replace(drill_state) for key, drill_state in state.drills.items()}
    now = replace(state, drills=drills)
    for event in said:
        apply_consent(now, event, ladder)
        now.no_hands = now.no_hands or event.kind == "no-hands"
    return now
