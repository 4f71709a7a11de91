"""The show list: a yes by two people on six clean turns, and all that ends it."""

import datetime
import uuid

import pytest
import time_machine
from django.db import IntegrityError, transaction

from progression.models import Strike, Surface
from readiness.models import Pause, RunThrough, Show, ShowEntry, ShowNumber, Wings
from readiness.record import decisions
from readiness.record.show.places import places_of
from readiness.record.snapshots import stage_snapshot
from readiness.record.standings import read
from studio.models import AccountChange, Child
from studio.people.family import say_family
from studio.people.merging import NotMerged, merge
from tests.support.cast import NOW, TODAY, make_child, make_staff, time_ordered_id
from tests.support.deciding import LATER
from tests.support.pages import signed_in
from tests.support.ready import MAT, ready_to_be_signed

DRILL, FLOOR = "walkover-in-dance", "bare-stage"
ONE_DAY = datetime.timedelta(days=1)
# The run-throughs; the show is on the 30th day from TODAY.
FIRST, SECOND = TODAY + 7 * ONE_DAY, TODAY + 14 * ONE_DAY
SHOW_DAY = TODAY + 30 * ONE_DAY


def moment(day: datetime.date) -> datetime.datetime:
    return NOW + (day - TODAY)


@pytest.fixture
def number(cast, log) -> ShowNumber:
    """Mai's walkover is signed on the mat, and in the dance; her class has a number with it, run
    through twice."""
    ready_to_be_signed(cast, log)
    seen = stage_snapshot(read(cast.mai, TODAY), "4")
    decisions.recommend(cast.mai, "4", cast.omar, seen, LATER, MAT)
    seen = stage_snapshot(read(cast.mai, TODAY), "4")
    decisions.sign(cast.mai, "4", cast.petra, seen, LATER, MAT, TODAY)
    sign_the_dance(cast, log)
    about = {"by": cast.petra, "at": NOW}
    show = Show.objects.create(
        location=cast.hall, name="Lanterns", on=SHOW_DAY, shoes="half soles",
        surface=Surface.objects.get(key=FLOOR), **about,
    )  # fmt: skip
    found = ShowNumber.objects.create(
        show=show, name="Night boats", group=cast.blue, easy="Kneel and draw",
        drill=_drill(), **about,
    )  # fmt: skip
    for day in (FIRST, SECOND):
        # Turns are logged from 17:00 on.
        RunThrough.objects.create(
            number=found, day=day, ended_at=moment(day) - datetime.timedelta(minutes=5),
            by=cast.omar, at=moment(day),
        )  # fmt: skip
    return found


def sign_the_dance(cast, log) -> None:
    """On four days before, seen by two; signed once stage 4 is open."""
    for before in (4, 3, 2, 1):
        log(cast.mai, DRILL, "11", day=TODAY - before * ONE_DAY, support=1, surface=MAT)
        log(
            cast.mai,
            DRILL,
            "11",
            day=TODAY - before * ONE_DAY,
            support=1,
            surface=MAT,
            by=cast.ines,
        )
    day, code = TODAY + ONE_DAY, f"4/{DRILL}"
    at = LATER + ONE_DAY
    for decide, by, *seen_on in (
        (decisions.recommend, cast.omar), (decisions.sign, cast.petra, day),
    ):  # fmt: skip
        decide(cast.mai, code, by, stage_snapshot(read(cast.mai, day), code), at, MAT, *seen_on)


def _drill():
    from progression.models import Drill

    return Drill.objects.get(key=DRILL)


@pytest.fixture
def danced(number, cast, log) -> ShowNumber:
    """Six clean turns at the end of both, the first ones among them."""
    for day in (FIRST, SECOND):
        log(cast.mai, DRILL, "111", day=day, support=1, surface=FLOOR)
        log(cast.mai, "back-walkover", "111", day=day, support=1)
    return number


def place(number, child, day=SECOND):
    return places_of(number, [read(Child.objects.get(pk=child.pk), day)])[0]


