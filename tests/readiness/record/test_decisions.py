"""Decisions: what each verb keeps, and what it refuses with nothing stored."""

import datetime

import pytest

from readiness.models import Decision, Pause, PauseLift, Placing, Standing
from readiness.record import decisions
from readiness.record.decisions import DecisionRefused
from readiness.record.snapshots import child_snapshot, stage_snapshot
from readiness.record.standings import digest_of, read
from readiness.record.two_people.signing import surfaces_met
from studio.people.family import end_family, family_on_staff, say_family
from tests.support.cast import NOW, TODAY
from tests.support.deciding import LATER, at_once, recommend, seen, sign
from tests.support.ready import MAT, place_at, ready_to_be_signed

TOMORROW = TODAY + datetime.timedelta(days=1)


@pytest.fixture
def mai(cast, log):
    ready_to_be_signed(cast, log)
    return cast.mai


def refused(verb, *args, **more):
    """The code of the refusal; nothing may be stored by it."""
    before = [table.objects.count() for table in (Decision, Placing, Pause, PauseLift)]
    with pytest.raises(DecisionRefused) as refusal:
        verb(*args, **more)
    assert [table.objects.count() for table in (Decision, Placing, Pause, PauseLift)] == before
    return refusal.value.code


def test_the_cast_is_for_review(mai):
    assert read(mai, TODAY).read.stage("4").state == "for-review"


# --- recommend -------------------------------------------------------------------------


def test_a_recommendation_keeps_the_reading_its_digest_and_the_ladder(cast, mai):
    decision = recommend(mai, cast.omar)
    assert decision.digest == digest_of(decision.reading) == seen(mai).digest
    assert decision.reading["stage"]["state"] == "for-review"
    assert decision.reading["ladder"] == decision.ladder.number == 1
    assert (decision.day, decision.as_director) == (TODAY, False)


def test_an_assistant_may_not_recommend(cast, mai):
    assert refused(recommend, mai, cast.tam) == "may-not"


def test_a_stage_with_an_unmet_gate_is_not_recommended(cast, mai):
    assert refused(recommend, cast.ilse, cast.omar) == "not-for-review"


def test_a_stage_that_needs_no_signature_is_not_recommended(cast, mai):
    assert refused(recommend, mai, cast.omar, stage="5") == "not-for-review"


def test_a_second_recommendation_is_told_of_the_first(cast, mai):
    recommend(mai, cast.omar)
    assert refused(recommend, mai, cast.petra) == "already-decided"


def test_a_harder_surface_than_the_turns_were_on_is_refused(cast, mai):
    assert refused(recommend, mai, cast.omar, surface="hard-floor") == "surface-not-met"
    assert refused(recommend, mai, cast.omar, surface="moon") == "surface-not-met"


# --- sign ------------------------------------------------------------------------------


def test_a_director_signs_what_somebody_else_recommended_and_it_opens_tomorrow(cast, mai):
    recommendation = recommend(mai, cast.omar)
    decision = sign(mai, cast.petra)
    assert (decision.answers, decision.as_director) == (recommendation, True)
    assert read(mai, TODAY).read.stage("4").state == "for-review"
    assert read(mai, TOMORROW).read.stage("4").state == "open"
    assert read(mai, TOMORROW).read.stage("4").opening.surface == MAT
    assert Standing.objects.get(child=mai).read_on == TODAY


def test_a_coach_may_not_sign(cast, mai):
    recommend(mai, cast.omar)
    assert refused(sign, mai, cast.ines) == "may-not"


def test_the_recommender_never_signs(cast, mai):
    recommend(mai, cast.petra)
    assert refused(sign, mai, cast.petra) == "same-person"
    assert sign(mai, cast.luis).by == cast.luis


def test_nothing_is_signed_without_a_recommendation(cast, mai):
    assert refused(sign, mai, cast.petra) == "no-recommendation"


