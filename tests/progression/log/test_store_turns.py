"""Turns put into the log: each column holds what the turn says."""

import datetime
import uuid

import pytest
from django.db import IntegrityError, transaction

from progression.log.lines import NewTurn
from progression.log.logbook import Keys, ids_in_log, store_turns
from progression.models import Attempt, AttemptNote, Drill, Surface
from tests.support.cast import NOW, TODAY, Cast

pytestmark = pytest.mark.django_db

LATER = NOW + datetime.timedelta(minutes=2)
EARLIER = NOW - datetime.timedelta(hours=3, microseconds=5)


def full(cast: Cast, **other: object) -> NewTurn:
    """A turn with a value of its own in every field."""
    values = {
        "id": uuid.UUID(int=7 << 76 | 2 << 62 | 41),
        "child": cast.mai,
        "drill": "kick-to-handstand",
        "surface": "sprung-dance-floor",
        "day": TODAY,
        "done_at": NOW,
        "support": 2,
        "author": cast.omar,
        "sender": cast.petra,
        "graded": True,
        "source": "floor",
        "received_at": LATER,
        "digest": "d" * 64,
        "clean": False,
        "caught": True,
        "faults": ("half-hearted", "ünsure “so”"),
        "meeting": cast.meeting,
        "device": "tablet\t3\\n",
        "device_time": EARLIER,
        "note": "first line\nsecond \\ line",
        "flags": ("closed", "clock"),
        "less_reason": "no-spotter",
        "clock": {"page": "p1", "mono": 12.5, "offset": -40},
        "schema": 1,
    }
    return NewTurn(**(values | other))  # type: ignore[arg-type]


def test_every_column_holds_what_the_turn_says(cast):
    turn = full(cast)
    store_turns([turn], Keys.load())
    (row,) = Attempt.objects.values()
    assert row == {
        "id": turn.id,
        "child_id": cast.mai.pk,
        "drill_id": Drill.objects.get(key="kick-to-handstand").pk,
        "surface_id": Surface.objects.get(key="sprung-dance-floor").pk,
        "meeting_id": cast.meeting.pk,
        "day": TODAY,
        "done_at": NOW,
        "support": 2,
        "caught": True,
        "clean": False,
        "value": None,
        "faults": ["half-hearted", "ünsure “so”"],
        "graded": True,
        "author_id": cast.omar.pk,
        "sender_id": cast.petra.pk,
        "flags": ["closed", "clock"],
        "less_reason": "no-spotter",
        "source": "floor",
        "device": "tablet\t3\\n",
        "device_time": EARLIER,
        "clock": {"page": "p1", "mono": 12.5, "offset": -40},
        "received_at": LATER,
        "schema": 1,
        "digest": "d" * 64,
    }
    assert list(AttemptNote.objects.values_list()) == [(turn.id, "first line\nsecond \\ line")]


def test_a_turn_of_paper_leaves_blank_what_only_a_tablet_tells(cast):
    blank = {"meeting": None, "device": "", "device_time": None, "clock": {}, "less_reason": ""}
    number = {"drill": "hollow-hold", "support": 0, "clean": None, "value": 12.5, "caught": False}
    store_turns([full(cast, source="paper", faults=(), flags=(), **blank, **number)], Keys.load())
    stored = Attempt.objects.get()
    assert (stored.value, stored.clean, stored.faults, stored.flags) == (12.5, None, [], [])
    assert (stored.meeting, stored.device_time, stored.clock) == (None, None, {})


def test_if_one_turn_cannot_be_stored_none_is(cast):
    good = [full(cast, id=uuid.UUID(int=number)) for number in range(1, 1501)]
    for bad in (good[0], full(cast, id=uuid.UUID(int=9000), clean=None)):
        with pytest.raises(IntegrityError), transaction.atomic():
            store_turns([*good, bad], Keys.load())
        assert not Attempt.objects.exists()
    store_turns(good, Keys.load())
    assert ids_in_log([*good, full(cast)]) == {turn.id for turn in good}