def post(number, child, by, what, day=SECOND, **about):
    data = {"token": str(uuid.uuid4()), "seen": place(number, child, day).seen} | about
    with time_machine.travel(moment(day), tick=False):
        return signed_in(by).post(f"/shows/numbers/{number.uuid}/{child.uuid}/{what}", data)


def page(number, by, day=SECOND, child=None):
    address = f"numbers/{number.uuid}/{child.uuid}" if child else number.show.uuid
    with time_machine.travel(moment(day), tick=False):
        answer = signed_in(by).get(f"/shows/{address}")
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def give_yes(number, cast, day=SECOND):
    assert post(number, cast.mai, cast.omar, "recommend", day).status_code == 302
    assert post(number, cast.mai, cast.petra, "sign", day).status_code == 302


def version(number, child, day=SECOND):
    found = place(number, child, day)
    return found.version, found.why_not


def test_everybody_begins_with_the_easy_version(danced, cast):
    assert version(danced, cast.mai) == ("easy", "")
    said = page(danced, cast.petra)
    assert "Kneel and draw" in said
    assert "Every child may do the easy version, without asking and without a reason." in said


def test_family_recommends_no_yes(danced, cast):
    say_family(cast.mai, cast.omar, cast.luis, NOW)
    answer = post(danced, cast.mai, cast.omar, "recommend")
    assert "You are family of this child" in answer.text
    assert not ShowEntry.objects.exists()


def test_a_yes_is_recommended_by_one_and_signed_by_another(danced, cast):
    ready = "The turns for a yes are there."
    assert page(danced, cast.omar).count(ready) == 1
    # It is for those who see the child's record.
    assert ready not in page(danced, cast.tam)
    assert ready not in page(danced, cast.ines)
    assert "6 clean turns of 6" in page(danced, cast.petra, child=cast.mai)
    assert post(danced, cast.mai, cast.omar, "recommend").status_code == 302
    assert version(danced, cast.mai) == ("easy", "")
    assert ready not in page(danced, cast.petra)
    assert post(danced, cast.mai, cast.petra, "sign").status_code == 302
    assert version(danced, cast.mai) == ("yes", "")
    yes = ShowEntry.objects.get(kind="yes")
    assert (yes.by, yes.answers.by, yes.day) == (cast.petra, cast.omar, SECOND)


@pytest.mark.parametrize(
    ("first", "second", "says"),
    [
        ("petra", "petra", "You recommended this yourself."),
        ("omar", "omar", None),
        ("omar", "tam", None),
        (None, "petra", "Nobody has recommended this yet."),
    ],
)
def test_nobody_gives_a_yes_alone(danced, cast, first, second, says):
    if first:
        assert post(danced, cast.mai, getattr(cast, first), "recommend").status_code == 302
    answer = post(danced, cast.mai, getattr(cast, second), "sign")
    assert answer.status_code in (403, 409)
    assert says is None or says in answer.content.decode()
    assert not ShowEntry.objects.filter(kind="yes").exists()


def test_nor_by_family_of_the_child(danced, cast):
    say_family(cast.mai, cast.petra, cast.luis, moment(SECOND))
    assert post(danced, cast.mai, cast.omar, "recommend").status_code == 302
    answer = post(danced, cast.mai, cast.petra, "sign")
    assert answer.status_code == 403
    assert "You are family of this child" in answer.content.decode()
    assert not ShowEntry.objects.filter(kind="yes").exists()


def test_nor_by_an_account_that_is_in_the_same_hand(danced, cast):
    puppet = make_staff("Uma", "coach", cast.hall)
    cast.blue.staff.add(puppet)
    AccountChange.objects.create(
        staff=puppet, what="made", by=cast.petra, at=moment(SECOND) - 2 * ONE_DAY
    )
    assert post(danced, cast.mai, puppet, "recommend").status_code == 302
    answer = post(danced, cast.mai, cast.petra, "sign")
    assert answer.status_code == 403
    assert "less than seven days ago" in answer.content.decode()
    assert version(danced, cast.mai) == ("easy", "")


