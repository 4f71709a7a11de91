"""What sends a drill to re-check: absence, a stop sign, lately."""

import datetime
from dataclasses import replace

from readiness.engine.evidence import Evidence
from readiness.engine.ladder import Drill, Ladder
from readiness.engine.levels import Support
from readiness.engine.replay.state import ONE_DAY, Cause, ChildState, DrillState, WayBack
from readiness.engine.support import (
    has_fallen,
    is_open,
    lately_asks,
    open_stages,
    watched_before,
    watched_days,
    watches,
)


def check_absence(
    state: ChildState, drill_state: DrillState, drill: Drill, evidence: Evidence, ladder: Ladder
) -> None:
    """Too long without a turn: hands-on; longer still: the director looks again."""
    opened = drill_state.open_since
    if opened is None:
        return
    last = max(opened, evidence.last_day(drill.key, state.day - ONE_DAY) or opened)
    if (state.day - last).days <= ladder.way_back.away_days:
        return
    director = (state.day - last).days > ladder.way_back.away_review_days
    back = drill_state.way_back
    if back and any(cause.code == "away" and cause.day > last for cause in back.causes):
        drill_state.way_back = replace(back, director=back.director or director)
        return
    after = last + datetime.timedelta(days=ladder.way_back.away_days)
    stages = open_stages(drill, state, ladder)
    cause = Cause("away", after + ONE_DAY, stages, Support.HANDS_ON)
    add_cause(drill_state, cause, after, director)


def check_stop_signs(
    state: ChildState, drill_state: DrillState, drill: Drill, evidence: Evidence, ladder: Ladder
) -> None:
    if not evidence.stop_signs(drill.key, state.day):
        return
    rule = ladder.way_back
    recent = sum(
        evidence.stop_signs(drill.key, day)
        for day in evidence.days(drill.key, state.day)
        if (state.day - day).days <= rule.stops_within
    )
    stages = open_stages(drill, state, ladder)
    cause = Cause("stop-sign", state.day, stages, Support.HANDS_ON)
    director = _count_fall(drill_state, state.day, ladder) or recent >= rule.stops
    add_cause(drill_state, cause, state.day, director)


def check_lately(
    state: ChildState, drill_state: DrillState, drill: Drill, evidence: Evidence, ladder: Ladder
) -> None:
    """Under half of what knowing nothing would give: one step more."""
    if not evidence.on(drill.key, state.day):
        return
    fallen = [
        watch
        for watch in watches(drill, state, ladder)
        if has_fallen(
            watched_days(watch, state, evidence, ladder, state.day),
            state.day,
            watch.rate,
            ladder,
            watched_before(watch, state, evidence),
        )
    ]
    if not fallen:
        return
    stages = tuple(dict.fromkeys(watch.stage for watch in fallen))
    cause = Cause("lately", state.day, stages, lately_asks(drill, state, ladder))
    add_cause(drill_state, cause, state.day, _count_fall(drill_state, state.day, ladder))


def _count_fall(drill_state: DrillState, day: datetime.date, ladder: Ladder) -> bool:
    """True if with this one there were so many days with a fall that the director looks."""
    rule = ladder.way_back
    recent = {fall for fall in drill_state.falls if (day - fall).days <= rule.re_checks_within}
    drill_state.falls = tuple(sorted(recent | {day}))
    return 0 < rule.re_checks <= len(drill_state.falls)


def start_hands_on(state: ChildState, cause: Cause, ladder: Ladder) -> None:
    """From hands-on again at every drill that is open and taught by hand."""
    for key, drill_state in state.drills.items():
        drill = ladder.drills.get(key)
        if drill is None or drill_state.open_since is None:
            continue
        if drill.taught_by_hand and is_open(drill, state):
            add_cause(drill_state, cause, cause.day, director=False)


def add_cause(drill_state: DrillState, cause: Cause, after: datetime.date, director: bool) -> None:
    """Several causes ask for the most support of all; what is watched starts again."""
    back = drill_state.way_back or WayBack(cause.asks, after, ())
    drill_state.way_back = back.with_cause(cause, after, director)
    drill_state.watched_from = dict.fromkeys(drill_state.watched_from, after + ONE_DAY)
