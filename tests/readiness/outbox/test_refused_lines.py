"""Refused lines: a page of them, how much is kept, and for how long."""

import datetime

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progression.log import rejected
from progression.models import RejectedLine
from readiness.record.intake import take_lines
from tests.support.cast import NOW, time_ordered_id


def send(cast, n: int, device: str = "tablet", sender=None, start: int = 0, **more) -> list[str]:
    """So many lines of a kind that nobody knows; what each was answered."""
    lines = [
        {"kind": "cartwheel", "id": str(time_ordered_id(NOW, at)), **more}
        for at in range(start, start + n)
    ]
    sender = sender or cast.omar
    return [each.answer for each in take_lines(cast.meeting, sender, device, NOW, lines, 2, NOW)]


def test_a_director_sees_when_of_which_class_from_whom_and_why(client, cast):
    send(cast, 1)
    client.force_login(cast.petra)
    page = client.get("/refused-lines").content.decode()
    for shown in ("4 Mar 2026, 18:00", "Blue, 4 Mar 2026", "Omar", "a form that cannot be read"):
        assert shown in page
    client.force_login(cast.dora)
    page = client.get("/refused-lines").content.decode()
    assert "Omar" not in page
    assert "None." in page


def test_it_asks_as_much_for_two_lines_as_for_twenty(client, cast, monkeypatch):
    client.force_login(cast.petra)
    asked = []
    for n in (2, 18):
        send(cast, n, start=n)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            client.get("/refused-lines")
        asked.append(len(queries))
    assert asked[0] == asked[1]
    monkeypatch.setattr("readiness.outbox.page.MOST_SHOWN", 15)
    assert "And 5 older ones" in client.get("/refused-lines").content.decode()


def test_8_kb_of_a_line_are_kept(cast):
    send(cast, 1, note="x" * 50_000)
    assert len(RejectedLine.objects.get().body) == 8 * 1024


def test_a_tablet_s_lines_are_kept_up_to_a_limit_a_day_and_all_are_answered(cast, monkeypatch):
    monkeypatch.setattr(rejected, "MOST_A_DAY", 5)
    monkeypatch.setattr(rejected, "MOST_OF_A_SENDER", 8)
    assert send(cast, 7) == ["refused"] * 7
    assert RejectedLine.objects.count() == 5
    send(cast, 7, start=10)
    assert RejectedLine.objects.count() == 5
    # By whatever name the tablet goes next.
    send(cast, 7, device="another", start=20)
    assert RejectedLine.objects.count() == 8
    send(cast, 2, sender=cast.petra, start=30)
    assert RejectedLine.objects.count() == 10
    RejectedLine.objects.update(received_at=NOW - datetime.timedelta(days=1))
    send(cast, 1, start=40)
    assert RejectedLine.objects.count() == 11


def test_old_ones_are_deleted_by_a_command(cast, capsys):
    send(cast, 3)
    old = RejectedLine.objects.order_by("pk").values_list("pk", flat=True)[:2]
    RejectedLine.objects.filter(pk__in=list(old)).update(received_at="2020-01-01T00:00:00Z")
    RejectedLine.objects.exclude(pk__in=list(old)).update(
        received_at=datetime.datetime.now(datetime.UTC)
    )
    call_command("purge_refused")
    assert capsys.readouterr().out == "Refused lines deleted: 2.\n"
    assert RejectedLine.objects.count() == 1
    with pytest.raises(CommandError, match="number of days"):
        call_command("purge_refused", days=0)
