"""The one door for turns: what it keeps, what it sets aside, what it never does."""

import datetime
import json
import random
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import OperationalError, connection, transaction

from progression.log.lines import NewTurn
from progression.models import Attempt, LadderVersion, RejectedLine, Strike, Surface
from readiness.models import ClassOver, DayTally, FaultTally, Pain, PainGone, Placing, Told
from readiness.record.intake import PaperResult, take_lines, take_paper
from studio.models import Attendance, Child
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.ready import readings_now

MAT = "sprung-dance-floor"


def turn(child, drill="log-roll", **about):
    """One floor line; the id and the time are new for each."""
    at = NOW - datetime.timedelta(seconds=random.Random(str(about) + drill).randint(1, 3000))
    line = {"kind": "turn", "id": str(time_ordered_id(at)), "at": at.isoformat()}
    line |= {"child": str(child.uuid), "drill": drill, "surface": MAT, "support": 0}
    return line | (about if "value" in about or "clean" in about else {"clean": True} | about)


def placed(cast, stage, days_ago):
    Placing.objects.create(
        child=cast.mai, stage=stage, surface=Surface.objects.get(key=MAT), reason="seen by me",
        by=cast.petra, at=NOW - datetime.timedelta(days=days_ago),
        day=TODAY - datetime.timedelta(days=days_ago), ladder=LadderVersion.objects.get(),
    )  # fmt: skip


def send(cast, lines, by=None, v=1, sent=NOW, received=NOW):
    answers = take_lines(cast.meeting, by or cast.omar, "tablet 3", sent, lines, v, received)
    return [(answer.answer, answer.code) for answer in answers]


def test_a_turn_is_kept_folded_and_read(cast, log):
    log(cast.mai, "log-roll", "1101")
    tally = DayTally.objects.get()
    assert (tally.turns, tally.clean, tally.graded, tally.graded_clean) == (4, 3, 4, 3)
    reading = readings_now([cast.mai], NOW)[cast.mai.pk]
    assert reading["stages"][0]["state"] == "open"


def test_the_same_line_again_is_had_and_not_doubled(cast):
    line = turn(cast.mai)
    assert send(cast, [line]) == [("kept", "")]
    assert send(cast, [line]) == [("had", "")]
    assert send(cast, [line, line]) == [("had", ""), ("had", "")]
    assert Attempt.objects.count() == DayTally.objects.get().turns == 1


def test_the_same_line_twice_in_one_call_is_one_turn(cast):
    line = turn(cast.mai)
    assert send(cast, [line, line]) == [("kept", ""), ("had", "")]
    assert Attempt.objects.count() == 1


def test_the_same_id_with_other_content_differs_and_both_stay_readable(cast):
    line = turn(cast.mai)
    send(cast, [line])
    other = line | {"clean": False}
    assert send(cast, [other]) == [("differs", "other-content")]
    assert Attempt.objects.get().clean is True
    assert json.loads(RejectedLine.objects.get().body) == other


def test_two_equal_turns_with_ids_of_their_own_are_two_turns(cast):
    one, two = turn(cast.mai), turn(cast.mai)
    assert send(cast, [one, two]) == [("kept", ""), ("kept", "")]
    assert DayTally.objects.get().turns == 2


BAD = [
    ({"id": "not an id"}, "bad-id"),
    ({"id": "6ba7b810-9dad-41d1-80b4-00c04fd430c8"}, "bad-id"),
    ({"kind": "dance"}, "unknown-kind"),
    ({"kind": ["turn"]}, "unknown-kind"),
    ({"at": "yesterday"}, "bad-time"),
    ({"at": "2026-03-04T17:00:00"}, "bad-time"),
    ({"at": None}, "bad-time"),
    ({"child": "3f0e"}, "not-in-class"),
    ({"child": {}}, "not-in-class"),
    ({"drill": "salto"}, "unknown-drill"),
    ({"surface": "lawn"}, "unknown-surface"),
    ({"clean": "yes"}, "bad-outcome"),
    ({"clean": None, "value": 3}, "bad-outcome"),
    ({"drill": "hollow-hold", "clean": None, "value": -1}, "bad-value"),
    ({"drill": "hollow-hold", "clean": None, "value": 1e9}, "bad-value"),
    ({"drill": "hollow-hold", "clean": None, "value": True}, "bad-value"),
    ({"drill": "sit-depth", "clean": None, "value": 4}, "bad-value"),
    ({"drill": "sit-depth", "clean": None, "value": 1.5}, "bad-value"),
    ({"drill": "handspring", "support": 7}, "bad-support"),
    ({"drill": "handspring", "support": True}, "bad-support"),
    ({"faults": ["sneezes"]}, "unknown-fault"),
    ({"faults": "half-hearted"}, "unknown-fault"),
    ({"less": "in a hurry"}, "unknown-reason"),
    ({"faults": ["half-hearted"]}, "clean-with-stop-sign"),
    ({"caught": True}, "clean-with-stop-sign"),
]


