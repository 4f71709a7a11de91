"""The rows that a sentence rests on: those of this child, of these days, and no others."""

import datetime
import uuid

import pytest

from progression.models import Drill, LadderVersion, Strike
from readiness.letters.rests_on import rows
from readiness.letters.rests_on.rows import Part, rows_of
from readiness.letters.sentence import EVER, Kind, RestsOn
from readiness.models import (
    Decision,
    HeadKnock,
    Pain,
    PainGone,
    Pause,
    PauseLift,
    Placing,
    PrintedLetter,
)
from readiness.record.standings import read
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, Cast, give_consent, make_child, time_ordered_id
from tests.support.letters.files import DAY, surface_called

FLOOR = "sprung-dance-floor"


def found(cast: Cast, *rests_on: RestsOn) -> list[Part]:
    return rows_of(read(cast.mai, TODAY), rests_on).parts


def turns_at(drill: str, first: datetime.date, last: datetime.date = TODAY) -> RestsOn:
    return RestsOn(Kind.TURNS, first, last, drill)


def ever(kind: Kind, about: str = "") -> RestsOn:
    return RestsOn(kind, EVER, TODAY, about)


def texts(part: Part) -> list[str]:
    return [note.text for note in part.notes]


def at(day: datetime.date) -> datetime.datetime:
    return datetime.datetime.combine(day, datetime.time(17), datetime.UTC)


def report(model, cast: Cast, child, day: datetime.date, **more):
    return model.objects.create(
        id=time_ordered_id(at(day)), child=child, day=day, at=at(day), by=cast.omar,
        received_at=at(day), digest="-", **more,
    )  # fmt: skip


def decide(cast: Cast, child, kind: str, stage: str, **more) -> Decision:
    return Decision.objects.create(
        child=child, kind=kind, stage=stage, by=cast.petra, as_director=True, at=NOW, day=TODAY,
        ladder=LadderVersion.objects.get(), reading={}, digest="-",
        **{"surface": surface_called(FLOOR)} | more,
    )  # fmt: skip


def test_turns_are_of_this_child_this_drill_and_these_days(log, cast):
    log(cast.mai, "back-bend-raised", "1", day=TODAY - 8 * DAY)
    log(cast.mai, "back-bend-raised", "10", day=TODAY - 7 * DAY)
    log(cast.mai, "kick-over-block", "1", day=TODAY - 7 * DAY)
    log(cast.ilse, "back-bend-raised", "111", day=TODAY - 7 * DAY)
    log(cast.rosa, "back-bend-raised", "111", day=TODAY - 7 * DAY, by=cast.ines)
    (part,) = found(cast, turns_at("back-bend-raised", TODAY - 7 * DAY, TODAY - DAY))
    ((day, turns),) = [(each.day, each.turns) for each in part.days]
    assert day == TODAY - 7 * DAY
    assert [turn.outcome for turn in turns] == ["not clean", "clean"]
    assert {turn.by for turn in turns} == {"Omar"}


def test_a_turn_is_told_with_its_support_its_floor_and_its_faults(log, cast):
    log(cast.mai, "back-walkover", "0", support=2, faults=("legs-apart",))
    (part,) = found(cast, turns_at("back-walkover", TODAY))
    (turn,) = part.days[0].turns
    ladder = read(cast.mai, TODAY).ladder
    assert turn.support == 2
    assert turn.surface == ladder.surface_names[FLOOR]
    assert turn.faults == [ladder.faults["legs-apart"]["sees"]]


def test_a_turn_that_was_taken_back_is_shown_as_taken_back(log, cast):
    (turn,) = log(cast.mai, "back-bend-raised", "1")
    Strike.objects.create(
        id=time_ordered_id(NOW), attempt_id=turn.pk, code="wrong-child", by=cast.omar, at=NOW,
        received_at=NOW, digest="-",
    )  # fmt: skip
    (part,) = found(cast, turns_at("back-bend-raised", TODAY))
    assert part.days[0].turns[0].struck == "struck by Omar: wrong child"


