"""How much support a child gets at a drill, before and during a day."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

from readiness.engine import first_turn
from readiness.engine.carry_over import ends_tonight, has_doubt
from readiness.engine.clean_rate import DayTurns, DecayedCounts, lately
from readiness.engine.evidence import Evidence, Scope
from readiness.engine.growing import is_growing
from readiness.engine.ladder import Allowance, Drill, Ladder
from readiness.engine.levels import Support
from readiness.engine.replay.state import Cause, ChildState
from readiness.engine.tallies import Turn, in_order, is_no_turn, stop_sign_ids

# Lately is a fall when it is under this share of what knowing nothing would give (1 - rate).
FALL_SHARE = 0.5
# A child who stopped so often before a turn is given one step more.
STOPPED_BEFORE = 2


@dataclass(frozen=True)
class Allowed:
    """The least support for the next turn, or None: not this drill, not now.

    causes: codes that say why it is more than the open stages alone would ask.
    falls: what today's turns add to the causes of re-check.
    """

    support: Support | None
    causes: tuple[str, ...] = ()
    falls: tuple[Cause, ...] = ()

    def with_at_least(self, support: Support, cause: str) -> "Allowed":
        """The same with at least that support, if it is not less."""
        if self.support is None or support <= self.support:
            return self
        return replace(self, support=support, causes=(*self.causes, cause))

    @property
    def amount(self) -> int:
        """For comparing: nothing allowed is more cautious than hands-on."""
        return Support.HANDS_ON + 1 if self.support is None else int(self.support)


@dataclass(frozen=True)
class Watch:
    """A clean rule that is watched with the short memory: of a stage's own gate, or of a
    step that was given inside a stage."""

    name: str
    drill: str
    stage: str
    rate: float
    scope: Scope


def granted(drill: Drill, state: ChildState) -> list[Allowance]:
    """The steps of a drill's allowance that this child has been given."""
    steps = state.drills[drill.key].steps if drill.key in state.drills else set()
    return [
        step
        for step in drill.allow
        if step.stage in state.opened and (step.code in steps or not step.waits)
    ]


def base(drill: Drill, state: ChildState, ladder: Ladder, surface: str | None) -> Support | None:
    """What the open stages alone allow; with no surface, on the easiest that any allows."""
    allowed = [
        step.support
        for step in granted(drill, state)
        if not step.signed_surface or _covers(state, step, ladder, surface)
    ]
    return min(allowed, default=None)


def _covers(state: ChildState, step: Allowance, ladder: Ladder, surface: str | None) -> bool:
    signed = state.opened[step.stage].surface
    if signed is None:
        return False
    return surface is None or ladder.rank(surface) <= ladder.rank(signed)


def watches(drill: Drill, state: ChildState, ladder: Ladder) -> list[Watch]:
    """The clean rules of this drill that are watched: its open stages' own, and its steps'."""
    watched = []
    for stage, gate in ladder.own_rules.get(drill.key, ()):
        if stage.code in state.opened:
            scope = gate.scope(state.opened[stage.code].surface)
            watched.append(Watch(gate.code, drill.key, stage.code, gate.rule.rate, scope))
    for step in granted(drill, state):
        if step.steady is not None:
            name = f"{drill.key}.{step.code}"
            rate = ladder.practice.rate
            watched.append(Watch(name, drill.key, step.stage, rate, Scope(step.steady)))
    return watched


def watched_days(
    watch: Watch, state: ChildState, evidence: Evidence, ladder: Ladder, until: datetime.date
) -> list[DayTurns]:
    """The days since the stage or step was opened, or since the last fall."""
    since = state.drills[watch.drill].watched_from.get(watch.name)
    days = evidence.clean_days(watch.drill, ladder, until, watch.scope)
    return [entry for entry in days if since is not None and entry[0] >= since]


