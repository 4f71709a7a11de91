"""Turns that came in without their author, or late: logged at once, graded by somebody's word."""

import datetime
import json
import re

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt, AttemptProof, Confirmation, Strike
from readiness.models import DayTally
from readiness.record.proof.confirming import confirm, waiting_for_author, waiting_for_director
from readiness.record.standings import read
from studio.models import Staff
from tests.support.cast import NOW, TODAY, time_ordered_id
from tests.support.pages import signed_in, text_of

pytestmark = pytest.mark.django_db
LATER = NOW + datetime.timedelta(days=2)
LATE = NOW + datetime.timedelta(days=8)
HEAD = "date,child,drill,surface,support,coach,value\n"


@pytest.fixture(autouse=True)
def today():
    with time_machine.travel(LATER, tick=False):
        yield


def paper(staff: Staff, *lines: str, seen: bool = False) -> None:
    """A paper log brought in by this director."""
    client = signed_in(staff)
    text = HEAD + "\n".join(lines)
    draft = client.post("/paper", {"file": SimpleUploadedFile("log.csv", text.encode())})
    address = draft["Location"]
    page = client.get(address).content.decode()
    fields = dict(re.findall(r'name="(token|shown)" value="([^"]+)"', page))
    assert 'name="seen"' in page
    options = {"encoding": "", "delimiter": "", "dates": "", "usual": ""}
    client.post(f"{address}/confirm", fields | options | ({"seen": "on"} if seen else {}))


def of(coach: str, value: str = "clean", day: datetime.date = TODAY) -> str:
    return f"{day},Mai Tran,back-walkover,sprung-dance-floor,standing by,{coach},{value}"


def tablet_file(staff: Staff, meeting, *records: dict) -> None:
    content = {"v": 2, "device": "tablet-7", "records": [
        {"meeting": str(meeting.uuid), "author": line["by"], "line": line} for line in records
    ]}  # fmt: skip
    file = SimpleUploadedFile("tablet.json", json.dumps(content).encode())
    assert signed_in(staff).post("/outbox-file", {"file": file}).status_code == 302


def line(child, by: Staff, n: int = 0, **about) -> dict:
    at = NOW + datetime.timedelta(minutes=n)
    return {
        "kind": "turn",
        "id": str(time_ordered_id(at, n)),
        "at": at.isoformat(),
        "by": str(by.uuid),
        "child": str(child.uuid),
        "drill": "back-walkover",
        "surface": "sprung-dance-floor",
        "support": 1,
        "clean": True,
    } | about


def tap(staff: Staff, address: str, nth: int = 0):
    """The nth button of the page; the answer."""
    client = signed_in(staff)
    page = client.get(address).content.decode()
    forms = re.findall(rf'<form[^>]*action="{address}">.*?</form>', page, re.S)
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', forms[nth]))
    fields.pop("csrfmiddlewaretoken", None)
    return client.post(address, fields)


def graded() -> int:
    return sum(DayTally.objects.values_list("graded", flat=True))


def rebuilt_is_the_same() -> None:
    call_command("rebuild_standings", "--check")


# --- whose ---------------------------------------------------------------------------


def test_paper_under_another_coach_s_name_is_logged_and_graded_by_that_coach_s_tap(cast):
    paper(cast.petra, of("Omar"), of("Omar", "clean"))
    assert (Attempt.objects.count(), graded()) == (2, 0)
    page = text_of(signed_in(cast.omar).get("/confirm"))
    assert "I saw these 2 turns" in page
    assert "Brought in by Petra" in page
    assert tap(cast.omar, "/confirm").status_code == 302
    assert graded() == 2
    assert set(Confirmation.objects.values_list("by", flat=True)) == {cast.omar.pk}
    assert "Nothing waits for your word." in text_of(signed_in(cast.omar).get("/confirm"))
    rebuilt_is_the_same()
    # Nothing of the turns themselves was changed.
    assert not Attempt.objects.filter(graded=True).exists()


def test_nobody_but_the_coach_can_say_it(cast):
    paper(cast.petra, of("Omar"))
    for other in (cast.petra, cast.luis, cast.ines):
        assert not waiting_for_author(other).exists()
        assert not waiting_for_director(other, TODAY).exists()
        assert confirm(waiting_for_author(other), other, LATER) == 0
    fields = {"author": cast.omar.uuid, "sender": cast.petra.uuid, "source": "paper",
              "day": TODAY.isoformat(), "until": LATER.isoformat()}  # fmt: skip
    assert signed_in(cast.petra).post("/confirm", fields).status_code == 302
    assert signed_in(cast.petra).post("/review/late", fields).status_code == 302
    assert (graded(), Confirmation.objects.count()) == (0, 0)
    assert signed_in(cast.tam).get("/confirm").status_code == 403


