"""The invented studio: its records could have been made by people, through the program."""

import datetime
import random
import re
from collections import Counter

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import transaction
from django.db.models import F

from progression.log.line_ids import uuid7
from progression.models import Attempt, LadderVersion, RejectedLine, Strike
from readiness.demo.build import CHANGE_REASON, build
from readiness.demo.calendar import evenings
from readiness.demo.names import CHILDREN, GROUPS, HALLS, PASSWORD, SHOWN_SIGN_INS, STAFF
from readiness.demo.pupils import PLANS, make_pupils
from readiness.demo.simulation import World, simulate
from readiness.engine.reading import read_child
from readiness.engine.reading_json import as_json
from readiness.letters.type import without_type
from readiness.models import (
    DayTally,
    Decision,
    Pain,
    Pause,
    PauseLift,
    Placing,
    Standing,
    Told,
)
from readiness.record import day_tallies
from readiness.record.flags import LESS_SUPPORT
from readiness.record.ladders import Ladders, NamedLadder
from readiness.record.standings import read
from studio.models import Attendance, Child, ClassGroup, Location, Meeting, Staff

# A Wednesday, half past five in Lisbon and half past six in Madrid: both classes are under way.
NOW = datetime.datetime(2026, 3, 4, 17, 20, tzinfo=datetime.UTC)
SEED, WEEKS, CHILDREN_MADE = 1, 44, 12
SIX_WEEKS_AGO = datetime.date(2026, 3, 4) - datetime.timedelta(weeks=6)


@pytest.fixture(scope="module")
def _studio(django_db_setup, django_db_blocker):
    """A small demo, made once for this file and taken back at its end."""
    with django_db_blocker.unblock(), transaction.atomic():
        build(NOW, SEED, lambda sentence: None, WEEKS, CHILDREN_MADE)
        yield
        transaction.set_rollback(True)


@pytest.fixture
def demo(_studio, db):
    """The small demo, for one test."""


def states(child):
    """Of each stage or skill of one child: its state and why."""
    stages = {}
    for stage in Standing.objects.get(child=child).reading["stages"]:
        for part in [stage, *stage.get("skills", [])]:
            stages[str(part["stage"])] = (part["state"], tuple(part["causes"]))
    return stages


def all_states():
    return {child: states(child) for child in Child.objects.order_by("pk")}


# --- what the pages show --------------------------------------------------------------


def test_children_stand_at_many_stages(demo):
    highest = Counter(
        max(int(code[0]) for code, (state, _) in stages.items() if state != "closed")
        for stages in all_states().values()
        if "paused" not in {state for state, _ in stages.values()}
    )
    assert len(highest) >= 5
    assert max(highest) >= 8


def test_some_are_for_review_with_a_recommendation_and_some_without(demo):
    waiting = {
        bool(Decision.objects.filter(child=child, kind="recommend", stage=code, answer=None))
        for child, stages in all_states().items()
        for code, (state, _) in stages.items()
        if state == "for-review"
    }
    assert waiting == {True, False}


def test_re_checks_are_there_for_every_common_reason(demo):
    causes = {
        cause
        for stages in all_states().values()
        for state, reasons in stages.values()
        if state == "re-check"
        for cause in reasons
    }
    assert {"stop-sign", "away", "lately"} <= causes


def test_one_child_is_paused_by_the_rule_about_the_same_sore_place(demo):
    paused = [
        child
        for child, stages in all_states().items()
        if "paused" in {state for state, _ in stages.values()}
    ]
    (sore,) = paused
    pains = list(Pain.objects.filter(child=sore).order_by("at").values_list("place", "day"))
    assert [place for place, _ in pains] == ["wrist", "wrist"]
    assert (pains[1][1] - pains[0][1]).days <= 21
    assert not Pause.objects.filter(child=sore).exists()
    assert Told.objects.count() == Pain.objects.count()


def test_one_pause_was_lifted_again(demo):
    pause, lift = Pause.objects.get(), PauseLift.objects.get()
    assert pause.child == lift.child
    assert pause.day < lift.day
    assert lift.by.role == "director"


def test_one_newcomer_is_placed(demo):
    placing = Placing.objects.get()
    assert placing.by.role == "director"
    assert states(placing.child)["6"][0] in ("open", "re-check")
    assert states(placing.child)["4"][0] == "closed"


def test_nobody_is_at_an_unspotted_stage_without_two_people(demo):
    unspotted = [
        (child, code)
        for child, stages in all_states().items()
        for code, (state, _) in stages.items()
        if (code in ("4", "8", "9") or "/" in code) and state in ("open", "re-check", "paused")
    ]
    assert unspotted
    for child, code in unspotted:
        signed = Decision.objects.filter(child=child, stage=code, kind="sign").latest("at")
        assert signed.as_director
        assert signed.by.role == "director"
        assert signed.answers.kind == "recommend"
        assert signed.answers.stage == code
        assert signed.answers.by != signed.by


