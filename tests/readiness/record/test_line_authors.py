"""Whose a line is, when it was done, and what happens when the server is an older one."""

import datetime
import json
import uuid
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from progression.log.pack_token import is_token_of, make_token
from progression.models import Attempt, AttemptProof, RejectedLine, Strike
from readiness.record.standings import read
from studio.models import Attendance, Meeting, Staff, Studio
from tests.support.cast import NOW, TODAY, Cast, time_ordered_id
from tests.support.ready import MAT, WEEKS
from tests.support.signing import Signer

DEVICE = "tablet-7"


@pytest.fixture(autouse=True)
def in_class():
    with time_machine.travel(NOW):
        yield


@pytest.fixture
def ines(client, cast: Cast) -> Staff:
    """Ines is signed in, and takes the blue class as well."""
    cast.ines.classes.add(cast.blue)
    client.force_login(cast.ines)
    return cast.ines


def line(kind: str = "turn", **about):
    now = timezone.now()
    return {"kind": kind, "id": str(time_ordered_id(now)), "at": now.isoformat()} | about


def turn(child, **about):
    outcome = {"drill": "back-walkover", "surface": MAT, "support": 1, "clean": True}
    return line(child=str(child.uuid), **(outcome | about))


def token(staff: Staff, meeting: Meeting, device: str = DEVICE) -> str:
    return make_token(str(staff.uuid), device, str(meeting.uuid))


def post(client, meeting, *lines, device=DEVICE, **about):
    sent = about.pop("sent_at", timezone.now().isoformat())
    body = {"v": 3, "device": device, "sent_at": sent, "lines": lines} | about
    response = client.post(f"/floor/{meeting.uuid}/attempts", json.dumps(body), "application/json")
    assert response.status_code == 200, response.content
    return response.json()


def answers(data) -> list[tuple[str, str]]:
    return [(each["answer"], each["code"]) for each in data["lines"]]


# --- the author ----------------------------------------------------------------------


def by(staff: Staff, meeting: Meeting) -> dict[str, str]:
    """What a line says of its author and its class."""
    return {"by": str(staff.uuid), "meeting": str(meeting.uuid)}


def test_a_line_that_its_author_signed_is_hers_whoever_sends_it(client, cast, ines):
    mine, omar = turn(cast.mai, **by(cast.omar, cast.meeting)), Signer(cast.omar)
    signed = omar.sign(mine)
    assert answers(post(client, cast.meeting, mine, signed=signed)) == [("kept", "")]
    stored = Attempt.objects.get()
    assert (stored.author, stored.sender, stored.graded) == (cast.omar, ines, True)
    assert "said-to-be-by" not in stored.flags
    proof = stored.proof
    assert (proof.kind, proof.key, proof.awaits) == ("key", omar.key, "")
    assert proof.signature == signed[mine["id"]]["signature"]
    assert answers(post(client, cast.meeting, mine)) == [("had", "")]


@pytest.mark.parametrize(
    "wrong",
    ["none", "other line", "changed", "other person", "other meeting", "no meeting", "no such key",
     "cut off", "no base64", "no text", "ended before"],
)  # fmt: skip
def test_without_a_signature_that_holds_it_is_only_said_to_be_hers_and_grades_nothing(
    client, cast, ines, wrong
):
    omar, said = Signer(cast.omar), turn(cast.mai, **by(cast.omar, cast.meeting))
    other = Meeting.objects.create(group=cast.blue, date=WEEKS[2], starts_at=cast.blue.starts_at)
    if wrong == "other meeting":
        said["meeting"] = str(other.uuid)
    if wrong == "no meeting":
        del said["meeting"]
    signed = omar.sign(said)
    one = signed[said["id"]]
    match wrong:
        case "none":
            signed = {}
        case "other line":
            (another,) = omar.sign(turn(cast.mai)).values()
            one["signature"] = another["signature"]
        case "changed":
            said["support"] = 0
        case "other person":
            signed = Signer(ines).sign(said)
        case "no such key":
            one["key"] = str(uuid.uuid4())
        case "cut off":
            one["signature"] = one["signature"][:-8]
        case "no base64":
            one["signature"] = "ä" + one["signature"]
        case "no text":
            signed[said["id"]] = {"key": ["x"], "signature": 3}
        case "ended before":
            omar.key.ended_at = NOW - datetime.timedelta(minutes=1)
            omar.key.save(update_fields=["ended_at"])
    assert answers(post(client, cast.meeting, said, signed=signed)) == [("kept", "")]
    stored = Attempt.objects.get()
    assert (stored.author, stored.sender, stored.graded) == (cast.omar, ines, False)
    assert "said-to-be-by" in stored.flags
    assert (stored.proof.kind, stored.proof.awaits) == ("none", "author")