def test_one_s_own_paper_is_graded_if_one_says_one_saw_it(cast):
    paper(cast.petra, of("Petra"))
    assert graded() == 0
    paper(cast.petra, of("Petra", "clean", TODAY - datetime.timedelta(days=1)), seen=True)
    assert graded() == 1
    assert tap(cast.petra, "/confirm").status_code == 302
    assert graded() == 2


def test_the_tick_is_for_one_s_own_lines_alone(cast):
    paper(cast.petra, of("Omar"), of("Petra"), seen=True)
    assert list(Attempt.objects.filter(graded=True).values_list("author", flat=True)) == [
        cast.petra.pk
    ]


def test_a_file_makes_nobody_s_turns_graded_not_even_those_under_the_director_s_own_name(cast):
    tablet_file(cast.petra, cast.meeting, line(cast.mai, cast.omar), line(cast.mai, cast.petra, 1))
    assert (Attempt.objects.filter(source="file").count(), graded()) == (2, 0)
    tap(cast.omar, "/confirm")
    tap(cast.petra, "/confirm")
    assert graded() == 2
    rebuilt_is_the_same()


def test_a_miss_and_a_stop_sign_count_at_once_whoever_brings_them(cast):
    missed = line(cast.mai, cast.omar, clean=False, caught=True)
    tablet_file(cast.petra, cast.meeting, missed)
    tally = DayTally.objects.get()
    assert (tally.graded, tally.graded_clean, tally.stop_signs) == (1, 0, 1)
    assert not waiting_for_author(cast.omar).exists()


def test_a_file_strikes_no_turn_of_the_floor(cast, log):
    (attempt,) = log(cast.mai, "back-walkover", "0")
    strike = line(cast.mai, cast.omar) | {
        "kind": "strike", "turn": str(attempt.pk), "code": "wrong-tap"
    }  # fmt: skip
    tablet_file(cast.petra, cast.meeting, strike)
    assert not Strike.objects.exists()


def test_a_file_strikes_what_it_brought_itself(cast):
    turn = line(cast.mai, cast.omar)
    tablet_file(cast.petra, cast.meeting, turn)
    strike = line(cast.mai, cast.omar, 1) | {
        "kind": "strike", "turn": turn["id"], "code": "wrong-tap"
    }  # fmt: skip
    tablet_file(cast.petra, cast.meeting, strike)
    assert Strike.objects.count() == 1


def test_a_struck_turn_waits_for_nobody(cast):
    paper(cast.petra, of("Omar"))
    (attempt,) = Attempt.objects.all()
    strike = line(cast.mai, cast.omar) | {
        "kind": "strike", "turn": str(attempt.pk), "code": "wrong-tap"
    }  # fmt: skip
    body = {"v": 2, "device": "t", "sent_at": LATER.isoformat(), "lines": [strike]}
    call = signed_in(cast.omar).post(
        f"/floor/{cast.meeting.uuid}/attempts", json.dumps(body), "application/json"
    )
    assert call.json()["lines"][0]["answer"] == "kept"
    assert not waiting_for_author(cast.omar).exists()


# --- how late ------------------------------------------------------------------------


def test_a_late_turn_is_graded_once_a_director_says_so_who_is_neither_author_nor_sender(cast):
    with time_machine.travel(LATE, tick=False):
        sent = {"v": 2, "device": "t", "sent_at": LATE.isoformat(),
                "lines": [line(cast.mai, cast.petra)]}  # fmt: skip
        signed_in(cast.petra).post(
            f"/floor/{cast.meeting.uuid}/attempts", json.dumps(sent), "application/json"
        )
        attempt = Attempt.objects.get()
        assert "late" in attempt.flags
        assert (attempt.graded, attempt.proof.kind) == (False, "session")
        own = text_of(signed_in(cast.petra).get("/review/late"))
        assert "waits for another director" in own
        assert "Confirm 1 turn" not in own
        assert confirm(waiting_for_director(cast.petra, LATE.date()), cast.petra, LATE) == 0
        assert tap(cast.luis, "/review/late").status_code == 302
        assert graded() == 1
        assert "confirmed" in text_of(signed_in(cast.petra).get("/review/late"))
        rebuilt_is_the_same()