@pytest.mark.parametrize(("change", "code"), BAD, ids=[f"{c} {list(w)}" for w, c in BAD])
def test_a_line_that_cannot_be_taken_is_set_aside_in_full(cast, change, code):
    good, bad = turn(cast.mai), turn(cast.mai) | change
    assert send(cast, [bad, good]) == [("refused", code), ("kept", "")]
    aside = RejectedLine.objects.get()
    assert (json.loads(aside.body), aside.code) == (bad, code)
    assert Attempt.objects.count() == 1


@pytest.mark.parametrize("line", [None, 3, "turn", ["turn"], {}])
def test_a_line_that_is_no_line_is_set_aside(cast, line):
    assert send(cast, [line])[0][0] == "refused"
    assert json.loads(RejectedLine.objects.get().body) == line


def test_letters_that_a_database_cannot_hold_are_set_aside_all_the_same(cast):
    bad = turn(cast.mai) | {"drill": "a\x00b\ud800", "id": "\x00\ud800"}
    assert send(cast, [bad]) == [("refused", "bad-id")]
    assert json.loads(RejectedLine.objects.get().body) == bad


def test_a_refused_line_sent_again_is_set_aside_once(cast):
    bad = turn(cast.mai) | {"drill": "salto"}
    send(cast, [bad])
    send(cast, [bad])
    assert RejectedLine.objects.count() == 1


def test_lines_of_a_newer_version_are_set_aside_and_never_read(cast):
    assert send(cast, [turn(cast.mai)], v=4) == [("refused", "newer-version")]
    assert not Attempt.objects.exists()
    assert RejectedLine.objects.count() == 1


def test_a_child_of_another_class_is_refused(cast):
    assert send(cast, [turn(cast.rosa)]) == [("refused", "not-in-class")]
    assert not Attempt.objects.exists()