def test_a_class_meets_today_in_each_hall_and_turns_are_logged_already(demo):
    for hall in Location.objects.all():
        today = hall.day_of(NOW)
        meeting = Meeting.objects.get(group__location=hall, date=today)
        assert meeting.group.weekday == today.weekday()
        turns = Attempt.objects.filter(meeting=meeting)
        assert 4 <= turns.count() <= 40
        assert {turn.author.role for turn in turns} == {"coach"}
        assert all(turn.done_at <= NOW for turn in turns)


def test_there_is_a_sign_in_for_each_role(demo):
    shown = Staff.objects.filter(username__in=SHOWN_SIGN_INS)
    assert {person.role for person in shown} == {"assistant", "coach", "director"}
    assert all(person.check_password(PASSWORD) for person in shown)
    assert all(person.locations.exists() for person in Staff.objects.all())


# --- what the records are -------------------------------------------------------------


def test_the_standings_are_what_the_record_says(demo):
    for child in Child.objects.order_by("pk"):
        standing = Standing.objects.get(child=child)
        assert standing.reading == read(child, standing.read_on).data


def test_the_tallies_are_what_the_log_folds_into(demo):
    touched = {
        (child, drill, day)
        for child, drill, day in DayTally.objects.values_list("child_id", "drill__key", "day")
    }
    turned = set(Attempt.objects.values_list("child_id", "drill__key", "day"))
    assert touched <= turned
    some = set(random.Random(5).sample(sorted(touched), 200))
    folded = day_tallies.tallies_of(day_tallies.stored_turns(some), Ladders())
    for (child, drill, day), tallies in folded.items():
        stored = DayTally.objects.filter(child=child, drill__key=drill, day=day)
        assert sum(t.turns for t in tallies) == sum(t.turns for t in stored)
        assert sum(t.clean for t in tallies) == sum(t.clean for t in stored)
        assert sum(t.stop_signs for t in tallies) == sum(t.stop_signs for t in stored)
        assert {t.first_id for t in tallies} == {str(t.first_id) for t in stored}


def test_each_decision_keeps_the_reading_that_the_record_gave_then(demo):
    """Read again, from nothing, on the day of the decision and without what came later."""
    ladders = Ladders()
    for decision in Decision.objects.filter(kind__in=["recommend", "sign"]).order_by("pk"):
        reading = read(decision.child, decision.day, ladders)
        then = as_json(
            read_child(
                reading.evidence,
                [event for event in reading.record.events if event.at < decision.at],
                _turns_of(decision.child, decision.day),
                decision.day,
                ladders.on,
            ),
            str(decision.child.uuid),
            decision.ladder.number,
        )
        parts = [part for stage in then["stages"] for part in [stage, *stage.get("skills", [])]]
        stage = next(part for part in parts if str(part["stage"]) == decision.stage)
        assert decision.reading["stage"] == stage
        assert decision.reading["day"] == decision.day.isoformat()


def _turns_of(child, day):
    from readiness.record.evidence_loader import unstruck_on

    return unstruck_on({child.pk: child.pk}, day).get(child.pk, [])


def test_only_turns_that_were_allowed_are_in_the_log_but_for_one_or_two(demo):
    flags = Counter(flag for turn in Attempt.objects.exclude(flags=[]) for flag in turn.flags)
    assert set(flags) == {LESS_SUPPORT}
    assert 1 <= flags[LESS_SUPPORT] <= 2


def test_turns_are_two_to_five_at_a_skill(demo):
    tallies = DayTally.objects.filter(drill__key__in=["back-walkover", "handspring"])
    turns = Counter()
    for tally in tallies.filter(day__lt=SIX_WEEKS_AGO):
        turns[tally.child_id, tally.drill_id, tally.day] += tally.turns
    assert max(turns.values()) <= 5
    assert sum(turns.values()) / len(turns) >= 2


def test_children_learn(demo):
    """Most holds get longer: the last six of a child at a drill against the first six."""
    longer = []
    for child in Child.objects.all():
        for drill in ("hollow-hold", "front-support", "wall-handstand"):
            turns = Attempt.objects.filter(child=child, drill__key=drill).order_by("done_at")
            held = list(turns.values_list("value", flat=True))
            if len(held) >= 16:
                longer.append(sum(held[-6:]) > sum(held[:6]))
    assert len(longer) >= 10
    assert sum(longer) / len(longer) > 0.8


# --- the last six weeks came in through the intake -----------------------------------------


def test_some_lines_came_a_day_or_two_late(demo):
    a_day = datetime.timedelta(hours=20)
    late = Attempt.objects.filter(received_at__gt=F("done_at") + a_day)
    days = {(turn.received_at - turn.done_at).days for turn in late}
    assert late.filter(day__gte=SIX_WEEKS_AGO).count() == late.count() > 0
    assert days <= {0, 1, 2}


def test_some_turns_are_struck_and_a_line_is_set_aside(demo):
    assert Strike.objects.count() >= 2
    struck = Attempt.objects.filter(pk__in=Strike.objects.values("attempt_id"))
    assert struck.count() == Strike.objects.count()
    rejected = RejectedLine.objects.get()
    assert (rejected.answer, rejected.code) == ("refused", "unknown-drill")