def test_a_yes_without_a_recommendation_is_refused_by_the_database_too(danced, cast):
    about = {"child": cast.mai, "by": cast.petra, "at": NOW, "day": TODAY}
    with pytest.raises(IntegrityError), transaction.atomic():
        ShowEntry.objects.create(number=danced, kind="yes", **about)


def test_without_the_turns_nobody_recommends(number, cast, log):
    for day in (FIRST, SECOND):
        log(cast.mai, DRILL, "1111", day=day, support=1, surface=MAT)
    log(cast.mai, DRILL, "011111", day=SECOND, support=1, surface=FLOOR)
    answer = post(number, cast.mai, cast.omar, "recommend")
    assert answer.status_code == 409
    assert "There are not six clean turns on two days" in answer.content.decode()
    assert "the first one was not clean" in page(number, cast.omar, child=cast.mai)
    assert not ShowEntry.objects.exists()


def test_nor_where_the_skill_itself_is_not_signed(danced, cast, log):
    for day in (FIRST, SECOND):
        log(cast.ilse, DRILL, "111", day=day, support=1, surface=FLOOR)
    answer = post(danced, cast.ilse, cast.omar, "recommend")
    assert answer.status_code == 409
    assert "is not signed for unspotted work" in answer.content.decode()
    # And to somebody who has not begun it the drill is closed.
    assert post(danced, cast.ilse, cast.omar, "put", version="beside").status_code == 409
    assert not ShowEntry.objects.exists()


def test_nor_where_it_is_signed_but_not_in_the_dance(danced, cast):
    """On the stage nobody is beside her after the first turn."""
    day, code = SECOND, f"4/{DRILL}"
    seen = stage_snapshot(read(cast.mai, day), code)
    decisions.close(cast.mai, code, cast.petra, seen, moment(day), "Not yet in the dance.")
    assert read(cast.mai, day).read.stage("4").state == "open"
    answer = post(danced, cast.mai, cast.omar, "recommend")
    assert answer.status_code == 409
    assert "is not signed for unspotted work" in answer.content.decode()
    assert not ShowEntry.objects.exists()


def test_a_turn_before_the_end_of_the_run_through_does_not_count(danced, cast):
    late = ShowNumber.objects.create(
        show=danced.show, name="Again", group=cast.blue, drill=_drill(), easy="-", by=cast.petra,
        at=NOW,
    )  # fmt: skip
    for day in (FIRST, SECOND):
        RunThrough.objects.create(
            number=late, day=day, ended_at=moment(day) + datetime.timedelta(hours=1),
            by=cast.omar, at=moment(day),
        )  # fmt: skip
    assert place(late, cast.mai).record.clean == 0
    assert place(danced, cast.mai).record.clean == 6


def test_a_stale_page_gives_nothing(danced, cast, log):
    seen = place(danced, cast.mai).seen
    log(cast.mai, DRILL, "0", day=SECOND, support=1, surface=FLOOR, faults=("arms-give",))
    answer = post(danced, cast.mai, cast.omar, "recommend", seen=seen)
    assert answer.status_code == 409
    assert not ShowEntry.objects.exists()


def test_of_two_who_sign_at_once_one_stands_and_the_other_is_told(danced, cast):
    assert post(danced, cast.mai, cast.omar, "recommend").status_code == 302
    seen = place(danced, cast.mai).seen
    assert post(danced, cast.mai, cast.petra, "sign", seen=seen).status_code == 302
    answer = post(danced, cast.mai, cast.luis, "sign", seen=seen)
    assert answer.status_code == 409
    assert "Already decided by Petra" in answer.content.decode()
    assert ShowEntry.objects.filter(kind="yes").count() == 1


def test_a_stop_sign_ends_it_at_once(danced, cast, log):
    give_yes(danced, cast)
    log(cast.mai, "back-walkover", "0", day=SECOND + ONE_DAY, support=1, faults=("arms-give",))
    assert version(danced, cast.mai, SECOND + ONE_DAY) == ("easy", "stop-sign")
    assert "The yes is void: a stop sign since." in page(danced, cast.tam, SECOND + ONE_DAY)


