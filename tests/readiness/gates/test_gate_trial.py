"""Other values for a gate: whom they change, and how they are kept or refused."""

import copy
import datetime
import threading

import pytest
from django.db import connection

from progression.ladder.file import digest
from progression.models import LadderVersion
from readiness.gates import trial
from readiness.gates.ladder_gates import CHANGEABLE, gate_at, gates_of, with_values
from readiness.gates.saving import NotSaved, ShownTrial, save_version
from readiness.gates.versions import counts_from
from readiness.record.ladder_loading import LadderMoved, LadderRefused, load
from readiness.record.ladders import Ladders
from readiness.record.standings import read
from tests.support.cast import NOW, TODAY
from tests.support.deciding import recommend, sign
from tests.support.ready import MAT, WEEKS, place_at, ready_to_be_signed

LATER = NOW + datetime.timedelta(hours=2)
WEEK = datetime.timedelta(weeks=1)
DAY = datetime.timedelta(days=1)
WALKOVER = "4.back-walkover"


def values(code, **other):
    """The gate's values as they are, some of them others."""
    gate = gate_at(Ladders().newest.content, code)
    return {name: gate.row[name] for name in CHANGEABLE[gate.kind]} | other


def tried(code, now=LATER, **other):
    """Whom other values change: by child, the kind and stage or drill of each change."""
    ladders = Ladders()
    content = with_values(ladders.newest.content, code, values(code, **other))
    found = trial.effects_on_children(
        content, gate_at(content, code), ladders, counts_from(ladders, now)
    )
    return {
        each.child: [(change.kind, change.stage or change.drill) for change in each.changes]
        for each in found
    }


def shown(code, **other):
    """What somebody had before them who tried these values."""
    newest = Ladders().newest
    return ShownTrial(
        newest.number, digest(with_values(newest.content, code, values(code, **other)))
    )


def keep(cast, code=WALKOVER, by=None, now=LATER, before=None, reason="seen too often", **other):
    return save_version(
        code,
        values(code, **other),
        before or shown(code, **other),
        by or cast.petra,
        now,
        reason,
    )


# --- the gates of a ladder ---------------------------------------------------------------


def test_practice_comes_first_then_the_gates_that_have_a_value_in_the_ladder_s_order(
    ladder_content,
):
    codes = [gate.code for gate in gates_of(ladder_content)]
    assert codes[0] == "practice"
    assert codes.index("2.safe-fall") < codes.index("3.hollow-hold") < codes.index(WALKOVER)
    assert "9/two-handsprings.clean" in codes
    needed = gate_at(ladder_content, "kick-over-floor.kick-over-block")
    assert (needed.stage, needed.opens) == ("2", "kick-over-floor")
    assert gate_at(ladder_content, "4.seen-by-two") is None
    assert gate_at(ladder_content, "4.first-turn") is None


def test_another_value_stands_in_that_gate_and_nothing_else_is_touched(ladder_content):
    before = copy.deepcopy(ladder_content)
    row = gate_at(ladder_content, WALKOVER).row
    other = with_values(ladder_content, WALKOVER, {**row, "certainty": 0.9})
    assert ladder_content == before
    assert gate_at(other, WALKOVER).row == row | {"certainty": 0.9}
    assert with_values(other, WALKOVER, row) == before


def test_only_the_values_of_the_kind_are_taken(ladder_content):
    row = gate_at(ladder_content, WALKOVER).row
    other = with_values(ladder_content, WALKOVER, {**row, "within": 1, "code": "x"})
    assert gate_at(other, WALKOVER).row == row


def test_a_gate_that_is_not_there_cannot_be_changed(ladder_content):
    with pytest.raises(KeyError):
        with_values(ladder_content, "4.nothing", {})


def test_a_version_counts_from_the_day_after_today_where_today_is_latest(cast):
    assert counts_from(Ladders(), LATER) == TODAY + DAY
    cast.other_hall.zone = "Pacific/Auckland"
    cast.other_hall.save(update_fields=["zone"])
    assert counts_from(Ladders(), LATER) == TODAY + 2 * DAY


# --- whom a change changes ----------------------------------------------------------------


@pytest.fixture
def mai(cast, log):
    """Mai is for review at stage 4; Ilse has a few such turns, Rosa none."""
    ready_to_be_signed(cast, log)
    place_at(cast, cast.ilse, 3, WEEKS[0])
    log(cast.ilse, "back-walkover", "11", day=WEEKS[2], support=1, surface=MAT)
    log(cast.rosa, "hollow-hold", [16.0], support=0)
    return cast.mai


def states(child, day):
    return {
        each.stage.code: (each.state, each.score, bool(each.opening))
        for each in read(child, day).read.stages
    }