def watched_before(watch: Watch, state: ChildState, evidence: Evidence) -> DecayedCounts | None:
    """The same of the days that the evidence has summed up."""
    since = state.drills[watch.drill].watched_from.get(watch.name)
    return None if since is None else evidence.decayed_since(watch.drill, watch.scope, since)


def has_fallen(
    days: Sequence[DayTurns],
    today: datetime.date,
    rate: float,
    ladder: Ladder,
    before: DecayedCounts | None = None,
) -> bool:
    """True if lately is under half of what knowing nothing would give."""
    if not days and before is None:
        return False
    memory = ladder.lately_days, ladder.memory_time, ladder.day_correlation
    now = lately(days, today, rate, *memory, before)
    return round(now, 6) < (1 - rate) * FALL_SHARE


def allowed_at_start(drill: Drill, state: ChildState, ladder: Ladder, surface: str) -> Allowed:
    """The support before the first turn of the state's day."""
    barred_by = out_of_reach(drill, state, ladder)
    if barred_by is not None:
        return Allowed(None, (barred_by,))
    if not drill.allow:
        return Allowed(Support.UNSPOTTED)
    return _with_hands_allowed(_with_way_back(drill, state, ladder, surface), state)


def out_of_reach(drill: Drill, state: ChildState, ladder: Ladder) -> str | None:
    """Why the drill is not allowed at all on the state's day, on whatever surface; None if it
    may be."""
    if state.paused_since is not None:
        return "paused"
    if not is_open(drill, state):
        return "closed"
    if state.head_step is not None and state.head_step < drill.after_head:
        return "after-head"
    if barred(drill, state, ladder, state.day):
        return "pain"
    return _hands_refused(state) if drill.spotted else None


def _with_hands_allowed(allowed: Allowed, state: ChildState) -> Allowed:
    """Nothing at all where hands are asked for and there is no yes to them, or not tonight."""
    refused = _hands_refused(state)
    if refused is None or allowed.support is None or allowed.support < Support.LIGHT_TOUCH:
        return allowed
    return Allowed(None, (refused,), allowed.falls)


def _hands_refused(state: ChildState) -> str | None:
    if state.consent in ("no", "not-asked"):
        return "no-consent"
    return "no-hands" if state.no_hands else None


def _with_way_back(drill: Drill, state: ChildState, ladder: Ladder, surface: str) -> Allowed:
    support = base(drill, state, ladder, surface)
    if support is None:
        return Allowed(None, ("closed",))
    causes: list[str] = []
    back = state.way_back(drill.key)
    if back and back.level > support:
        support = back.level
        causes = [cause.code for cause in back.causes]
    allowed = Allowed(support, tuple(dict.fromkeys(causes)))
    if state.head_step is not None and drill.taught_by_hand:
        allowed = allowed.with_at_least(Support.HANDS_ON, "head-knock")
    if is_new_surface(drill, state, ladder, surface):
        allowed = allowed.with_at_least(one_step_more(support), "new-surface")
    for skill in skills_behind(drill, ladder):
        allowed = _the_more_cautious(allowed, allowed_at_start(skill, state, ladder, surface))
    return allowed


def is_new_surface(drill: Drill, state: ChildState, ladder: Ladder, surface: str) -> bool:
    """True if a child who was clean at the drill on easier surfaces has not been so often enough
    on this one or a harder one."""
    rank, clean = ladder.rank(surface), state.clean_on.get(drill.key, {})
    as_hard = sum(turns for key, turns in clean.items() if ladder.rank(key) >= rank)
    return as_hard < ladder.new_surface_clean and as_hard < sum(clean.values())


def skills_behind(drill: Drill, ladder: Ladder) -> list[Drill]:
    """A walkover in a dance asks for no less than the walkover itself; a drill that only
    leads to a skill may mend what went wrong in it, and is left alone."""
    stage = ladder.stage.get(drill.stage)
    if stage is None or not drill.skill or drill.key in stage.skills:
        return []
    return [ladder.drills[key] for key in stage.skills]