def test_a_recommendation_that_was_sent_back_is_no_longer_one(cast, mai, log):
    recommend(mai, cast.omar)
    decisions.send_back(mai, "4", cast.luis, seen(mai), LATER, "on the line first")
    day = TODAY + datetime.timedelta(weeks=1)
    log(mai, "back-walkover", "1", day=day, support=1, surface=MAT)
    before = stage_snapshot(read(mai, day), "4")
    now = LATER + datetime.timedelta(weeks=1)
    assert read(mai, day).read.stage("4").state == "for-review"
    assert refused(sign, mai, cast.petra, before=before, now=now) == "no-recommendation"


def test_an_easier_surface_than_recommended_may_be_signed_and_no_harder_one(cast, mai, log):
    for day in (TODAY - datetime.timedelta(days=back) for back in (9, 6, 4, 2)):
        log(mai, "back-walkover", "1111", day=day, support=1, surface="hard-floor")
    log(mai, "back-walkover", "11", day=TODAY, support=1, surface="hard-floor", by=cast.ines)
    recommend(mai, cast.omar, surface=MAT)
    assert refused(sign, mai, cast.petra, surface="hard-floor") == "surface-not-met"
    assert sign(mai, cast.petra, surface="spring-floor").surface.key == "spring-floor"


def test_evidence_that_has_changed_since_the_page_is_refused(cast, mai, log):
    recommend(mai, cast.omar)
    before = seen(mai)
    log(mai, "back-walkover", "0", support=1, surface=MAT)
    assert refused(sign, mai, cast.petra, before=before) == "evidence-changed"


def test_turns_at_another_stage_change_nothing_for_this_one(cast, mai, log):
    recommend(mai, cast.omar)
    before = seen(mai)
    log(mai, "hollow-hold", [30.0], support=0)
    assert sign(mai, cast.petra, before=before).kind == Decision.Kind.SIGN


def test_a_page_of_another_day_is_refused(cast, mai):
    recommend(mai, cast.omar)
    before = seen(mai)
    now = LATER + datetime.timedelta(days=1)
    assert refused(sign, mai, cast.petra, before=before, now=now) == "evidence-changed"


def test_the_second_signature_is_told_who_was_first_and_when(cast, mai):
    recommend(mai, cast.omar)
    before = seen(mai)
    sign(mai, cast.petra, before=before)
    with pytest.raises(DecisionRefused) as refusal:
        sign(mai, cast.luis, before=before)
    assert refusal.value.code == "already-decided"
    assert refusal.value.details["by"] == "Petra"
    # 19:00 UTC is 20:00 in the hall.
    assert f"{refusal.value.details['at']:%H:%M}" == "20:00"
    assert refused(sign, mai, cast.luis) == "already-decided"


@pytest.mark.parametrize(
    ("ago", "code"), [(0, ""), (28, ""), (29, "not-seen-lately"), (-1, "not-seen-lately")]
)
def test_whoever_signs_saw_it_in_the_last_28_days(cast, mai, ago, code):
    """28 days: common practice, no source."""
    recommend(mai, cast.omar)
    seen_on = TODAY - datetime.timedelta(days=ago)
    if code:
        assert refused(sign, mai, cast.petra, seen_on=seen_on) == code
    else:
        assert sign(mai, cast.petra, seen_on=seen_on).seen_on == seen_on


def test_a_child_on_re_check_is_not_signed(cast, mai, log):
    recommend(mai, cast.omar)
    log(mai, "back-walkover", "0", support=1, surface=MAT, faults=("arms-give",))
    assert refused(sign, mai, cast.petra) == "not-for-review"


def asked_for_a_harder_surface(cast, mai, log):
    """Signed on the mat and recommended for the hard floor since; that day."""
    recommend(mai, cast.omar)
    sign(mai, cast.petra)
    days = [TODAY + datetime.timedelta(days=ahead) for ahead in (1, 3, 5, 7)]
    for day in days:
        log(mai, "back-walkover", "1111", day=day, support=1, surface="hard-floor")
        log(mai, "back-walkover", "1", day=day, support=1, surface="hard-floor", by=cast.ines)
    then, now = days[-1], LATER + datetime.timedelta(days=7)
    assert read(mai, then).read.stage("4").state == "open"
    assert surfaces_met(read(mai, then), "4") == ["hard-floor"]
    seen_then = stage_snapshot(read(mai, then), "4")
    decisions.recommend(mai, "4", cast.omar, seen_then, now, "hard-floor")
    return then


