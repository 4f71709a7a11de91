"""The record before a day summed up, for a tablet that reads on by itself during the day.

Shared: used by the floor's pack. Plain data, and little of it: the turns of earlier days are
summed up as the day's own turns will need them. ``gate_now.js`` and ``support_now.js`` under
static/floor/ add the day's turns to it, by the rules of gates/ and support.py. Surfaces are
given as ranks, easiest first.
"""

import datetime
from typing import Any

from readiness.engine.carry_over import has_doubt
from readiness.engine.clean_rate import decayed_sums
from readiness.engine.evidence import Evidence
from readiness.engine.gates import Gate, Record
from readiness.engine.gates.common import UNMET_MOST, AuthorMark
from readiness.engine.growing import is_growing
from readiness.engine.ladder import Drill, Ladder
from readiness.engine.levels import Support
from readiness.engine.reading import StageReading
from readiness.engine.replay.state import ChildState
from readiness.engine.support import (
    FALL_SHARE,
    STOPPED_BEFORE,
    Watch,
    allowed_at_start,
    first_turn_support,
    lately_asks,
    open_stages,
    skills_behind,
    watched_before,
    watched_days,
    watches,
)

Data = dict[str, Any]


# --- rules, the same for every child -------------------------------------------------


def rules(ladder: Ladder) -> Data:
    """What the ladder asks of turns: decay, stop signs, gates, the skills behind others."""
    drills = ladder.drills.values()
    behind = {drill.key: [skill.key for skill in skills_behind(drill, ladder)] for drill in drills}
    return {
        "memory": {
            "days": ladder.memory_days,
            "lately": ladder.lately_days,
            "time": ladder.memory_time,
            "correlation": ladder.day_correlation,
        },
        "fall_share": FALL_SHARE,
        "unmet_most": UNMET_MOST,
        "stops": {fault: kind for fault, kind in ladder.stops.items() if kind != "no"},
        "carries": ladder.carrying,
        "skills": [drill.key for drill in drills if drill.skill],
        "ends": [fault.key for fault in ladder.faults.values() if fault.ends_backward],
        "asks_head": [fault.key for fault in ladder.faults.values() if fault.asks_head],
        "goes": [drill.key for drill in drills if drill.goes],
        # Not before this step of the way back after a head knock.
        "after_head": {drill.key: drill.after_head for drill in drills},
        "finishes": ladder.stop_sign_finishes,
        "first_misses": ladder.first_turn_misses,
        "stopped_before": STOPPED_BEFORE,
        "behind": {key: skills for key, skills in behind.items() if skills},
        "gates": {
            gate.code: rule
            for stage in ladder.stages
            for gate in stage.gates
            if (rule := gate.tablet_rule()) is not None
        },
        # The drill that is graded anew for a child who grows fast.
        "grows": ladder.growing.drill if ladder.growing else None,
        "loads": {drill.key: sorted(drill.loads) for drill in drills if drill.loads},
        "spotted": [drill.key for drill in drills if drill.spotted],
        "bars": {place: sorted(pain.bars) for place, pain in ladder.pains.items() if pain.bars},
    }


# --- gates ---------------------------------------------------------------------------


def gate_start(
    gate: Gate,
    stage: StageReading,
    evidence: Evidence,
    day: datetime.date,
    ladder: Ladder,
    author_mark: AuthorMark,
) -> Data:
    """What the days before ``day`` give a gate of a stage.

    Before a signature every gate that asks for a surface is given, since the tablet chooses
    the surface as the server does. author_mark: what tells an author from the others.
    """
    record = Record(evidence, ladder, day, _yesterday(day))
    opening = stage.opening
    signed_for = opening.surface if opening is not None and stage.stage.sign_off else None
    if not gate.asks_surface or signed_for is not None:
        surface = signed_for if gate.asks_surface else None
        before = gate.tablet_start(record, [surface], author_mark)
        return {"code": gate.code, "rank": ladder.rank(surface), "before": before}
    asking = [other for other in stage.stage.gates if other.asks_surface]
    used = sorted(evidence.surfaces(asking[0].drill, record.until), key=ladder.rank)
    return {
        "code": gate.code,
        "used": sorted({ladder.rank(surface) for surface in used}),
        "asking": [
            {"code": other.code, "before": other.tablet_start(record, used, author_mark)}
            for other in asking
        ],
    }


# --- support -------------------------------------------------------------------------


def support_start(
    drill: Drill, state: ChildState, evidence: Evidence, ladder: Ladder
) -> Data | None:
    """The support before the first turn of the state's day, and what may ask for more.

    None where turns change nothing: the drill is closed, or asks for no support.
    """
    starts = {
        surface: allowed_at_start(drill, state, ladder, surface) for surface in ladder.surfaces
    }
    if not drill.allow or all(start.support is None for start in starts.values()):
        return None
    firsts = {s: first_turn_support(drill, state, s, ladder) for s in ladder.surfaces}
    return {
        "allowed": {s: _amount(start.support) for s, start in starts.items()},
        "causes": {s: list(start.causes) for s, start in starts.items() if start.causes},
        "first": {s: int(first) for s, first in firsts.items() if first is not None},
        "doubt": has_doubt(drill, state, ladder, ()),
        **_growing(drill, state, ladder),
        "asks": int(lately_asks(drill, state, ladder)),
        "stages": list(open_stages(drill, state, ladder)),
        "watch": [
            _watch(watch, state, evidence, ladder) for watch in watches(drill, state, ladder)
        ],
    }


def _growing(drill: Drill, state: ChildState, ladder: Ladder) -> Data:
    """Nothing where it changes nothing."""
    if ladder.growing is None or not drill.taught_by_hand:
        return {}
    return {"growing": is_growing(state, ladder)}


def _watch(watch: Watch, state: ChildState, evidence: Evidence, ladder: Ladder) -> Data:
    days = watched_days(watch, state, evidence, ladder, _yesterday(state.day))
    return {
        "stage": watch.stage,
        "rate": watch.rate,
        "support": int(watch.scope.support),
        "rank": ladder.rank(watch.scope.surface),
        "graded": watch.scope.graded,
        "sums": decayed_sums(
            days,
            state.day,
            ladder.short_decay,
            watched_before(watch, state, evidence),
        ),
    }


def recent_pain_places(state: ChildState, ladder: Ladder) -> list[str]:
    """Places that hurt on earlier days, so that the same one reported today is a pause."""
    places = {
        place for day, place in state.pains if 0 < (state.day - day).days <= ladder.pain_again_days
    }
    return sorted(places)


def _amount(support: Support | None) -> int | None:
    return None if support is None else int(support)


def _yesterday(day: datetime.date) -> datetime.date:
    return day - datetime.timedelta(days=1)