def test_a_line_tapped_before_its_key_ended_stays_hers(client, cast, ines):
    omar, said = Signer(cast.omar), turn(cast.mai, **by(cast.omar, cast.meeting))
    omar.key.ended_at = NOW + datetime.timedelta(minutes=5)
    omar.key.save(update_fields=["ended_at"])
    post(client, cast.meeting, said, signed=omar.sign(said))
    assert Attempt.objects.get().graded


def test_what_is_sent_by_its_author_needs_no_signature_and_none_is_looked_at(client, cast, ines):
    own = turn(cast.mai, **by(ines, cast.meeting))
    forged = {own["id"]: {"key": str(uuid.uuid4()), "signature": "x"}}
    post(client, cast.meeting, own, signed=forged)
    assert Attempt.objects.get().graded
    assert not AttemptProof.objects.exists()


# --- lines of the form before signatures ----------------------------------------------


def test_the_token_of_an_older_page_counts_for_a_week_after_the_upgrade(client, cast, ines):
    upgrade = MigrationRecorder.Migration.objects.filter(app="progression", name="0008_proof")
    for n, (days, graded) in enumerate([(6, True), (8, False)]):
        upgrade.update(applied=NOW - datetime.timedelta(days=days))
        old = turn(cast.mai, by=str(cast.omar.uuid), pack=token(cast.omar, cast.meeting))
        old["id"] = str(time_ordered_id(NOW, n))
        assert answers(post(client, cast.meeting, old, v=2)) == [("kept", "")]
        attempt = Attempt.objects.get(pk=old["id"])
        assert (attempt.graded, attempt.proof.kind) == (graded, "token" if graded else "none")


def test_a_token_in_a_line_of_the_new_form_proves_nothing(client, cast, ines):
    said = turn(cast.mai, pack=token(cast.omar, cast.meeting), **by(cast.omar, cast.meeting))
    post(client, cast.meeting, said)
    assert not Attempt.objects.get().graded


def test_with_the_pack_s_token_an_older_page_s_line_is_its_author_s(client, cast, ines):
    mine = turn(cast.mai, by=str(cast.omar.uuid), pack=token(cast.omar, cast.meeting))
    assert answers(post(client, cast.meeting, mine, v=2)) == [("kept", "")]
    stored = Attempt.objects.get()
    assert (stored.author, stored.sender, stored.graded) == (cast.omar, ines, True)
    assert "said-to-be-by" not in stored.flags


@pytest.mark.parametrize(
    "pack", ["none", "other person", "other tablet", "other meeting", "made up"]
)
def test_without_it_the_line_is_only_said_to_be_by_them_and_grades_nothing(
    client, cast, ines, pack
):
    other = Meeting.objects.create(group=cast.blue, date=WEEKS[0], starts_at=cast.blue.starts_at)
    packs = {
        "other person": token(ines, cast.meeting),
        "other tablet": token(cast.omar, cast.meeting, "tablet-8"),
        "other meeting": token(cast.omar, other),
        "made up": "WyJhIl0:forged",
    }
    said = turn(
        cast.mai, by=str(cast.omar.uuid), **({"pack": packs[pack]} if pack in packs else {})
    )
    assert answers(post(client, cast.meeting, said, v=2)) == [("kept", "")]
    stored = Attempt.objects.get()
    assert (stored.author, stored.sender, stored.graded) == (cast.omar, ines, False)
    assert "said-to-be-by" in stored.flags


def test_what_is_only_said_is_never_seen_by_a_second_grader(client, cast, log, ines):
    for day in WEEKS:
        log(cast.mai, "back-walkover", "1111", day=day, support=1, surface=MAT)

    def graders() -> float:
        gates = read(cast.mai, TODAY).read.stage("4").gates
        return next(gate.value for gate in gates if gate.gate.kind == "seen-by-two")

    assert graders() == 1
    post(client, cast.meeting, turn(cast.mai, by=str(cast.petra.uuid)))
    assert graders() == 1
    believed = turn(cast.mai, **by(cast.petra, cast.meeting))
    post(client, cast.meeting, believed, signed=Signer(cast.petra).sign(believed))
    assert graders() == 2


def test_one_s_own_line_needs_no_proof(client, cast, ines):
    assert answers(post(client, cast.meeting, turn(cast.mai, by=str(ines.uuid)))) == [("kept", "")]
    assert Attempt.objects.get().graded


def test_a_line_of_nobody_known_is_set_aside(client, cast, ines):
    lines = [turn(cast.mai, by=str(uuid.uuid4())), turn(cast.mai, by=["x"])]
    assert answers(post(client, cast.meeting, *lines)) == [("refused", "unknown-author")] * 2
    assert not Attempt.objects.exists()
    assert RejectedLine.objects.count() == 2