def test_a_harder_surface_is_recommended_and_signed_later(cast, mai, log):
    then = asked_for_a_harder_surface(cast, mai, log)
    now = LATER + (then - TODAY)
    seen_then = stage_snapshot(read(mai, then), "4")
    decisions.sign(mai, "4", cast.luis, seen_then, now, "hard-floor", then)
    after = read(mai, then + datetime.timedelta(days=1)).read.stage("4")
    assert after.opening.surface == "hard-floor"


# --- send back -------------------------------------------------------------------------


def send_back(child, by, reason="show me the first turn again", before=None):
    return decisions.send_back(child, "4", by, before or seen(child), LATER, reason)


def test_a_director_sends_back_with_a_reason(cast, mai):
    recommendation = recommend(mai, cast.omar)
    decision = send_back(mai, cast.petra)
    assert (decision.answers, decision.reason) == (recommendation, "show me the first turn again")
    assert read(mai, TODAY).read.stage("4").state == "closed"
    assert read(mai, TODAY).read.stage("4").sent_back


def test_sending_back_asks_for_a_reason_and_a_director(cast, mai):
    recommend(mai, cast.omar)
    assert refused(send_back, mai, cast.petra, reason="  ") == "reason-missing"
    assert refused(send_back, mai, cast.omar) == "may-not"


def test_a_closed_stage_cannot_be_sent_back(cast, mai):
    assert refused(send_back, cast.ilse, cast.petra) == "not-for-review"


# --- close ----------------------------------------------------------------------------


def close(child, by, day=TODAY, reason="not on this floor"):
    before = stage_snapshot(read(child, day), "4")
    now = LATER + (day - TODAY) + datetime.timedelta(minutes=5)
    return decisions.close(child, "4", by, before, now, reason)


def test_a_signed_stage_is_closed_at_once_with_a_reason(cast, mai):
    recommend(mai, cast.omar)
    sign(mai, cast.petra)
    assert refused(close, mai, cast.luis, TOMORROW, " ") == "reason-missing"
    assert refused(close, mai, cast.omar, TOMORROW) == "may-not"
    assert close(mai, cast.luis, TOMORROW).reason == "not on this floor"
    assert read(mai, TOMORROW).read.stage("4").state == "closed"
    assert refused(close, mai, cast.petra, TOMORROW) == "not-signed"


def test_a_stage_that_was_signed_today_is_closed_before_it_opens(cast, mai):
    recommend(mai, cast.omar)
    sign(mai, cast.petra)
    assert refused(send_back, mai, cast.petra) == "not-for-review"
    close(mai, cast.petra)
    assert read(mai, TODAY).read.stage("4").state == "closed"
    assert read(mai, TOMORROW).read.stage("4").state == "closed"


def test_only_a_signed_stage_is_closed(cast, mai):
    assert refused(close, mai, cast.petra) == "not-signed"
    recommend(mai, cast.omar)
    assert refused(close, mai, cast.petra) == "not-signed"


def test_not_yet_to_a_harder_surface_leaves_the_stage_open(cast, mai, log):
    then = asked_for_a_harder_surface(cast, mai, log)
    seen_then = stage_snapshot(read(mai, then), "4")
    now = LATER + (then - TODAY)
    decision = decisions.send_back(mai, "4", cast.luis, seen_then, now, "the mat for now")
    assert (decision.kind, decision.answers.by) == ("stays", cast.omar)
    for day in (then, then + datetime.timedelta(days=1)):
        found = read(mai, day).read.stage("4")
        assert (found.state, found.opening.surface) == ("open", MAT)
    assert refused(close, mai, cast.omar, then) == "may-not"
    close(mai, cast.luis, then)
    assert read(mai, then).read.stage("4").state == "closed"


# --- family ----------------------------------------------------------------------------