def test_turns_at_all_drills_say_which(log, cast):
    log(cast.mai, "back-bend-raised", "1")
    log(cast.mai, "kick-over-block", "1")
    (part,) = found(cast, ever(Kind.TURNS))
    assert part.names_drills
    assert len({turn.drill for turn in part.days[0].turns}) == 2
    assert part.heading == "All turns, up to 4 Mar"


def test_each_drill_has_its_own_part_and_one_without_turns_none(log, cast):
    log(cast.mai, "back-bend-raised", "1")
    log(cast.mai, "kick-over-block", "1")
    drills = ("kick-over-block", "back-walkover", "back-bend-raised")
    parts = found(cast, *(turns_at(drill, TODAY - DAY) for drill in drills))
    names = read(cast.mai, TODAY).ladder.drills
    assert [part.heading for part in parts] == [
        f"Turns at {names[drill]['name']}, 3 Mar to 4 Mar"
        for drill in ("kick-over-block", "back-bend-raised")
    ]


def test_that_nothing_is_on_record_is_said(cast):
    (part,) = found(cast, ever(Kind.TURNS))
    assert part.is_empty


def test_the_newest_and_the_oldest_day_are_open(log, cast):
    for weeks in (3, 2, 1):
        log(cast.mai, "back-bend-raised", "1", day=TODAY - 7 * weeks * DAY)
    (part,) = found(cast, ever(Kind.TURNS))
    assert [day.opens for day in part.days] == [True, False, True]
    assert part.days[0].day > part.days[2].day


def test_where_there_are_too_many_turns_the_newest_are_shown_and_it_is_said(log, cast, monkeypatch):
    monkeypatch.setattr(rows, "MOST_TURNS", 3)
    log(cast.mai, "back-bend-raised", "111", day=TODAY - DAY)
    whole = rows_of(read(cast.mai, TODAY), [ever(Kind.TURNS)])
    assert not whole.older_left_out
    log(cast.mai, "back-bend-raised", "1")
    cut = rows_of(read(cast.mai, TODAY), [ever(Kind.TURNS)])
    assert cut.older_left_out
    assert [len(day.turns) for day in cut.parts[0].days] == [1, 2]


def test_turns_under_a_merged_record_are_the_childs_too(log, cast):
    twice = make_child("Mai T", cast.blue)
    log(twice, "back-bend-raised", "1")
    merge(twice, cast.mai, cast.petra, NOW)
    (part,) = found(cast, turns_at("back-bend-raised", TODAY))
    assert len(part.days[0].turns) == 1


def test_decisions_are_of_this_child_and_this_stage(cast):
    decide(cast, cast.mai, "recommend", "4")
    decide(cast, cast.mai, "send-back", "5", reason="more time")
    decide(cast, cast.ilse, "send-back", "4", reason="not hers")
    (part,) = found(cast, ever(Kind.DECISIONS, "4"))
    (text,) = texts(part)
    assert text.startswith("Recommended: ")
    (part,) = found(cast, ever(Kind.DECISIONS, "5"))
    assert [note.reason for note in part.notes] == ["more time"]


def test_decisions_on_a_skill_that_is_signed_by_itself_are_not_those_on_its_stage(cast):
    decide(cast, cast.mai, "recommend", "4/walkover-in-dance")
    assert found(cast, ever(Kind.DECISIONS, "4"))[0].is_empty
    assert len(found(cast, ever(Kind.DECISIONS, "4/walkover-in-dance"))[0].notes) == 1


def test_steps_of_less_support_are_decisions_on_their_drill(cast):
    drill = Drill.objects.get(key="back-walkover")
    decide(cast, cast.mai, "step", "3", drill=drill, support=1, surface=None)
    (part,) = found(cast, ever(Kind.DECISIONS, "back-walkover"))
    assert texts(part) == ["Back walkover: standing by given"]


def test_gates_are_told_as_they_are_read_with_the_way_to_the_evidence(climbed):
    reading = read(climbed.mai, TODAY)
    (part,) = rows_of(reading, [RestsOn(Kind.GATES, TODAY, TODAY, "4")]).parts
    assert part.stage == "4"
    assert len(part.lines) == len(reading.read.stage("4").gates)
    assert any(": met. " in line for line in part.lines)
    assert any(": not yet. " in line for line in part.lines)