def is_open(drill: Drill, state: ChildState) -> bool:
    """Its stage is open, and what else it needs has been met once."""
    if drill.stage not in state.opened:
        return False
    return not drill.needs or _has_opened(drill, state)


def _has_opened(drill: Drill, state: ChildState) -> bool:
    drill_state = state.drills.get(drill.key)
    return drill_state is not None and drill_state.open_since is not None


def barred(drill: Drill, state: ChildState, ladder: Ladder, day: datetime.date) -> bool:
    """True if something that hurts today, or hurt before and is not gone, forbids what this
    drill loads."""
    today = [place for reported_on, place in state.pains if reported_on == day]
    hurting = {*today, *asked_about(state, ladder)} & ladder.pains.keys()
    return any(ladder.pains[place].bars_drill(drill) for place in hurting)


def asked_about(state: ChildState, ladder: Ladder) -> dict[str, datetime.date]:
    """The places that hurt on an earlier day, with that day: gone, or still there? Not those
    that hurt today as well."""
    if not ladder.pain_ask or not state.sore:
        return {}
    today = {place for day, place in state.pains if day == state.day}
    return {place: day for place, day in state.sore.items() if place not in today}


def allowed_now(
    drill: Drill,
    state: ChildState,
    evidence: Evidence,
    ladder: Ladder,
    surface: str,
    today: Sequence[Turn] = (),
    meeting: int | None = None,
) -> Allowed:
    """The support for the next turn of the state's day.

    ``today`` holds the day's unstruck turns, at all drills; ``evidence`` what came before (later
    tallies are ignored). What asks for more support counts at once and is not given back on the
    same day, but for what only a first turn asks. ``meeting``: of which class's date the turn is;
    a second class on one day has a first turn of its own.
    """
    raised = _during(drill, state, evidence, ladder, surface, today)
    for skill in skills_behind(drill, ladder):
        behind = _during(skill, state, evidence, ladder, surface, today)
        raised = _the_more_cautious(raised, behind)
    if raised.support is None:
        return raised
    if ends_tonight(drill, ladder, today):
        return Allowed(None, ("nothing-backward",), raised.falls)
    if drill.allow and has_doubt(drill, state, ladder, today):
        start = allowed_at_start(drill, state, ladder, surface).support or Support.UNSPOTTED
        raised = raised.with_at_least(one_step_more(start), "doubt")
    first = first_turn_support(drill, state, surface, ladder)
    if first is not None and not first_turn.is_done(
        drill.key, today, first, surface, meeting, ladder
    ):
        cause = "until-clean" if ladder.first_turn_misses else "first-turn"
        raised = raised.with_at_least(first, cause)
    begun = first_turn.has_begun(drill.key, today, ladder)
    if drill.taught_by_hand and not begun and is_growing(state, ladder):
        raised = raised.with_at_least(one_step_more(Support(raised.amount)), "growing")
    return _with_hands_allowed(raised, state)


def _during(
    drill: Drill,
    state: ChildState,
    evidence: Evidence,
    ladder: Ladder,
    surface: str,
    today: Sequence[Turn],
) -> Allowed:
    """A drill by itself, after the day's turns at it."""
    start = allowed_at_start(drill, state, ladder, surface)
    turns = [turn for turn in today if turn.drill == drill.key]
    if start.support is None or not turns:
        return start
    if not drill.allow:
        finished = ladder.stop_sign_finishes and stop_sign_ids(turns, ladder.stops)
        return Allowed(None, ("finished-tonight",)) if finished else start
    return _raise_during(start, drill, state, evidence, ladder, turns)


def _the_more_cautious(own: Allowed, behind: Allowed) -> Allowed:
    falls = (*own.falls, *behind.falls)
    if behind.amount <= own.amount:
        return replace(own, falls=falls)
    causes = tuple(dict.fromkeys([*own.causes, *behind.causes]))
    return Allowed(behind.support, causes, falls)