@pytest.mark.parametrize(
    ("code", "other"),
    [
        (WALKOVER, {"certainty": 0.99}),
        (WALKOVER, {"certainty": 0.55}),
        (WALKOVER, {"rate": 0.7}),
        (WALKOVER, {"fresh": 1}),
        (WALKOVER, {"days": 6}),
        ("practice", {"certainty": 0.99}),
        ("2.hollow-hold", {"at_least": 30}),
        ("4.clear", {"clean": 40}),
    ],
)
def test_a_change_lists_exactly_the_children_whose_stages_change(cast, mai, code, other):
    everybody = [cast.mai, cast.ilse, cast.rosa]
    day = TODAY + 2 * DAY
    before = {child: states(child, day) for child in everybody}
    kinds = {
        child: {stage for kind, stage in changes if "step" not in kind and "drill" not in kind}
        for child, changes in tried(code, **other).items()
    }
    keep(cast, code, **other)
    for child in everybody:
        now = states(child, day)
        differs = {stage for stage in now if now[stage] != before[child][stage]}
        assert kinds.get(child, set()) == differs


def test_a_tighter_gate_takes_a_child_out_of_review(cast, mai):
    found = tried(WALKOVER, clean=40)
    assert found[mai] == [(trial.NOT_TO_REVIEW, "4")]
    assert found[cast.ilse] == [(trial.SCORE, "4")]
    assert cast.rosa not in found


def test_a_looser_gate_brings_a_child_up_for_review(cast, mai):
    keep(cast, certainty=0.99)
    assert tried(WALKOVER, certainty=0.8)[mai] == [(trial.TO_REVIEW, "4")]


def test_a_looser_gate_opens_a_stage_that_needs_no_signature(cast, log):
    for day in WEEKS[2:]:
        for drill, value in (
            ("hollow-hold", 12.0),
            ("arch-hold", 15.0),
            ("front-support", 20.0),
            ("wall-handstand", 10.0),
            ("name-the-shape", 5),
        ):
            log(cast.mai, drill, [value], day=day, support=0)
    log(cast.mai, "safe-fall", "111", support=0)
    assert tried("2.hollow-hold", at_least=10)[cast.mai] == [(trial.OPENS, "2")]
    keep(cast, "2.hollow-hold", at_least=10)
    assert not states(cast.mai, TODAY + DAY)["2"][2]
    assert states(cast.mai, TODAY + 2 * DAY)["2"][2]


def test_a_stage_that_is_open_stays_open_and_is_told_of(cast, mai):
    recommend(mai, cast.omar)
    sign(mai, cast.petra)
    found = tried(WALKOVER, now=LATER + DAY, certainty=0.99)
    assert found[mai] == [(trial.NO_LONGER_MET, "4")]
    keep(cast, now=LATER + DAY, certainty=0.99)
    assert read(mai, TODAY + 3 * DAY).read.stage("4").state == "open"


def test_a_signed_child_who_would_fall_to_re_check_is_listed_before(cast, mai, log):
    recommend(mai, cast.omar)
    sign(mai, cast.petra)
    log(mai, "back-walkover", "1110", day=TODAY + WEEK, support=0, surface=MAT)
    log(mai, "back-walkover", "1101", day=TODAY + 2 * WEEK, support=0, surface=MAT)
    now = LATER + 2 * WEEK
    assert read(mai, now.date()).read.stage("4").state == "open"
    assert (trial.FALLS, "4") in tried(WALKOVER, now=now, rate=0.95)[mai]
    assert (trial.FALLS, "4") not in tried(WALKOVER, now=now, rate=0.85).get(mai, [])

    keep(cast, now=now, rate=0.95)
    assert read(mai, (now + DAY).date()).read.stage("4").state == "open"
    log(mai, "back-walkover", "10", day=TODAY + 3 * WEEK, support=0, surface=MAT)
    fallen = read(mai, TODAY + 3 * WEEK).read.stage("4")
    assert (fallen.state, fallen.causes[0].code) == ("re-check", "lately")


def test_less_support_that_the_practice_rule_would_give_is_listed(cast, log):
    place_at(cast, cast.mai, 3, WEEKS[0] - WEEK)
    for day in WEEKS[:2]:
        log(cast.mai, "back-walkover", "111", day=day, support=3, surface=MAT)
    assert tried("practice", days=2)[cast.mai] == [(trial.STEP_EARNED, "back-walkover")]
    assert tried("practice", certainty=0.95) == {}


def test_a_drill_that_would_open_is_listed(cast, log):
    place_at(cast, cast.mai, 2, WEEKS[0] - WEEK)
    log(cast.mai, "kick-to-handstand", "111", day=WEEKS[0], support=0)
    log(cast.mai, "kick-to-handstand", "111", day=WEEKS[1], support=0)
    found = tried("roundoff-rebound.kick-to-handstand", days=2)
    assert found == {cast.mai: [(trial.DRILL_OPENS, "roundoff-rebound")]}