def test_stop_signs_and_caught_turns_are_there(demo):
    assert DayTally.objects.filter(stop_signs__gt=0).exists()
    assert Attempt.objects.filter(caught=True).exists()


def test_attendance_is_taken_at_every_meeting_with_children(demo):
    meetings = Meeting.objects.filter(pk__in=Attempt.objects.values("meeting"))
    for meeting in meetings:
        assert Attendance.objects.filter(meeting=meeting, present=True).exists()
    assert Attendance.objects.filter(present=False).exists()


def test_the_ladder_was_changed_three_weeks_ago_with_a_reason(demo):
    _first, second = LadderVersion.objects.order_by("number")
    assert second.reason == CHANGE_REASON
    assert second.from_day == datetime.date(2026, 3, 4) - datetime.timedelta(weeks=3)
    assert second.loaded_by.role == "director"
    assert set(Decision.objects.values_list("ladder__number", flat=True)) == {1, 2}


def test_ids_of_the_floor_are_time_ordered(demo):
    for turn in Attempt.objects.order_by("-pk")[:50]:
        assert turn.pk.version == 7
        milliseconds = turn.pk.int >> 80
        assert abs(milliseconds / 1000 - turn.done_at.timestamp()) < 0.002


# --- the same again, and at any hour ----------------------------------------------------


def simulated(seed, now, ladder_content, children=6, weeks=26):
    ladder = NamedLadder(1, ladder_content)
    staff = {person.username: pk for pk, person in enumerate(STAFF)}
    graders = frozenset(p.username for p in STAFF if p.role != "assistant")
    directors = [p.username for p in STAFF if p.role == "director"]
    world = World({datetime.date.min: ladder}, staff, graders, directors, now)
    pupils = make_pupils(seed, now, weeks, children, evenings(seed, now, weeks))
    return [simulate(pupil, world, seed) for pupil in pupils]


def test_the_same_seed_and_time_give_the_same_records(ladder_content):
    first, second = (simulated(3, NOW, ladder_content) for _ in range(2))
    assert [record.lines for record in first] == [record.lines for record in second]
    assert [record.decisions for record in first] == [record.decisions for record in second]


def test_another_seed_gives_others(ladder_content):
    first, second = simulated(3, NOW, ladder_content), simulated(4, NOW, ladder_content)
    assert first[0].lines != second[0].lines


@pytest.mark.parametrize("hour", [0, 1, 3, 9, 12, 16, 19, 22, 23])
@pytest.mark.parametrize("minute", [0, 2, 59])
def test_at_any_hour_nothing_lies_in_the_future_or_on_another_day(ladder_content, hour, minute):
    now = datetime.datetime(2026, 7, 30, hour, minute, 7, tzinfo=datetime.UTC)
    for record in simulated(3, now, ladder_content, children=3, weeks=9):
        for line in record.lines:
            at = datetime.datetime.fromisoformat(line.raw["at"])
            assert line.evening.midnight <= at <= now
        assert all(decision.at <= now for decision in record.decisions)


def test_both_halls_have_a_class_on_their_own_today_in_the_holidays_too():
    now = datetime.datetime(2026, 12, 31, 22, 30, tzinfo=datetime.UTC)
    by_group = evenings(1, now, 30)
    for index, group in enumerate(GROUPS):
        if group.after_today == 0:
            assert by_group[index][-1].day == datetime.date(2026, 12, 31)
    assert len(by_group[0]) > 20


# --- names -----------------------------------------------------------------------------


def test_the_child_whose_readings_the_readme_asks_for_is_in_every_demo():
    readme = (settings.BASE_DIR / "README.md").read_text(encoding="utf-8")
    (name,) = re.findall(r"readings --demo --child (\w+)", readme)
    assert [used for row in CHILDREN for used in row].count(name) == 1


def test_every_name_can_be_printed_in_a_letter():
    names = [name for row in CHILDREN for name in row]
    names += [hall.name for hall in HALLS] + [f"{p.given} {p.family}" for p in STAFF]
    assert without_type(names) == []


def test_the_cast_is_whole():
    assert len(CHILDREN) == len(PLANS) == 48
    assert len({name for name, _, _ in CHILDREN}) == 48
    assert Counter(person.role for person in STAFF) == {"director": 2, "coach": 4, "assistant": 2}
    assert (len(HALLS), len(GROUPS)) == (2, 4)
    assert all(6 <= plan.age <= 14 for plan in PLANS)


def test_an_id_is_of_version_7_and_begins_with_its_time():
    """RFC 9562, appendix A.6: the time, version and variant of its test vector."""
    at = datetime.datetime.fromisoformat("2022-02-22T14:22:22.000-05:00")
    made = uuid7(at, random.Random(1))
    assert str(made)[:13] == "017f22e2-79b0"
    assert (made.version, made.variant) == (7, "specified in RFC 4122")


# --- the command ------------------------------------------------------------------------


def test_the_demo_refuses_to_run_on_any_other_database(db):
    before = Child.objects.count(), ClassGroup.objects.count()
    with pytest.raises(CommandError, match="The demo runs as"):
        call_command("demo", no_serve=True)
    assert (Child.objects.count(), ClassGroup.objects.count()) == before
