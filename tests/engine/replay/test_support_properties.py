"""What must hold of support, day after day, on drawn records: each rule asked by itself."""

from hypothesis import given

from readiness.engine.levels import Support
from readiness.engine.replay.state import Cause
from readiness.engine.support import allowed_at_start, allowed_now
from tests.support.engine import oracle
from tests.support.engine.plays import CLASS_DAYS, SURFACES, add_class, at_start, during_day, plays
from tests.support.engine.profiles import SOME
from tests.support.engine.records import day

# The causes that end with a first turn.
FIRST_TURN = ("first-turn", "until-clean", "doubt")


@SOME
@given(plays(), CLASS_DAYS)
def test_support_allowed_never_falls_within_a_day(play, class_day):
    add_class(play, class_day)
    number = play.number
    moments = sorted(
        [each.at for each in play.turns if each.day == day(number)]
        + [event.at for event in play.events if event.day == day(number)]
    )
    before = {}
    for moment in [at_start(number), *moments]:
        state = during_day(play, number, moment)
        turns = [each for each in play.turns if each.day == day(number) and each.at <= moment]
        for drill in play.ladder.drills.values():
            for surface in SURFACES:
                now = allowed_now(drill, state, play.evidence, play.ladder, surface, turns)
                last = before.get((drill.key, surface), now)
                first_turn_over = last.causes and last.causes[-1] in (
                    "first-turn",
                    "until-clean",
                    "doubt",
                    "growing",
                )
                fell_by_rule = first_turn_over and any(each.drill == drill.key for each in turns)
                ends = {("pain",): "pain-gone", ("no-consent",): "consent-yes"}.get(last.causes)
                word_given = any(
                    each.kind == ends and each.day == day(number) and each.at <= moment
                    for each in play.events
                )
                assert now.amount >= last.amount or fell_by_rule or word_given
                before[drill.key, surface] = now


@SOME
@given(plays(), CLASS_DAYS)
def test_support_allowed_is_never_less_than_any_rule_asks(play, class_day):
    add_class(play, class_day)
    number = play.number
    state = during_day(play, number, at_start(number + 1))
    turns = [each for each in play.turns if each.day == day(number)]
    for drill in play.ladder.drills.values():
        for surface in SURFACES:
            now = allowed_now(drill, state, play.evidence, play.ladder, surface, turns)
            for rule, least in asked(play, drill, surface, state, number):
                assert now.amount >= least, rule


NOT_AT_ALL = 4