def test_pauses_lifts_and_knocks_are_of_this_child(cast):
    for child, reason in ((cast.mai, "a sprain"), (cast.ilse, "fever")):
        Pause.objects.create(child=child, reason=reason, by=cast.petra, at=NOW, day=TODAY)
        report(HeadKnock, cast, child, TODAY - DAY, on=TODAY - 3 * DAY)
    PauseLift.objects.create(child=cast.mai, reason="said", by=cast.petra, at=NOW, day=TODAY)
    (part,) = found(cast, RestsOn(Kind.PAUSES, TODAY - 3 * DAY, TODAY))
    assert sorted(texts(part)) == ["A knock on the head on 1 Mar", "Pause lifted", "Paused"]
    assert "a sprain" in [note.reason for note in part.notes]
    (part,) = found(cast, RestsOn(Kind.PAUSES, TODAY - 2 * DAY, TODAY))
    assert len(part.notes) == 2


def test_what_hurt_is_told_with_what_is_gone_or_was_taken_back(cast):
    report(Pain, cast, cast.ilse, TODAY, place="neck")
    pain = report(Pain, cast, cast.mai, TODAY - 2 * DAY, place="wrist")
    report(Pain, cast, cast.mai, TODAY - 9 * DAY, place="knee")
    report(PainGone, cast, cast.mai, TODAY, place="wrist")
    Strike.objects.create(
        id=uuid.uuid4(), attempt_id=pain.pk, code="wrong-tap", by=cast.omar, at=NOW,
        received_at=NOW, digest="-",
    )  # fmt: skip
    (part,) = found(cast, RestsOn(Kind.PAIN, TODAY - 2 * DAY, TODAY))
    gone, hurt = texts(part)
    assert gone.startswith("No longer hurts: ")
    assert hurt.endswith("(taken back by Omar)")


def test_placings_and_answers_are_of_this_child(cast):
    for child in (cast.mai, cast.ilse):
        Placing.objects.create(
            child=child, stage=3, surface=surface_called(FLOOR), reason="seen", by=cast.petra,
            at=NOW, day=TODAY, ladder=LadderVersion.objects.get(),
        )  # fmt: skip
    give_consent(cast.ilse, yes=False, guardian="B")
    give_consent(cast.mai, yes=False, day=TODAY, guardian="A")
    placed, answers = found(cast, RestsOn(Kind.PLACINGS, TODAY, TODAY), ever(Kind.CONSENT))
    assert len(placed.notes) == 1
    again = "asked again from 1 Sep 2100"
    assert texts(answers) == [f"no, A; {again}", f"yes; {again}"]


def test_a_letter_that_was_printed_is_told_by_its_day(cast):
    about = {"file": b"", "by": cast.omar, "at": NOW, "digest": "-", "text_digest": "-"}
    for child, day in ((cast.mai, TODAY), (cast.mai, TODAY - DAY), (cast.ilse, TODAY)):
        PrintedLetter.objects.create(child=child, day=day, **about)
    (part,) = found(cast, RestsOn(Kind.LETTERS, TODAY, TODAY))
    assert [(note.text, note.by) for note in part.notes] == [("Printed", "Omar")]


@pytest.mark.parametrize("children", [2, 20])
def test_as_many_questions_for_many_turns_as_for_few(
    children, log, cast, django_assert_num_queries
):
    for back in range(children):
        log(cast.mai, "back-bend-raised", "11", day=TODAY - back * DAY)
        decide(cast, cast.mai, "recommend", "4")
        Pause.objects.create(child=cast.mai, reason="-", by=cast.petra, at=NOW, day=TODAY)
        report(Pain, cast, cast.mai, TODAY - back * DAY, place="wrist")
    reading = read(cast.mai, TODAY)
    every = [ever(kind, "4" if kind == Kind.DECISIONS else "") for kind in rows.NOTES]
    # Turns, their strikes and their notes; decisions; placings; pauses, lifts and knocks; pain and
    # what is gone; answers and the child's records; letters.
    with django_assert_num_queries(13):
        found = rows_of(reading, [ever(Kind.TURNS), *every])
    assert len(found.parts[0].days) == children
