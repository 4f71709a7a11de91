"""The audit log's chain: worked out by hand, erased, tampered with, written by many at a time."""

import datetime
import hashlib
import io
import threading
import uuid

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, close_old_connections, connection, transaction

from studio.audit.chain import FIRST, chain, commitment, erase_about, note, verify
from studio.models import AuditEntry
from tests.support.cast import NOW
from tests.support.guards import lifted

Kind = AuditEntry.Kind
MAI, ILSE = uuid.UUID(int=1), uuid.UUID(int=2)


@pytest.fixture
def three(cast):
    for n, about in enumerate((MAI, ILSE, None)):
        note(Kind.DECISION, cast.petra, about, NOW + datetime.timedelta(seconds=n), what=f"w{n}")
    chain()
    return list(AuditEntry.objects.order_by("place"))


def sha256(data):
    return hashlib.sha256(data).hexdigest()


def test_the_digests_are_those_that_come_out_by_hand(three, cast):
    """SHA-256 (FIPS 180-4) by hashlib, the bytes put together here as the formula says."""
    previous = "0" * 64
    for place, (entry, about) in enumerate(zip(three, (MAI, ILSE, ""), strict=True), 1):
        payload = b'{"what":"w%d"}' % (place - 1)
        commits = sha256(bytes.fromhex(entry.salt) + payload)
        at = f"2026-03-04T17:00:0{place - 1}.000000+00:00"
        ids = f"{place}\n{at}\ndecision\n{cast.petra.pk}\n{about}"
        previous = sha256(f"{previous}\n{ids}\n{commits}".encode())
        assert (entry.place, entry.commitment, entry.digest) == (place, commits, previous)
    assert FIRST == "0" * 64
    assert verify() == (3, 0, previous, [])


def test_a_vector_that_never_changes():
    """32 zero bytes and "{}", by sha256sum of GNU coreutils."""
    by_hand = "fb1634c4e6cd4b1f1afe3ce2d6ef080f7ac5d1f357d723ad4dfca782733b62db"
    assert commitment("00" * 32, "{}") == by_hand


def test_salts_are_never_the_same(three):
    assert len({entry.salt for entry in three}) == 3
    assert {len(entry.salt) for entry in three} == {64}


def test_what_is_erased_leaves_a_chain_that_holds(three):
    head = verify().head
    erase_about([MAI])
    assert verify() == (3, 1, head, [])
    assert AuditEntry.objects.get(place=1).salt is None


CHANGES = {
    "at": NOW + datetime.timedelta(microseconds=1), "kind": "merge", "by": None,
    "about": MAI, "payload": '{"what":"w0"}', "salt": "00" * 32, "commitment": "0" * 64,
    "digest": "f" * 64,
}  # fmt: skip


@pytest.mark.parametrize("column", CHANGES)
def test_whatever_is_changed_the_row_is_named(three, column):
    with lifted():
        AuditEntry.objects.filter(place=2).update(**{column: CHANGES[column]})
    assert f"row {three[1].pk} (place 2):" in verify().faults[0]


def test_a_single_bit_of_any_hexadecimal_digit_is_seen(three):
    row = three[1]
    for column in ("salt", "commitment", "digest"):
        text = getattr(row, column)
        for at in (0, 31, 63):
            other = text[:at] + f"{int(text[at], 16) ^ 1:x}" + text[at + 1 :]
            with lifted():
                AuditEntry.objects.filter(pk=row.pk).update(**{column: other})
            assert "place 2" in verify().faults[0], (column, at)
            with lifted():
                AuditEntry.objects.filter(pk=row.pk).update(**{column: text})
    assert verify().faults == []


def test_only_one_of_salt_and_payload_is_no_erasing(three):
    with lifted():
        AuditEntry.objects.filter(place=2).update(payload=None)
    assert "salt or payload is missing" in verify().faults[0]


def test_a_row_that_was_taken_out_or_put_elsewhere_is_seen(three):
    head = verify().head
    with lifted():
        AuditEntry.objects.filter(place=2).delete()
    assert f"row {three[2].pk} (place 3): the row at place 2 is missing" in verify().faults[0]
    with lifted():
        AuditEntry.objects.filter(place=3).delete()
    # The last rows: the chain that is left holds, and only what was noted elsewhere tells.
    assert verify().faults == []
    assert "is no digest of the chain" in verify(head).faults[0]


def test_the_command_says_so(three):
    out = io.StringIO()
    call_command("audit", verify=True, stdout=out)
    head = out.getvalue().split()[-1]
    assert out.getvalue().startswith("3 rows hold, 0 of them erased.")
    call_command("audit", verify=True, head=head, stdout=out)
    with lifted():
        AuditEntry.objects.filter(place=1).update(kind="merge")
    with pytest.raises(CommandError, match="1 do not hold"):
        call_command("audit", verify=True, stdout=out)


def test_rows_are_chained_once_and_never_changed(three):
    for columns in ({"digest": "0" * 64}, {"place": 9}, {"payload": "{}"}, {"kind": "merge"}):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            AuditEntry.objects.filter(place=1).update(**columns)


def test_what_is_taken_back_leaves_no_entry(cast):
    with transaction.atomic():
        note(Kind.EXPORT, cast.petra, MAI, NOW)
        transaction.set_rollback(True)
    assert not AuditEntry.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_many_who_write_at_once_make_one_chain(cast):
    def write():
        try:
            for _each in range(5):
                with transaction.atomic():
                    note(Kind.STRIKE, cast.omar, MAI, NOW, code="wrong-child")
        finally:
            close_old_connections()
            connection.close()

    threads = [threading.Thread(target=write) for _each in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    rows = AuditEntry.objects.order_by("place")
    assert [entry.place for entry in rows] == list(range(1, 21))
    assert verify()[:2] == (20, 0)
    assert verify().faults == []