def first_turn_support(
    drill: Drill, state: ChildState, surface: str, ladder: Ladder
) -> Support | None:
    for step in granted(drill, state):
        if step.first_turn is not None and _covers(state, step, ladder, surface):
            return step.first_turn
    return None


def _raise_during(
    start: Allowed,
    drill: Drill,
    state: ChildState,
    evidence: Evidence,
    ladder: Ladder,
    turns: Sequence[Turn],
) -> Allowed:
    """Walk through the day's turns: each stop sign and each fall of lately asks for more."""
    support, falls = start.support, list(start.falls)
    codes = list(start.causes)
    asked_by_lately = lately_asks(drill, state, ladder)
    stopped = stop_sign_ids(turns, ladder.stops)
    fallen: set[str] = set()
    walked: list[Turn] = []
    not_begun = 0
    for turn in in_order(turns):
        if is_no_turn(turn, ladder.stops):
            not_begun += 1
            asked = one_step_more(start.support or Support.UNSPOTTED)
            if not_begun == STOPPED_BEFORE and support is not None and asked > support:
                support = asked
                codes.append("stopped-before")
            continue
        walked.append(turn)
        if turn.id in stopped:
            support, code = _after_stop_sign(support)
            codes.append(code)
            stages = open_stages(drill, state, ladder)
            falls.append(Cause("stop-sign", state.day, stages, Support.HANDS_ON))
        for watch in watches(drill, state, ladder):
            if watch.name in fallen or not _fell_at(watch, state, evidence, ladder, walked):
                continue
            fallen.add(watch.name)
            falls.append(Cause("lately", state.day, (watch.stage,), asked_by_lately))
            if support is not None and asked_by_lately > support:
                support = asked_by_lately
                codes.append("lately")
    return Allowed(support, tuple(dict.fromkeys(codes)), tuple(falls))


def _after_stop_sign(support: Support | None) -> tuple[Support | None, str]:
    """Hands-on, and with hands on already the end for today."""
    if support in (Support.HANDS_ON, None):
        return None, "finished-tonight"
    return Support.HANDS_ON, "stop-sign"


def lately_asks(drill: Drill, state: ChildState, ladder: Ladder) -> Support:
    """One step more than the day began with, where least is allowed; however often in a day
    and by whatever is watched, it is one step."""
    least = base(drill, state, ladder, None)
    back = state.way_back(drill.key)
    level = back.level if back else Support.UNSPOTTED
    return one_step_more(max(least or Support.UNSPOTTED, level))


def one_step_less(support: Support) -> Support:
    return Support(max(support - 1, Support.UNSPOTTED))


def one_step_more(support: Support) -> Support:
    return Support(min(support + 1, Support.HANDS_ON))


def open_stages(drill: Drill, state: ChildState, ladder: Ladder) -> tuple[str, ...]:
    """The open stages whose own skill this drill is."""
    return tuple(
        stage.code
        for stage in ladder.stages
        if drill.key in stage.skills and stage.code in state.opened
    )


def _fell_at(
    watch: Watch,
    state: ChildState,
    evidence: Evidence,
    ladder: Ladder,
    walked: Sequence[Turn],
) -> bool:
    before = state.day - datetime.timedelta(days=1)
    days = watched_days(watch, state, evidence, ladder, before)
    scope = watch.scope
    counted = [
        turn
        for turn in walked
        if turn.support <= scope.support
        and (turn.graded or not scope.graded)
        and (scope.surface is None or ladder.rank(turn.surface) >= ladder.rank(scope.surface))
    ]
    if not counted:
        return False
    clean = sum(turn.clean is True for turn in counted)
    days = [*days, (state.day, len(counted), clean)]
    old = watched_before(watch, state, evidence)
    return has_fallen(days, state.day, watch.rate, ladder, old)