def test_family_neither_recommends_places_nor_lifts_but_pauses(cast, mai):
    for staff in (cast.petra, cast.omar):
        say_family(mai, staff, cast.luis, NOW)
    assert refused(recommend, mai, cast.omar) == "family"
    about = 5, cast.petra, child_snapshot(read(mai, TODAY)), NOW, MAT, "saw it"
    assert refused(decisions.place, mai, *about) == "family"
    decisions.pause(mai, cast.petra, NOW, "a knock")
    about = cast.petra, child_snapshot(read(mai, TODAY)), LATER, "cleared"
    assert refused(decisions.lift, mai, *about) == "family"
    decisions.lift(mai, cast.luis, *about[1:])


def test_family_signs_sends_back_closes_and_excepts_nothing(cast, mai):
    say_family(mai, cast.petra, cast.luis, NOW)
    place_at(cast, mai, 5, TODAY - datetime.timedelta(weeks=8))
    recommend(mai, cast.omar)
    assert refused(sign, mai, cast.petra) == "family"
    assert refused(send_back, mai, cast.petra) == "family"
    about = seen(mai, "6"), LATER, "stiff, and strong"
    assert refused(decisions.write_exception, mai, "6", cast.petra, *about) == "family"
    sign(mai, cast.luis)
    assert refused(close, mai, cast.petra) == "family"
    # Whoever sees a danger is not held up.
    decisions.pause(mai, cast.petra, LATER, "a knock")


def test_family_no_longer_signs_like_anybody(cast, mai):
    say_family(mai, cast.petra, cast.luis, NOW)
    end_family(family_on_staff(mai).get(), cast.luis, NOW)
    recommend(mai, cast.omar)
    assert sign(mai, cast.petra).by == cast.petra


# --- exception -------------------------------------------------------------------------


def test_a_written_exception_lets_stage_six_do_without_stage_four(cast, mai):
    place_at(cast, mai, 5, TODAY - datetime.timedelta(weeks=8))
    assert read(mai, TODAY).read.stage("6").waits_for == ("4",)
    before = seen(mai, "6")
    decisions.write_exception(mai, "6", cast.petra, before, LATER, "stiff, and strong")
    assert read(mai, TOMORROW).read.stage("6").waits_for == ()
    code = refused(decisions.write_exception, mai, "6", cast.luis, before, LATER, "the same")
    assert code == "already-decided"


def test_an_exception_is_a_director_s_and_needs_a_reason_and_a_stage_that_has_one(cast, mai):
    args = (seen(mai, "6"), LATER)
    assert refused(decisions.write_exception, mai, "6", cast.omar, *args, "x") == "may-not"
    assert refused(decisions.write_exception, mai, "6", cast.petra, *args, "") == "reason-missing"
    args = (seen(mai, "4"), LATER)
    assert refused(decisions.write_exception, mai, "4", cast.petra, *args, "x") == "no-exception"


# --- steps -----------------------------------------------------------------------------


@pytest.fixture
def steady(cast, log):
    """Ilse is open at stage 3 and steady at a light touch: standing by waits for a tap."""
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=8))
    for back, support in ((6, 3), (5, 3), (4, 3), (3, 2), (2, 2), (1, 2), (0, 2)):
        day = TODAY - datetime.timedelta(weeks=back)
        log(cast.ilse, "back-walkover", "1111", day=day, support=support, surface=MAT)
    return cast.ilse


def test_the_tap_gives_the_next_step_from_tomorrow(cast, steady):
    taps = read(steady, TODAY).read.taps
    assert [(tap.drill, int(tap.support), tap.again) for tap in taps] == [
        ("back-walkover", 1, False)
    ]
    decisions.give_step(steady, "back-walkover", 1, cast.omar, seen(steady, "3"), LATER)
    assert int(read(steady, TODAY).read.allowed("back-walkover", MAT).support) == 2
    assert int(read(steady, TOMORROW).read.allowed("back-walkover", MAT).support) == 1
    code = refused(
        decisions.give_step, steady, "back-walkover", 1, cast.petra, seen(steady, "3"), LATER
    )
    assert code == "already-decided"


def test_a_step_that_is_not_earned_is_refused(cast, steady, log):
    give = decisions.give_step
    assert refused(give, steady, "back-walkover", 0, cast.omar, seen(steady, "3"), LATER) == (
        "not-earned"
    )
    before = seen(steady, "3")
    assert refused(give, steady, "back-walkover", 1, cast.tam, before, LATER) == "may-not"
    log(steady, "back-walkover", "0", support=2, surface=MAT, faults=("arms-give",))
    code = refused(give, steady, "back-walkover", 1, cast.omar, seen(steady, "3"), LATER)
    assert code == "not-earned"