def test_so_does_a_pause_even_when_it_is_lifted(danced, cast):
    give_yes(danced, cast)
    day = SECOND + ONE_DAY
    decisions.pause(cast.mai, cast.omar, moment(day), "Fever")
    assert version(danced, cast.mai, day) == ("easy", "pause")
    from readiness.record.decisions import lift
    from readiness.record.snapshots import Snapshot
    from readiness.record.standings import digest_of

    reading = read(cast.mai, day + ONE_DAY)
    seen = Snapshot(digest_of(reading.data), "", reading.ladder.number)
    lift(cast.mai, cast.petra, seen, moment(day + ONE_DAY), "The family says yes")
    assert Pause.objects.count() == 1
    assert version(danced, cast.mai, day + 2 * ONE_DAY) == ("easy", "pause")


def test_and_the_show(danced, cast, log):
    give_yes(danced, cast)
    assert version(danced, cast.mai, SHOW_DAY) == ("yes", "")
    assert version(danced, cast.mai, SHOW_DAY + ONE_DAY) == ("easy", "show")
    assert "This show is over" in page(danced, cast.petra, SHOW_DAY + ONE_DAY)


def test_and_28_days(danced, cast, log):
    later = Show.objects.create(
        location=cast.hall, name="Later", on=SECOND + 60 * ONE_DAY, shoes="bare",
        surface=danced.show.surface, by=cast.petra, at=NOW,
    )  # fmt: skip
    far = ShowNumber.objects.create(
        show=later, name="Boats", group=cast.blue, drill=_drill(), easy="-", by=cast.petra, at=NOW
    )
    for run in RunThrough.objects.all():
        about = {"day": run.day, "ended_at": run.ended_at, "by": run.by, "at": run.at}
        RunThrough.objects.create(number=far, **about)
    give_yes(far, cast)
    log(cast.mai, "back-walkover", "111", day=SECOND + 27 * ONE_DAY, support=1)
    assert version(far, cast.mai, SECOND + 28 * ONE_DAY) == ("yes", "")
    assert version(far, cast.mai, SECOND + 29 * ONE_DAY) == ("easy", "days")


def test_and_a_turn_taken_back_that_it_stood_on(danced, cast, log):
    give_yes(danced, cast)
    from progression.models import Attempt
    from readiness.record.intake import take_lines
    from studio.models import Meeting

    turn = Attempt.objects.filter(drill__key=DRILL, day=SECOND).order_by("pk").last()
    at = moment(SECOND) + datetime.timedelta(hours=2)
    line = {
        "kind": "strike", "id": str(time_ordered_id(at, 1)), "at": at.isoformat(),
        "turn": str(turn.pk), "code": "wrong-child",
    }  # fmt: skip
    meeting = Meeting.objects.get(group=cast.blue, date=SECOND)
    (answer,) = take_lines(meeting, cast.omar, "t", at, [line], 1, at)
    assert answer.answer == "kept"
    assert Strike.objects.count() == 1
    assert version(danced, cast.mai) == ("easy", "evidence")


def test_any_of_the_staff_takes_it_back_on_the_evening_and_nobody_gives_it_then(danced, cast, log):
    give_yes(danced, cast)
    # Tam assists; Ines coaches another class.
    for by in (cast.tam, cast.ines):
        assert "Easy version" in page(danced, by, SHOW_DAY)
    assert post(danced, cast.mai, cast.ines, "put", SHOW_DAY, version="easy").status_code == 302
    assert version(danced, cast.mai, SHOW_DAY) == ("easy", "")
    for by, what, about in (
        (cast.omar, "recommend", {}),
        (cast.petra, "sign", {}),
        (cast.petra, "put", {"version": "beside"}),
    ):
        assert post(danced, cast.mai, by, what, SHOW_DAY, **about).status_code == 409, what
    assert version(danced, cast.mai, SHOW_DAY) == ("easy", "")