def test_lines_of_an_older_page_are_by_whom_the_call_says(client, cast, ines):
    post(client, cast.meeting, turn(cast.mai), author=str(cast.omar.uuid))
    stored = Attempt.objects.get()
    assert (stored.author, stored.sender, stored.graded) == (cast.omar, ines, False)
    assert "said-to-be-by" in stored.flags
    nobody = post(client, cast.meeting, turn(cast.mai), author="x")
    assert answers(nobody) == [("refused", "unknown-author")]
    own = turn(cast.mai, by=str(ines.uuid))
    post(client, cast.meeting, own, author=str(cast.omar.uuid))
    assert Attempt.objects.get(pk=own["id"]).author == ines


def test_lines_of_the_form_before_this_one_are_taken_and_say_so(client, cast, ines):
    data = post(client, cast.meeting, turn(cast.mai), v=1)
    assert answers(data) == [("kept", "")]
    stored = Attempt.objects.get()
    assert (stored.author, stored.graded, stored.schema, stored.clock) == (ines, True, 1, {})
    post(client, cast.meeting, turn(cast.mai, page="p1"))
    assert Attempt.objects.exclude(pk=stored.pk).get().schema == 3


def test_an_assistant_s_turn_stays_ungraded_whoever_brings_it(client, cast, ines):
    tams = turn(cast.mai, **by(cast.tam, cast.meeting))
    post(client, cast.meeting, tams, signed=Signer(cast.tam).sign(tams))
    assert not Attempt.objects.get().graded


def test_an_assistant_brings_a_coach_s_graded_turn(client, cast):
    client.force_login(cast.tam)
    grade = turn(cast.mai, drill="bridge-line", support=0, value=2,
                 **by(cast.omar, cast.meeting))  # fmt: skip
    del grade["clean"]
    signed = Signer(cast.omar).sign(grade)
    assert answers(post(client, cast.meeting, grade, signed=signed)) == [("kept", "")]
    assert Attempt.objects.get().graded


def test_a_strike_is_judged_by_its_author_s_rights(client, cast, log):
    (attempt,) = log(cast.mai, "back-walkover", "1")
    client.force_login(cast.tam)
    about = by(cast.omar, cast.meeting)
    strike = line("strike", turn=str(attempt.pk), code="wrong-tap", **about)
    assert answers(post(client, cast.meeting, strike)) == [("refused", "not-yours")]
    assert not Strike.objects.exists()
    believed = strike | {"id": str(time_ordered_id(timezone.now(), 9))}
    signed = Signer(cast.omar).sign(believed)
    assert answers(post(client, cast.meeting, believed, signed=signed)) == [("kept", "")]
    assert Strike.objects.get().by == cast.omar


def test_who_is_here_is_said_by_whoever_answers_for_it(client, cast, ines):
    here = line("here", child=str(cast.mai.uuid), present=True, by=str(cast.omar.uuid))
    post(client, cast.meeting, here)
    assert Attendance.objects.get().by == ines


def test_a_token_says_three_things_and_is_none_for_another():
    made = make_token("a", "b", "c")
    assert is_token_of(made, "a", "b", "c")
    for wrong in (("x", "b", "c"), ("a", "x", "c"), ("a", "b", "x")):
        assert not is_token_of(made, *wrong)
    assert not is_token_of(made + "x", "a", "b", "c")
    assert not is_token_of(None, "a", "b", "c")


def test_the_pack_carries_nothing_that_makes_a_line_somebody_s(client, cast):
    client.force_login(cast.omar)
    pack = client.get(f"/floor/{cast.meeting.uuid}/pack?device={DEVICE}").json()
    assert "token" not in pack


# --- the clock -----------------------------------------------------------------------


def test_the_offset_measured_before_the_tap_counts_and_not_the_clock_at_sending(client, cast):
    client.force_login(cast.omar)
    done = timezone.now() - datetime.timedelta(minutes=30)
    three_hours = datetime.timedelta(hours=3)
    tapped = turn(cast.mai, at=(done + three_hours).isoformat(), offset=-3 * 3600 * 1000,
                  page="p1", mono=12_000)  # fmt: skip
    # Somebody has set the clock right since.
    cast.meeting.date = cast.hall.day_of(done)
    cast.meeting.save(update_fields=["date"])
    post(client, cast.meeting, tapped)
    stored = Attempt.objects.get()
    assert abs(stored.done_at - done) < datetime.timedelta(seconds=1)
    assert "clock" not in stored.flags
    assert stored.clock == {"page": "p1", "mono": 12_000, "offset": -3 * 3600 * 1000}