def test_a_strike_makes_a_turn_as_if_it_had_never_been(cast, log):
    log(cast.mai, "log-roll", "11")
    before = DayTally.objects.values().get()
    extra = log(cast.mai, "log-roll", "0", faults=("legs-apart",))[0]
    assert FaultTally.objects.count() == 1
    strike = {"kind": "strike", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    strike |= {"turn": str(extra.id), "code": "wrong-child"}
    assert send(cast, [strike, strike]) == [("kept", ""), ("had", "")]
    after = DayTally.objects.values().get()
    del before["id"], after["id"]
    assert after == before
    assert not FaultTally.objects.exists()
    assert Attempt.objects.count() == 3


def test_a_strike_may_arrive_before_its_turn(cast):
    late = turn(cast.mai)
    strike = {"kind": "strike", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    strike |= {"turn": late["id"], "code": "wrong-tap"}
    assert send(cast, [strike]) == [("kept", "")]
    assert send(cast, [late]) == [("kept", "")]
    assert Attempt.objects.count() == 1
    assert not DayTally.objects.exists()


def test_a_turn_is_struck_once(cast, log):
    done = log(cast.mai, "log-roll", "1")[0]
    strikes = [
        {"kind": "strike", "id": str(time_ordered_id(NOW, at)), "at": NOW.isoformat()}
        | {"turn": str(done.id), "code": "other"}
        for at in range(2)
    ]
    assert send(cast, strikes) == [("kept", ""), ("had", "")]
    assert Strike.objects.count() == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite locks the whole file")
def test_whoevers_turn_is_struck_the_childs_row_is_locked(cast, log):
    """The red class's child too, when its coach strikes a turn on another class's page."""
    other = make_child("Una Other", cast.red)
    done = log(cast.rosa, "log-roll", "1", by=cast.ines)[0]
    locked = []

    def look(execute, sql, *rest):
        if sql.startswith('INSERT INTO "progression_strike"'):
            with ThreadPoolExecutor(1) as elsewhere:
                locked.extend(elsewhere.map(is_locked, [cast.rosa, cast.mai, other]))
        return execute(sql, *rest)

    strike = {"kind": "strike", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    strike |= {"turn": str(done.id), "code": "other"}
    with connection.execute_wrapper(look):
        assert send(cast, [strike], by=cast.ines) == [("kept", "")]
    assert locked == [True, True, False]
    assert not DayTally.objects.exists()


def is_locked(child):
    """True if somebody else holds the child's row; on a connection of its own."""
    try:
        with transaction.atomic():
            Child.objects.select_for_update(nowait=True).get(pk=child.pk)
    except OperationalError:
        return True
    finally:
        connection.close()
    return False


def test_assistants_strike_only_their_own(cast, log):
    done = log(cast.mai, "log-roll", "1")[0]
    strike = {"kind": "strike", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    strike |= {"turn": str(done.id), "code": "other"}
    assert send(cast, [strike], by=cast.tam) == [("refused", "not-yours")]
    assert not Strike.objects.exists()


def test_assistants_log_but_do_not_grade(cast):
    assert send(cast, [turn(cast.mai)], by=cast.tam) == [("kept", "")]
    assert Attempt.objects.get().graded is False
    graded = turn(cast.mai, "sit-depth", value=2)
    assert send(cast, [graded], by=cast.tam) == [("refused", "may-not-grade")]


def test_who_is_here_and_what_hurts(cast):
    here = {"kind": "here", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    here |= {"child": str(cast.mai.uuid), "present": True}
    hurt = {"kind": "hurt", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    hurt |= {"child": str(cast.mai.uuid), "place": "head"}
    assert send(cast, [here, hurt, here, hurt]) == [("kept", "")] * 2 + [("had", "")] * 2
    assert Attendance.objects.get().present
    assert (Pain.objects.get().place, Pain.objects.get().day) == ("head", TODAY)
    reading = readings_now([cast.mai], NOW)[cast.mai.pk]
    assert {row["allowed"] for row in reading["support"]} == {None}


@pytest.mark.parametrize("place", ["nowhere", "", None, 3, ["wrist"]])
def test_what_is_gone_is_a_place_of_the_ladder(cast, place):
    gone = {"kind": "gone", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    line = gone | {"child": str(cast.mai.uuid), "place": place}
    assert send(cast, [line]) == [("refused", "unknown-place")]
    assert PainGone.objects.count() == 0


TOLD = {"kind": "told", "what": "fall", "whom": "guardian-here"}


def test_who_of_the_family_was_told_is_kept_and_sent_twice_it_is_kept_once(cast):
    about = {"id": str(time_ordered_id(NOW)), "at": NOW.isoformat(), "child": str(cast.mai.uuid)}
    assert send(cast, [TOLD | about, TOLD | about]) == [("kept", ""), ("had", "")]
    told = Told.objects.get()
    assert (told.child, told.about, told.whom) == (cast.mai, "fall", "guardian-here")
    assert (told.by, told.day, told.at) == (cast.omar, TODAY, NOW)


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"what": "nowhere"}, "unknown-place"),
        ({"whom": "the cat"}, "unknown-reason"),
        ({"whom": None}, "unknown-reason"),
        ({"child": "nobody"}, "not-in-class"),
    ],
)
def test_a_family_told_in_another_form_is_set_aside(cast, wrong, code):
    about = {"id": str(time_ordered_id(NOW)), "at": NOW.isoformat(), "child": str(cast.mai.uuid)}
    assert send(cast, [TOLD | about | wrong]) == [("refused", code)]
    assert Told.objects.count() == 0


def test_a_turn_before_a_pain_is_said_to_be_gone_is_flagged_and_one_after_it_is_not(cast):
    week_ago = NOW - datetime.timedelta(days=7)
    about = {"child": cast.mai, "by": cast.omar, "place": "wrist", "received_at": week_ago}
    Pain.objects.create(id=time_ordered_id(week_ago), day=week_ago.date(), at=week_ago, **about)

    def at(minutes):
        return (NOW - datetime.timedelta(minutes=minutes)).isoformat()

    gone = {"kind": "gone", "id": str(time_ordered_id(NOW)), "at": at(20)}
    gone |= {"child": str(cast.mai.uuid), "place": "wrist"}
    turns = [turn(cast.mai, "front-support", value=20) | {"at": at(each)} for each in (30, 10)]
    assert send(cast, [turns[0], gone, turns[1]]) == [("kept", "")] * 3
    flags = Attempt.objects.order_by("done_at").values_list("flags", flat=True)
    assert list(flags) == [["pain"], []]


def test_the_day_is_the_meetings_date_whatever_the_clock_says(cast):
    # 23:30 in the hall on the meeting's day is the next day in UTC in summer, and a tablet
    # three hours fast says so all the more.
    line = turn(cast.mai) | {"at": "2026-03-05T02:30:00+03:00"}
    sent = datetime.datetime.fromisoformat("2026-03-05T02:31:00+03:00")
    received = datetime.datetime(2026, 3, 4, 20, 31, tzinfo=datetime.UTC)
    assert send(cast, [line], sent=sent, received=received) == [("kept", "")]
    attempt = Attempt.objects.get()
    assert attempt.day == TODAY
    assert attempt.done_at == datetime.datetime(2026, 3, 4, 20, 30, tzinfo=datetime.UTC)
    assert attempt.flags == []


def test_a_tablet_whose_clock_ran_empty_and_begins_in_1970_loses_nothing(cast):
    began = datetime.datetime(1970, 1, 1, 0, 10, tzinfo=datetime.UTC)
    line = turn(cast.mai) | {"at": began.isoformat()}
    sent = began + datetime.timedelta(minutes=4)
    assert send(cast, [line], sent=sent, received=NOW) == [("kept", "")]
    attempt = Attempt.objects.get()
    assert (attempt.done_at, attempt.flags) == (NOW - datetime.timedelta(minutes=4), [])


def test_a_time_in_the_future_is_clamped_and_flagged(cast):
    line = turn(cast.mai) | {"at": "2026-03-04T19:00:00+00:00"}
    send(cast, [line], sent=NOW, received=NOW)
    attempt = Attempt.objects.get()
    assert attempt.done_at == NOW
    assert attempt.flags == ["clock"]


@pytest.mark.parametrize(
    ("drill", "support", "flags"),
    [
        ("log-roll", 0, []),
        ("handspring", 3, ["closed"]),
        ("kick-to-handstand", 0, []),
    ],
)
def test_what_was_not_allowed_is_kept_and_flagged(cast, drill, support, flags):
    send(cast, [turn(cast.mai, drill, support=support)])
    assert Attempt.objects.get().flags == flags


def test_less_support_than_allowed_is_kept_and_flagged(cast, log):
    placed(cast, stage=6, days_ago=3)
    lines = [turn(cast.mai, "handspring", support=support) for support in (3, 2)]
    assert send(cast, lines) == [("kept", "")] * 2
    assert sorted(Attempt.objects.values_list("support", "flags")) == [
        (2, ["less-support"]),
        (3, []),
    ]


def test_a_turn_of_last_week_struck_in_the_same_call_brings_no_stop_sign_into_today(cast, log):
    placed(cast, stage=6, days_ago=8)
    last_week = TODAY - datetime.timedelta(days=7)
    _stopped, clean = log(cast.mai, "handspring", "01", day=last_week, faults=("half-hearted",))
    strike = {"kind": "strike", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    strike |= {"turn": str(clean.id), "code": "wrong-tap"}
    line = turn(cast.mai, "handspring", support=3)
    assert send(cast, [strike, line]) == [("kept", "")] * 2
    assert Attempt.objects.get(pk=line["id"]).flags == []


@pytest.mark.parametrize(("place", "flag"), [("wrist", "pain"), ("head", "paused")])
def test_a_turn_after_something_hurt_is_flagged_and_one_before_it_is_not(cast, place, flag):
    def at(minutes):
        return (NOW - datetime.timedelta(minutes=minutes)).isoformat()

    hurt = {"kind": "hurt", "id": str(time_ordered_id(NOW)), "at": at(20)}
    send(cast, [hurt | {"child": str(cast.mai.uuid), "place": place}])
    before = turn(cast.mai, "kick-to-handstand") | {"at": at(30)}
    after = turn(cast.mai, "kick-to-handstand") | {"at": at(10)}
    assert send(cast, [before, after]) == [("kept", "")] * 2
    flags = dict(Attempt.objects.values_list("pk", "flags"))
    assert {str(pk): each for pk, each in flags.items()} == {before["id"]: [], after["id"]: [flag]}


def paper_turn(cast, days_ago, nth, **about):
    day = TODAY - datetime.timedelta(days=days_ago)
    noon = datetime.datetime.combine(day, datetime.time(12), datetime.UTC)
    told = {"id": uuid.UUID(int=days_ago << 8 | nth), "drill": "handspring", "support": 2}
    told |= {"child": cast.mai, "surface": MAT, "day": day, "done_at": noon, "graded": True}
    told |= {"author": cast.omar, "sender": cast.petra, "source": "paper", "received_at": NOW}
    return NewTurn(**(told | {"digest": "", "clean": True} | about))


def test_turns_of_paper_are_stored_once_whoever_brings_them(cast):
    turns = [paper_turn(cast, days_ago, nth) for days_ago in (3, 9) for nth in range(3)]
    assert take_paper(turns[:4], cast.petra, NOW) == PaperResult(kept=4, had=0)
    assert take_paper(turns, cast.luis, NOW) == PaperResult(kept=2, had=4)
    assert take_paper(turns, cast.petra, NOW) == PaperResult(kept=0, had=6)
    assert Attempt.objects.count() == sum(DayTally.objects.values_list("turns", flat=True)) == 6


def test_turns_of_paper_show_what_was_not_allowed_on_their_own_day(cast):
    placed(cast, stage=6, days_ago=5)
    stop = {"support": 3, "clean": False, "faults": ("half-hearted",)}
    told = [
        (paper_turn(cast, 9, 1, support=3), ["closed"]),
        (paper_turn(cast, 4, 1), ["less-support"]),
        (paper_turn(cast, 4, 2, support=3), []),
        (paper_turn(cast, 4, 3, **stop), []),
        (paper_turn(cast, 4, 4, support=3), ["finished"]),
        (paper_turn(cast, 2, 1, support=3), []),
    ]
    take_paper([each for each, _ in told], cast.petra, NOW)
    flags = dict(Attempt.objects.values_list("pk", "flags"))
    assert [flags[each.id] for each, _ in told] == [flag for _, flag in told]


def test_a_turn_of_paper_that_was_struck_before_it_came_is_kept_alone_on_its_day(cast):
    struck, other = paper_turn(cast, 9, 1), paper_turn(cast, 2, 1, support=3)
    strike = {"kind": "strike", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    send(cast, [strike | {"turn": str(struck.id), "code": "wrong-child"}])
    take_paper([struck, other], cast.petra, NOW)
    assert dict(Attempt.objects.values_list("pk", "flags")) == {
        struck.id: [],
        other.id: ["closed"],
    }
    assert DayTally.objects.get().day == other.day


def test_the_reason_for_less_support_is_kept_with_the_turn(cast):
    line = turn(cast.mai, "kick-to-handstand", support=0, less="no-spotter")
    assert send(cast, [line]) == [("kept", "")]
    assert Attempt.objects.get().less_reason == "no-spotter"


def test_the_order_of_arrival_does_not_matter(cast):
    twin = make_child("Nora Falk", cast.blue)
    rng = random.Random(4)
    shapes = [
        (drill, clean, support)
        for drill in ("log-roll", "kick-to-handstand")
        for clean in (True, True, False)
        for support in (0, 1)
    ]
    lines = {
        child: [
            turn(child, drill, clean=clean, support=support)
            | {"at": (NOW - datetime.timedelta(minutes=at)).isoformat()}
            for at, (drill, clean, support) in enumerate(shapes)
        ]
        for child in (cast.mai, twin)
    }
    send(cast, lines[cast.mai])
    shuffled = rng.sample(lines[twin], len(lines[twin]))
    for at in range(0, len(shuffled), 3):
        send(cast, shuffled[at : at + 3])
    columns = ["drill", "support", "turns", "clean", "stop_signs", "first_at", "first_clean"]
    rows = {
        child: sorted(DayTally.objects.filter(child=child).values_list(*columns))
        for child in (cast.mai, twin)
    }
    assert rows[cast.mai] == rows[twin]
    found = readings_now([cast.mai, twin], NOW)
    one, other = (found[child.pk] for child in (cast.mai, twin))
    assert one | {"child": ""} == other | {"child": ""}


def test_a_coach_says_that_the_class_is_over_and_turns_are_taken_after_it(cast):
    over = {"kind": "class-over", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    assert send(cast, [over, over]) == [("kept", ""), ("had", "")]
    said = ClassOver.objects.get()
    assert (said.meeting, said.by, said.at) == (cast.meeting, cast.omar, NOW)
    assert send(cast, [turn(cast.mai, "log-roll")]) == [("kept", "")]


def test_an_assistant_does_not_close_a_class(cast):
    over = {"kind": "class-over", "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    assert send(cast, [over], by=cast.tam) == [("refused", "may-not-close")]
    assert ClassOver.objects.count() == 0