def test_less_is_given_by_an_assistant_and_more_is_not(danced, cast):
    give_yes(danced, cast)
    assert post(danced, cast.mai, cast.tam, "put", version="beside").status_code == 302
    assert version(danced, cast.mai) == ("beside", "")
    assert post(danced, cast.mai, cast.tam, "put", version="easy").status_code == 302
    assert post(danced, cast.mai, cast.tam, "put", version="beside").status_code == 403
    assert version(danced, cast.mai) == ("easy", "")
    assert post(danced, cast.mai, cast.omar, "put", version="beside").status_code == 302
    assert version(danced, cast.mai) == ("beside", "")


def test_what_the_day_itself_asks_for(danced, cast, log):
    give_yes(danced, cast)
    assert "Not before" not in page(danced, cast.petra, SHOW_DAY - ONE_DAY)
    said = page(danced, cast.petra, SHOW_DAY)
    assert "Not before: somebody in the wings, the first turn there, with a coach beside" in said
    with time_machine.travel(moment(SHOW_DAY), tick=False):
        data = {"token": str(uuid.uuid4()), "adult": cast.tam.pk}
        address = f"/shows/numbers/{danced.uuid}/wings"
        assert signed_in(cast.omar).post(address, data).status_code == 422
        data = {"token": str(uuid.uuid4()), "adult": cast.ines.pk}
        assert signed_in(cast.omar).post(address, data).status_code == 302
    assert Wings.objects.get().adult == cast.ines
    for kind in ("first-turn", "own-yes"):
        assert "Not before" in page(danced, cast.petra, SHOW_DAY)
        assert post(danced, cast.mai, cast.omar, "today", SECOND, kind=kind).status_code == 409
        assert post(danced, cast.mai, cast.omar, "today", SHOW_DAY, kind=kind).status_code == 302
    said = page(danced, cast.petra, SHOW_DAY)
    assert "Not before" not in said
    assert "in the wings: Ines" in said


def test_a_merge_opens_no_yes_for_another_record(danced, cast):
    give_yes(danced, cast)
    other = make_child("Mai T.", cast.blue)
    with pytest.raises(NotMerged, match="opens-signed"):
        merge(cast.mai, other, cast.petra, moment(SECOND))
    assert version(danced, other) == ("easy", "")


def test_the_list_asks_as_often_for_two_children_as_for_ten(danced, cast):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    page(danced, cast.petra)
    with CaptureQueriesContext(connection) as few:
        page(danced, cast.petra)
    for count in range(8):
        make_child(f"Child {count}", cast.blue)
    page(danced, cast.petra)
    with CaptureQueriesContext(connection) as many:
        page(danced, cast.petra)
    assert len(many) <= len(few)


def test_a_show_and_a_number_are_added_by_a_director_with_the_easy_version_kept_ready(cast):
    with time_machine.travel(NOW, tick=False):
        client = signed_in(cast.petra)
        about = {"called": "Lanterns", "location": cast.hall.pk, "surface": FLOOR, "shoes": "bare"}
        wrong = about | {"on": TODAY, "token": str(uuid.uuid4())}
        assert client.post("/shows/add", wrong).status_code == 409
        right = about | {"on": SHOW_DAY, "token": str(uuid.uuid4())}
        assert client.post("/shows/add", right).status_code == 302
        show = Show.objects.get()
        number = {"called": "Boats", "group": cast.blue.pk, "drill": DRILL, "easy": ""}
        number["token"] = str(uuid.uuid4())
        assert client.post(f"/shows/{show.uuid}/number", number).status_code == 302
        made = ShowNumber.objects.get()
        assert made.easy.startswith("Kneel and draw (8 counts)")
        assert "Boats" in client.get(f"/shows/{show.uuid}").content.decode()
        run = {"ended": "17:45", "token": str(uuid.uuid4())}
        address = f"/shows/numbers/{made.uuid}/run-through"
        assert signed_in(cast.omar).post(address, run).status_code == 302
        assert RunThrough.objects.get().ended_at == NOW - datetime.timedelta(minutes=15)
        later = {"ended": "18:15", "token": str(uuid.uuid4())}
        assert signed_in(cast.omar).post(address, later).status_code == 409