def test_a_child_who_has_left_is_not_counted(cast, mai):
    mai.left_on = TODAY
    mai.save(update_fields=["left_on"])
    assert mai not in tried(WALKOVER, certainty=0.99)


def test_trying_stores_nothing(cast, mai):
    tried(WALKOVER, certainty=0.99)
    assert LadderVersion.objects.count() == 1
    assert read(mai, TODAY).read.stage("4").state == "for-review"


# --- keeping it ---------------------------------------------------------------------------


def test_it_is_kept_as_a_version_from_tomorrow_with_who_and_why(cast, mai):
    version = keep(cast, certainty=0.99, reason="  two opened too soon ")
    assert (version.number, version.from_day) == (2, TODAY + DAY)
    assert (version.loaded_by, version.reason) == (cast.petra, "two opened too soon")
    assert version.loaded_at == LATER
    assert read(mai, TODAY).read.stage("4").state == "for-review"
    assert read(mai, TODAY + DAY).read.stage("4").state == "closed"
    assert gate_at(LadderVersion.objects.get(number=1).content, WALKOVER).row["certainty"] == 0.8


def test_a_second_change_of_the_day_keeps_the_first(cast, mai):
    keep(cast, certainty=0.9)
    keep(cast, "2.hollow-hold", at_least=16)
    newest = Ladders().named_on(TODAY + DAY).content
    assert gate_at(newest, WALKOVER).row["certainty"] == 0.9
    assert gate_at(newest, "2.hollow-hold").row["at_least"] == 16


def refused(error, *args, **more):
    """The refusal; nothing may be stored by it."""
    before = list(LadderVersion.objects.values_list("number", "digest"))
    with pytest.raises(error) as refusal:
        keep(*args, **more)
    assert list(LadderVersion.objects.values_list("number", "digest")) == before
    return refusal.value


def test_a_reason_is_asked_for(cast):
    assert refused(NotSaved, cast, certainty=0.9, reason="  ").code == "reason-missing"


def test_only_a_director_may(cast):
    for who in (cast.omar, cast.tam):
        assert refused(NotSaved, cast, by=who, certainty=0.9).code == "may-not"


def test_the_same_values_are_no_change(cast):
    assert refused(NotSaved, cast).code == "same"


def test_other_values_than_were_tried_are_refused(cast):
    before = shown(WALKOVER, certainty=0.85)
    assert refused(NotSaved, cast, before=before, certainty=0.9).code == "not-tried"


def test_a_version_saved_meanwhile_is_told_of(cast):
    before = shown(WALKOVER, certainty=0.9)
    keep(cast, by=cast.luis, certainty=0.85)
    refusal = refused(NotSaved, cast, before=before, certainty=0.9)
    assert (refusal.code, refusal.newest.number) == ("moved", 2)
    assert refusal.newest.loaded_by == cast.luis


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"rate": 0.4}, "“rate” must be a number from 0.5 to 0.95."),
        ({"rate": 0.96}, "“rate” must be a number from 0.5 to 0.95."),
        ({"certainty": 1}, "“certainty” must be a number of at least 0.5 and less than 1."),
        ({"rate": 0.6, "certainty": 0.5}, "Rate and certainty together must be at least 1.2."),
        ({"days": 13}, "So many days need at least as many clean turns."),
        ({"days": 90, "clean": 90}, "So many days do not fit in the time given."),
    ],
)
def test_a_ladder_out_of_bounds_is_refused_with_its_faults(cast, other, said):
    faults = refused(LadderRefused, cast, **other).faults
    assert [(fault.key, fault.message) for fault in faults] == [(f"gate {WALKOVER}", said)]


def test_a_ladder_that_nobody_could_climb_is_refused(cast):
    faults = refused(LadderRefused, cast, "6.sit-fall", rate=0.95, certainty=0.9999).faults
    assert "stage 6" in [fault.key for fault in faults]


def test_a_version_made_from_an_older_one_is_not_loaded(cast, ladder_content):
    keep(cast, certainty=0.85)
    with pytest.raises(LadderMoved):
        load(ladder_content, now=LATER, from_day=TODAY, after=1)
    assert LadderVersion.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_of_two_directors_at_once_exactly_one_saves(cast):
    jobs = {cast.petra: 0.85, cast.luis: 0.9}
    before = {who: shown(WALKOVER, certainty=sure) for who, sure in jobs.items()}
    barrier, codes = threading.Barrier(len(jobs)), []

    def run(who, sure):
        try:
            barrier.wait(timeout=20)
            keep(cast, by=who, before=before[who], certainty=sure)
            codes.append("")
        except NotSaved as refusal:
            codes.append(refusal.code)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=each) for each in jobs.items()]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(codes) == ["", "moved"]
    assert LadderVersion.objects.count() == 2