def test_a_step_is_the_tap_of_a_coach_who_held_this_child_lately(cast, steady, log):
    # Petra is a director who never held Ilse at the walkover; Omar's turns are of today.
    give, before = decisions.give_step, seen(steady, "3")
    assert refused(give, steady, "back-walkover", 1, cast.petra, before, LATER) == "may-not"
    # Standing by is not more than the step leaves.
    log(steady, "back-walkover", "1", support=1, surface=MAT, by=cast.petra)
    before = seen(steady, "3")
    assert refused(give, steady, "back-walkover", 1, cast.petra, before, LATER) == "may-not"
    old = TODAY - datetime.timedelta(days=29)
    log(steady, "back-walkover", "1", day=old, support=2, surface=MAT, by=cast.petra)
    before = seen(steady, "3")
    assert refused(give, steady, "back-walkover", 1, cast.petra, before, LATER) == "may-not"
    log(steady, "back-walkover", "1", support=2, surface=MAT, by=cast.petra)
    give(steady, "back-walkover", 1, cast.petra, seen(steady, "3"), LATER)


def walk_back(cast, log, mai, stops=1):
    """Signed, fallen on one or two stop signs, and all three steps walked since; the last day."""
    recommend(mai, cast.omar)
    sign(mai, cast.petra)
    day = TODAY
    for _ in range(stops):
        day += datetime.timedelta(weeks=1)
        log(mai, "back-walkover", "10", day=day, support=1, surface=MAT, faults=("arms-give",))
    for support in (3, 2, 1):
        day += datetime.timedelta(weeks=1)
        log(mai, "back-walkover", "111", day=day, support=support, surface=MAT)
    return day


def unspotted_again(child, by, day):
    now = datetime.datetime.combine(day, datetime.time(19), datetime.UTC)
    before = stage_snapshot(read(child, day), "4")
    return decisions.give_step(child, "back-walkover", 0, by, before, now)


def test_the_last_step_of_the_way_back_is_a_coach_s_tap(cast, mai, log):
    day = walk_back(cast, log, mai)
    after = day + datetime.timedelta(days=1)
    assert [(int(tap.support), tap.again) for tap in read(mai, day).read.taps] == [(0, True)]
    assert read(mai, after).read.stage("4").state == "re-check"
    step = unspotted_again(mai, cast.omar, day)
    assert (step.stage, step.support, step.as_director) == ("4", 0, False)
    assert read(mai, day).read.stage("4").state == "re-check"
    assert read(mai, after).read.stage("4").state == "open"


def test_after_two_stop_signs_the_last_step_is_a_director_s(cast, mai, log):
    day = walk_back(cast, log, mai, stops=2)
    assert refused(unspotted_again, mai, cast.omar, day) == "may-not"
    assert unspotted_again(mai, cast.luis, day).as_director
    after = day + datetime.timedelta(days=1)
    assert read(mai, after).read.stage("4").state == "open"


def test_no_step_is_given_to_a_paused_child(cast, steady):
    decisions.pause(steady, cast.omar, LATER, "a knock")
    give = decisions.give_step
    code = refused(give, steady, "back-walkover", 1, cast.omar, seen(steady, "3"), LATER)
    assert code == "not-earned"


# --- placing, pausing, lifting ---------------------------------------------------------


def place(child, by, stage=3, surface=MAT, reason="did it before me", before=None):
    before = before or child_snapshot(read(child, TODAY))
    return decisions.place(child, stage, by, before, LATER, surface, reason)


def test_a_director_places_a_child_and_it_counts_from_tomorrow(cast):
    placing = place(cast.rosa, cast.petra, stage=5)
    assert (placing.day, placing.reason) == (TODAY, "did it before me")
    assert read(cast.rosa, TODAY).read.stage("5").state == "closed"
    assert read(cast.rosa, TOMORROW).read.stage("5").state == "open"


