"""What is audited, and the page on which directors read it."""

import datetime

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from progression.log.lines import SCHEMA
from readiness.record.decisions import pause
from readiness.record.intake import take_lines
from readiness.record.privacy.erasing import ask
from readiness.record.privacy.export import whole_record
from studio.audit.chain import note
from studio.audit.page import entries_for
from studio.models import AccountChange, AuditEntry, Child
from studio.people.merging import merge, undo
from studio.sign_in.pins import set_pin
from studio.staff.accounts import tell
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.pages import signed_in, text_of

Kind = AuditEntry.Kind


@pytest.fixture(autouse=True)
def at_the_evening():
    with time_machine.travel(NOW, tick=False):
        yield


def noted():
    rows = AuditEntry.objects.order_by("pk")
    return [(row.kind, row.by and row.by.username, row.payload) for row in rows]


def test_a_decision_a_merge_a_file_and_an_erasure_are_noted(cast):
    pause(cast.mai, cast.omar, NOW, "Fever")
    undo(merge(make_child("Mai T.", cast.blue), cast.ilse, cast.petra, NOW), cast.luis, NOW)
    whole_record(cast.mai, None, NOW)
    ask(cast.mai, cast.petra, NOW)
    tell(cast.omar, AccountChange.What.ROLE, cast.petra, NOW)
    other = f'"with":"{cast.ilse.uuid}"'
    assert noted() == [
        ("decision", "omar", '{"reason":"Fever","what":"pause"}'),
        ("merge", "petra", f'{{"what":"merged",{other}}}'),
        ("merge", "luis", f'{{"what":"parted",{other}}}'),
        ("export", None, "{}"),
        ("erasure", "petra", '{"what":"asked"}'),
        ("account", "petra", '{"role":"coach","what":"role"}'),
    ]


def test_turns_are_not_and_turns_that_are_taken_back_are(cast, log):
    (turn,) = log(cast.mai, "back-walkover", "1")
    assert noted() == []
    line = {
        "kind": "strike",
        "id": str(time_ordered_id(NOW, 5)),
        "turn": str(turn.pk),
        "at": NOW.isoformat(),
    }
    line |= {"code": "wrong-child"}
    about = cast.meeting, cast.omar, "t", NOW, [line], SCHEMA, NOW
    assert [each.answer for each in take_lines(*about)] == ["kept"]
    assert noted() == [("strike", "omar", '{"code":"wrong-child"}')]
    assert AuditEntry.objects.get().about == turn.pk


def test_a_sign_in_is_noted_by_which_way(cast):
    Client().post("/sign-in", {"username": "omar", "password": "wrong"})
    assert noted() == []
    Client().post("/sign-in", {"username": "omar", "password": "a long enough word"})
    assert noted() == [("sign-in", "omar", '{"how":"password"}')]
    set_pin(cast.omar, "490273", NOW)
    tablet, secret = enrol("Blue case", cast.hall, cast.petra, NOW)
    client = Client()
    client.cookies[COOKIE] = secret
    answer = client.post("/change-over", {"who": str(cast.omar.uuid), "pin": "490273"})
    assert answer.status_code == 302
    assert noted()[1] == ("sign-in", "omar", f'{{"how":"PIN","tablet":"{tablet.uuid}"}}')


@pytest.fixture
def entries(cast):
    yesterday = NOW - datetime.timedelta(days=1)
    note(Kind.DECISION, cast.omar, cast.mai.uuid, yesterday, what="pause", reason="=1+1")
    note(Kind.SIGN_IN, cast.dora, cast.dora.uuid, NOW, how="password")
    note(Kind.EXPORT, cast.petra, cast.mai.uuid, NOW)


def test_a_director_reads_what_concerns_her_halls(cast, entries):
    said = text_of(signed_in(cast.petra).get("/audit"))
    assert "record given out Petra Mai Tran" in said
    assert "decision Omar Mai Tran what: paused; reason: =1+1" in said
    assert "Dora" not in said
    said = text_of(signed_in(cast.dora).get("/audit"))
    assert "sign-in Dora Dora how: by password" in said
    assert "Mai" not in said


def test_one_kind_and_one_day(cast, entries):
    client = signed_in(cast.petra)
    assert "decision Omar" not in text_of(client.get("/audit?kind=export"))
    assert "decision Omar" in text_of(client.get("/audit?day=2026-03-03"))
    assert "record given out Petra" not in text_of(client.get("/audit?day=2026-03-03"))
    assert client.get("/audit?day=someday").status_code == 422


def test_no_cell_of_the_file_is_run_as_a_formula(cast, entries):
    """OWASP, CSV Injection: a cell that begins with = + - @ is run by spreadsheets."""
    Child.objects.filter(pk=cast.mai.pk).update(name="=2+5")
    text = signed_in(cast.petra).get("/audit?as=csv&kind=decision").content.decode("utf-8-sig")
    assert '"Omar"' in text
    assert '"\'=2+5"' in text


def test_the_page_asks_as_often_for_many_as_for_two(cast):
    def queries():
        client = signed_in(cast.petra)
        with CaptureQueriesContext(connection) as asked:
            assert client.get("/audit").status_code == 200
        return len(asked)

    def add(count):
        for n in range(count):
            child = make_child(f"Cleo {count} {n}", cast.blue)
            note(Kind.DECISION, cast.omar, child.uuid, NOW, what="pause")

    add(2)
    few = queries()
    add(18)
    assert queries() == few


def test_a_kind_and_a_day_are_found_by_their_index(cast):
    """Among so many that a planner has a choice, on either database."""
    entries = (
        AuditEntry(
            at=NOW - datetime.timedelta(hours=n), kind=Kind.SIGN_IN, by=cast.petra,
            about=cast.petra.uuid, commitment="-",
        )
        for n in range(5000)
    )  # fmt: skip
    AuditEntry.objects.bulk_create(entries, batch_size=1000)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    for asked, index in (({"kind": "merge"}, "audit_kind_at"), ({"day": TODAY}, "audit_at")):
        assert index in entries_for(cast.petra, asked, TODAY).explain()