@pytest.mark.parametrize(("days", "late"), [(7, False), (8, True)])
def test_the_last_day_in_time(cast, days, late):
    day = (LATER - datetime.timedelta(days=days)).date()
    paper(cast.petra, of("Petra", day=day), seen=True)
    attempt = Attempt.objects.get()
    assert (attempt.graded, "late" in attempt.flags) == (not late, late)


def test_late_and_unproven_needs_both_in_either_order(cast):
    day = TODAY - datetime.timedelta(days=20)
    for first, second in (("omar", "luis"), ("luis", "omar")):
        paper(cast.petra, of("Omar", day=day))
        address = {"omar": "/confirm", "luis": "/review/late"}
        tap(getattr(cast, first), address[first])
        assert graded() == 0
        tap(getattr(cast, second), address[second])
        assert graded() == 1
        day -= datetime.timedelta(days=1)
        DayTally.objects.all().delete()


def test_whoever_brought_late_turns_in_confirms_none_of_them(cast):
    day = TODAY - datetime.timedelta(days=20)
    paper(cast.petra, of("Omar", day=day))
    tap(cast.omar, "/confirm")
    assert waiting_for_director(cast.luis, TODAY).count() == 1
    assert not waiting_for_director(cast.petra, TODAY).exists()
    assert "waits for another director" in text_of(signed_in(cast.petra).get("/review/late"))
    # Nor is her word, however it came, that of another director.
    Confirmation.objects.create(
        attempt=Attempt.objects.get(), by=cast.petra, at=LATER, completes=False
    )
    assert waiting_for_director(cast.luis, TODAY).count() == 1
    assert graded() == 0


def test_a_late_miss_counts_at_once(cast):
    paper(cast.petra, of("Petra", "x", TODAY - datetime.timedelta(days=30)), seen=True)
    tally = DayTally.objects.get()
    assert (tally.turns, tally.graded, tally.clean) == (1, 1, 0)
    # There is nothing to confirm; that it came so late is told all the same.
    page = text_of(signed_in(cast.luis).get("/review/late"))
    assert "nothing to confirm" in page
    assert "by Petra" in page


# --- the record ----------------------------------------------------------------------


def test_the_standing_reads_what_was_confirmed(cast):
    paper(cast.petra, of("Omar"))
    before = read(cast.mai, TODAY).evidence.on("back-walkover", TODAY)
    tap(cast.omar, "/confirm")
    after = read(cast.mai, TODAY).evidence.on("back-walkover", TODAY)
    assert ([t.graded for t in before], [t.graded for t in after]) == ([0], [1])


@pytest.mark.parametrize("model", [AttemptProof, Confirmation])
def test_proofs_and_confirmations_are_never_changed_and_never_deleted(cast, model):
    paper(cast.petra, of("Omar"))
    tap(cast.omar, "/confirm")
    table = model._meta.db_table
    for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET attempt_id = attempt_id"):
        with (
            pytest.raises(DatabaseError, match="append-only"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)
    assert model.objects.count() == 1


@pytest.mark.parametrize("until", ["\0", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00"])
@pytest.mark.parametrize("address", ["/confirm", "/review/late"])
def test_what_names_no_list_is_told_and_confirms_nothing(cast, address, until):
    paper(cast.petra, of("Omar"))
    fields = {"author": cast.omar.uuid, "sender": cast.petra.uuid, "source": "paper",
              "day": TODAY.isoformat(), "until": until}  # fmt: skip
    answer = signed_in(cast.luis).post(address, fields)
    assert answer.status_code == 422
    assert "could not be read" in text_of(answer)
    assert not Confirmation.objects.exists()


def queries(staff: Staff, address: str) -> int:
    client = signed_in(staff)
    with CaptureQueriesContext(connection) as seen:
        assert client.get(address).status_code == 200
    return len(seen)


@pytest.mark.parametrize(("who", "address"), [("omar", "/confirm"), ("luis", "/review/late")])
def test_a_list_of_twenty_takes_as_many_queries_as_one_of_two(cast, who, address):
    counts = []
    for n in (2, 20):
        days = [TODAY - datetime.timedelta(days=20 + each) for each in range(n)]
        paper(cast.petra, *(of("Omar", day=day) for day in days))
        counts.append(queries(getattr(cast, who), address))
    assert counts[0] == counts[1]