def asked(play, drill, surface, state, number):
    """(rule, least support) of each rule by itself, from the raw record."""
    ladder, opened, today = play.ladder, state.opened, day(number)
    if paused_by_the_record(play, number):
        yield "paused", NOT_AT_ALL
    if drill.stage not in opened:
        yield "closed", NOT_AT_ALL
        return
    hurting = {place for place in ladder.pains if hurts(play, number, place)}
    barred = {part for place in hurting for part in ladder.pains[place].bars}
    if barred & {*drill.loads, "everything"}:
        yield "pain", NOT_AT_ALL
    hands = [e.kind for e in play.events if e.kind.startswith("consent") and e.day <= today]
    if drill.spotted and hands and hands[-1] == "consent-no":
        yield "no yes to hands", NOT_AT_ALL
    if drill.spotted and any(e.kind == "no-hands" and e.day == today for e in play.events):
        yield "no hands tonight", NOT_AT_ALL
    own = [each for each in play.turns if each.drill == drill.key]
    stops_today = [each for each in oracle.stop_signs(own, ladder) if each.day == today]
    if ladder.stop_sign_finishes and not drill.allow and stops_today:
        yield "finished", NOT_AT_ALL
    all_today = [each for each in play.turns if each.day == today]
    if drill.goes and any(ladder.faults[f].ends_backward for t in all_today for f in t.faults):
        yield "nothing backward", NOT_AT_ALL
    if not drill.allow:
        return
    table = [step.support for step in drill.allow if step.stage in opened]
    yield "the table", min(table)
    begun = [each for each in own if not oracle.is_no_turn(each, ladder)]
    earlier = [each for each in begun if each.day < today]
    of_today = [each for each in own if each.day == today]
    if drill.taught_by_hand and earlier and (today - max(t.day for t in earlier)).days > 28:
        yield "away", Support.HANDS_ON
    since = state.drills[drill.key].open_since
    if since is None:
        yield "needs", NOT_AT_ALL
        return
    start = allowed_at_start(drill, state, ladder, surface).support
    one_more = min(start + 1, Support.HANDS_ON) if start is not None else NOT_AT_ALL
    if len([t for t in of_today if oracle.is_no_turn(t, ladder)]) >= 2:
        yield "stopped before", one_more
    if drill.skill and carried_over(play, drill, all_today):
        yield "doubt today", one_more
    begun_today = [t for t in of_today if not oracle.is_no_turn(t, ladder)]
    if drill.skill and not begun_today and carried_over(play, drill, last_class_day(play, today)):
        yield "doubt last time", one_more
    hardness = [ladder.rank(t.surface) - ladder.rank(surface) for t in earlier if t.clean]
    as_hard = [more for more in hardness if more >= 0]
    if min(hardness, default=0) < 0 and len(as_hard) < ladder.new_surface_clean:
        yield "new surface", Support.STANDING_BY
    if drill.hands_leave_by_tap and not tapped_since_a_stop(play, drill, own, since, today):
        yield "hands leave by a tap", Support.HANDS_ON
    for stop in oracle.stop_signs(own, ladder):
        later = [t for t in own if t.day > stop.day and (t.clean or t.value is not None)]
        gone_by_tomorrow = [t for t in later if t.day < today]
        if stop.day >= since and len(gone_by_tomorrow) < ladder.way_back.clean:
            yield "stop sign", Support.HANDS_ON
    if drill.key == "swing-in-dance":
        own_start = allowed_at_start(ladder.drills["swing"], state, ladder, surface)
        yield "the skill itself", own_start.amount
    for step in drill.allow:
        if step.signed_surface and not first_turn_done(play, of_today, surface):
            yield "first turn", Support.STANDING_BY
        if step.signed_surface and not signed_for(play, step.stage, surface, today):
            yield "no signature", Support.STANDING_BY
        if step.tap and not tapped_or_signed(play, drill, step, today):
            yield "no tap", step.support + 1
        clean_on = [t.day for t in earlier if t.clean or not step.clean_each]
        good = {on for on in clean_on if clean_on.count(on) >= step.clean_each}
        if step.after_days and len(good) < step.after_days:
            yield "first days", step.support + 1


def carried_over(play, drill, turns):
    """A fault that carries, at another skill, often enough; ``turns`` of one day."""
    skills = [key for key, other in play.ladder.drills.items() if other.skill and key != drill.key]
    for key in skills:
        for fault in play.ladder.faults.values():
            seen = [t for t in turns if t.drill == key and fault.key in t.faults]
            if fault.carries and len(seen) >= (2 if fault.before_turn else 1):
                return True
    return False


def last_class_day(play, today):
    """The turns of the latest day before today with a turn, or with doubt."""
    earlier = [
        each
        for each in play.turns
        if each.day < today
        and (
            not oracle.is_no_turn(each, play.ladder)
            or any(
                carried_over(play, drill, [t for t in play.turns if t.day == each.day])
                for drill in play.ladder.drills.values()
            )
        )
    ]
    latest = max((each.day for each in earlier), default=None)
    return [each for each in play.turns if each.day == latest]


def first_turn_done(play, of_today, surface):
    misses = play.ladder.first_turn_misses
    if not misses:
        return bool(of_today)
    outcomes = [
        "done" if t.clean and t.graded and t.support == 1 else "missed" if t.clean is False else ""
        for t in of_today
        if t.surface == surface and not oracle.is_no_turn(t, play.ladder)
    ]
    return "done" in outcomes and outcomes[: outcomes.index("done")].count("missed") < misses