def test_placing_is_refused_too_high_on_a_signed_stage_or_without_reason_or_right(cast):
    assert refused(place, cast.rosa, cast.petra, stage=8) == "stage-too-high"
    assert refused(place, cast.rosa, cast.petra, stage=4) == "signed-stage"
    assert refused(place, cast.rosa, cast.petra, stage=1) == "already-open"
    assert refused(place, cast.rosa, cast.petra, stage=0) == "stage-unknown"
    assert refused(place, cast.rosa, cast.petra, reason=" ") == "reason-missing"
    assert refused(place, cast.rosa, cast.petra, surface="moon") == "surface-not-met"
    assert refused(place, cast.rosa, cast.omar) == "may-not"


def test_a_second_placing_on_the_same_page_is_told_of_the_first(cast):
    before = child_snapshot(read(cast.rosa, TODAY))
    place(cast.rosa, cast.petra, before=before)
    assert refused(place, cast.rosa, cast.luis, stage=5, before=before) == "already-decided"


def test_a_coach_pauses_and_a_director_lifts_from_tomorrow(cast):
    decisions.pause(cast.mai, cast.omar, NOW, "a knock to the head")
    assert read(cast.mai, TODAY).read.state.paused_since == TODAY
    before = child_snapshot(read(cast.mai, TODAY))
    args = (before, LATER, "the doctor's note, seen")
    assert refused(decisions.lift, cast.mai, cast.omar, *args) == "may-not"
    decisions.lift(cast.mai, cast.petra, *args)
    assert read(cast.mai, TODAY).read.state.paused_since == TODAY
    assert read(cast.mai, TOMORROW).read.state.paused_since is None
    assert refused(decisions.lift, cast.mai, cast.luis, *args) == "already-decided"


def test_there_is_no_lift_without_a_pause_and_no_pause_without_a_reason_or_right(cast):
    before = child_snapshot(read(cast.mai, TODAY))
    assert refused(decisions.lift, cast.mai, cast.petra, before, LATER, "yes") == "not-paused"
    assert refused(decisions.pause, cast.mai, cast.omar, LATER, " ") == "reason-missing"
    assert refused(decisions.pause, cast.mai, cast.tam, LATER, "fell") == "may-not"


def test_a_pause_after_a_lift_can_be_lifted_again(cast):
    decisions.pause(cast.mai, cast.omar, NOW, "ill")
    before = child_snapshot(read(cast.mai, TODAY))
    decisions.lift(cast.mai, cast.petra, before, LATER, "well again")
    later = LATER + datetime.timedelta(minutes=5)
    decisions.pause(cast.mai, cast.omar, later, "ill after all")
    before = child_snapshot(read(cast.mai, TODAY))
    decisions.lift(cast.mai, cast.luis, before, later + datetime.timedelta(minutes=5), "now well")
    assert PauseLift.objects.count() == 2


# --- two at once -----------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_of_two_directors_at_once_exactly_one_decides(cast, mai):
    recommend(mai, cast.omar)
    before = seen(mai)
    codes = at_once(
        lambda: sign(mai, cast.petra, before=before),
        lambda: send_back(mai, cast.luis, before=before),
    )
    assert sorted(codes) == ["", "already-decided"]
    assert Decision.objects.exclude(kind=Decision.Kind.RECOMMEND).count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_recommendations_at_once_exactly_one_is_kept(cast, mai):
    before = seen(mai)

    def by(person):
        return lambda: decisions.recommend(mai, "4", person, before, LATER, MAT)

    assert sorted(at_once(by(cast.omar), by(cast.ines))) == ["", "already-decided"]
    assert Decision.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_turn_that_lands_beside_a_signature_is_before_or_after_it_never_lost(cast, mai, log):
    recommend(mai, cast.omar)
    before = seen(mai)
    codes = at_once(
        lambda: sign(mai, cast.petra, before=before),
        lambda: log(mai, "back-walkover", "0", support=1, surface=MAT),
    )
    signed = Decision.objects.filter(kind=Decision.Kind.SIGN).count()
    assert codes in (["", ""], ["evidence-changed", ""])
    assert signed == (codes[0] == "")