def test_without_an_offset_the_clock_at_sending_tells_how_far_it_is_out(client, cast):
    client.force_login(cast.omar)
    done = timezone.now() - datetime.timedelta(minutes=30)
    fast = datetime.timedelta(hours=3)
    cast.meeting.date = cast.hall.day_of(done)
    cast.meeting.save(update_fields=["date"])
    post(client, cast.meeting, turn(cast.mai, at=(done + fast).isoformat()),
         sent_at=(timezone.now() + fast).isoformat())  # fmt: skip
    assert abs(Attempt.objects.get().done_at - done) < datetime.timedelta(seconds=2)


@pytest.mark.parametrize("hours", [5, -24 * 400])
def test_in_the_future_or_before_the_day_it_is_clamped_and_flagged(client, cast, hours):
    client.force_login(cast.omar)
    cast.meeting.date = cast.hall.day_of(timezone.now())
    cast.meeting.save(update_fields=["date"])
    post(client, cast.meeting, turn(cast.mai, offset=hours * 3600 * 1000))
    stored = Attempt.objects.get()
    assert stored.flags[0] == "clock"
    assert stored.day == cast.meeting.date
    assert stored.done_at <= stored.received_at


@pytest.mark.parametrize(
    "about",
    [{"offset": "3"}, {"offset": 1.5}, {"offset": True}, {"offset": 10**15}, {"mono": "x"},
     {"page": 3}, {"page": "x" * 41}, {"page": "\x00"}],
    ids=str,
)  # fmt: skip
def test_what_is_no_clock_is_refused(client, cast, about):
    client.force_login(cast.omar)
    assert answers(post(client, cast.meeting, turn(cast.mai, **about))) == [("refused", "bad-time")]
    assert not Attempt.objects.exists()


@pytest.mark.parametrize(("month", "day"), [(10, 31), (11, 1), (11, 2)])
def test_the_day_is_the_meeting_s_across_the_night_on_which_clocks_change(client, cast, month, day):
    """1 November 2026 has 25 hours in Chicago; the tablet is three hours fast."""
    cast.hall.zone = "America/Chicago"
    cast.hall.save(update_fields=["zone"])
    date = datetime.date(2026, month, day)
    meeting = Meeting.objects.create(group=cast.blue, date=date, starts_at=datetime.time(20))
    meeting.staff.set([cast.omar])
    client.force_login(cast.omar)
    local = datetime.datetime.combine(date, datetime.time(20, 5), ZoneInfo(cast.hall.zone))
    fast = local + datetime.timedelta(hours=3)
    post(client, meeting, turn(cast.mai, at=fast.isoformat(), offset=-3 * 3600 * 1000))
    stored = Attempt.objects.get()
    assert stored.day == date
    if local <= timezone.now():
        assert stored.done_at == local


# --- an older backup -----------------------------------------------------------------


def test_a_line_that_was_acknowledged_and_is_gone_gives_the_log_a_new_name(client, cast):
    client.force_login(cast.omar)
    name = str(Studio.objects.get().log)
    gone = str(time_ordered_id(timezone.now()))
    again = post(client, cast.meeting, log=name, last=gone)["log"]
    assert again != name
    assert str(Studio.objects.get().log) == again
    # Whoever knows the old name still only hears the new one: it changes once.
    assert post(client, cast.meeting, log=name, last=gone)["log"] == again


def test_while_it_is_here_the_name_stays(client, cast):
    client.force_login(cast.omar)
    first = turn(cast.mai)
    name = post(client, cast.meeting, first)["log"]
    assert post(client, cast.meeting, log=name, last=first["id"])["log"] == name
    assert post(client, cast.meeting, log=name, last=None)["log"] == name


def test_a_tablet_of_another_server_changes_nothing(client, cast):
    client.force_login(cast.omar)
    name = str(Studio.objects.get().log)
    gone = str(time_ordered_id(timezone.now()))
    assert post(client, cast.meeting, log=str(uuid.uuid4()), last=gone)["log"] == name


@pytest.mark.parametrize(
    "about", [{"log": 3}, {"log": "", "last": "x"}, {"last": [1]}, {"author": 3}], ids=str
)
def test_a_call_that_does_not_say_it_properly_is_not_read(client, cast, about):
    client.force_login(cast.omar)
    body = {"v": 2, "device": "t", "sent_at": timezone.now().isoformat(), "lines": []} | about
    address = f"/floor/{cast.meeting.uuid}/attempts"
    response = client.post(address, json.dumps(body), "application/json")
    assert (response.status_code, response.json()["error"]) == (400, "unreadable")