def tapped_since_a_stop(play, drill, own, since, today):
    """True with no stop sign before today, too."""
    stops = [each.day for each in oracle.stop_signs(own, play.ladder)]
    stops = [on for on in stops if since <= on < today]
    taps = [e.day for e in play.events if (e.kind, e.drill) == ("step", drill.key)]
    return not stops or any(max(stops) < on < today for on in taps)


def hurts(play, number, place):
    """Told today; or before, and neither said to be gone on a later day nor lifted since."""
    about = [e for e in play.events if e.place == place or e.kind == "lift"]
    told = [e for e in about if e.kind == "pain" and e.day <= day(number)]
    if not told:
        return False
    last = max(told, key=lambda each: each.at)
    gone = any(last.day < e.day <= day(number) for e in about if e.kind == "pain-gone")
    lifted = any(last.at < e.at and e.day < day(number) for e in about if e.kind == "lift")
    return last.day == day(number) or (play.ladder.pain_ask and not gone and not lifted)


def paused_by_the_record(play, number):
    """By the pauses, lifts and sore places told, in their order; a lift ends it tomorrow."""
    paused, sore = False, []
    for event in sorted(play.events, key=lambda each: (each.at, each.id)):
        if event.day > day(number):
            continue
        if event.kind == "lift" and event.day < day(number):
            paused, sore = False, []
        if event.kind == "pause":
            paused = True
        if event.kind == "pain":
            again = any(
                place == event.place and 0 < (event.day - on).days <= 21 for on, place in sore
            )
            paused = paused or again or event.place in ("head", "neck", "back-fall")
            sore.append((event.day, event.place))
    return paused


def signed_for(play, stage, surface, today):
    """A signature before today for this surface or a harder one, not sent back since."""
    signed = False
    for event in sorted(play.events, key=lambda each: (each.at, each.id)):
        if event.stage != stage or event.day > today:
            continue
        if event.kind == "sign" and event.day < today:
            signed = signed or play.ladder.rank(event.surface) >= play.ladder.rank(surface)
        if event.kind == "send-back":
            signed = False
    return signed


def tapped_or_signed(play, drill, step, today):
    taps = [
        event
        for event in play.events
        if (event.kind, event.drill) == ("step", drill.key) and event.day < today
    ]
    signatures = [event for event in play.events if event.kind == "sign" and event.day < today]
    return any(tap.support == step.support for tap in taps) or bool(signatures)


@SOME
@given(plays(), CLASS_DAYS)
def test_what_a_day_ends_with_is_what_the_next_begins_with(play, class_day):
    """A fall that stands at the day's end asks for as much the next morning."""
    add_class(play, class_day)
    evening, morning = play.read(play.number), play.state(play.number + 1)
    for each in evening.support:
        stops = [cause for cause in each.allowed.falls if cause.code == "stop-sign"]
        drill = play.ladder.drills[each.drill]
        if not stops or drill.stage not in morning.opened or morning.paused_since:
            continue
        next_day = allowed_now(drill, morning, play.evidence, play.ladder, each.surface)
        assert next_day.amount >= Support.HANDS_ON


@SOME
@given(plays(), CLASS_DAYS)
def test_lately_asks_for_one_step_whatever_falls(play, class_day):
    """Falls of one drill on one day ask for the same on every surface, then and tomorrow."""
    add_class(play, class_day)
    evening = play.read(play.number)
    by_drill = {}
    for each in evening.support:
        for cause in each.allowed.falls:
            if cause.code == "lately" and not play.ladder.drills[each.drill].key.endswith("dance"):
                by_drill.setdefault(each.drill, set()).add(cause.asks)
    for drill, asks in by_drill.items():
        assert len(asks) == 1
        back = play.state(play.number + 1).way_back(drill)
        lately_tomorrow = [c for c in back.causes if lately_of(c, play)] if back else []
        assert all(cause.asks in asks for cause in lately_tomorrow)


def lately_of(cause: Cause, play) -> bool:
    return cause.code == "lately" and cause.day == day(play.number)
