"""The log: one line an event, with ids and never a name."""

import json
import logging
import re

import pytest
import time_machine
from django.test import Client

from readiness.record import decisions
from readiness.record.snapshots import child_snapshot, stage_snapshot
from readiness.record.standings import read
from tests.support.cast import TODAY, Cast, time_ordered_id
from tests.support.every_page import EVENING, PAUSED, PLACED, TABLET, addresses, build, look, visits

NAMES = [
    "Mai", "Tran", "Ilse", "Brand", "Rosa", "Vidal", "Nia", "Oduya", "Uli", "Petra", "Luis",
    "Omar", "Ines", "Tam", "Dora", "petra", "omar", "ines", "Blue", "Lantern", "Mill hall",
    "Weir Lane", PLACED, PAUSED, TABLET, "3.csv",
]  # fmt: skip


def decide_everything(cast: Cast) -> None:
    def seen(stage: str):
        return stage_snapshot(read(cast.mai, TODAY), stage)

    floor = "sprung-dance-floor"
    decisions.recommend(cast.mai, "4", cast.omar, seen("4"), EVENING, floor, "looks fine")
    decisions.send_back(cast.mai, "4", cast.petra, seen("4"), EVENING, "Mai Tran is tired")
    ilse = child_snapshot(read(cast.ilse, TODAY))
    decisions.lift(cast.ilse, cast.petra, ilse, EVENING, "Doctor Brand said yes")
    decisions.pause(cast.ilse, cast.omar, EVENING, "Ilse has a cold")
    rosa = child_snapshot(read(cast.rosa, TODAY))
    decisions.place(cast.rosa, 2, cast.petra, rosa, EVENING, floor, "Rosa did it")


def send_odd_lines(cast: Cast, address: str) -> None:
    client = Client()
    client.force_login(cast.omar)
    lines = [
        {"kind": "hurt", "id": str(time_ordered_id(EVENING, 1)), "at": EVENING.isoformat(),
         "child": str(cast.mai.uuid), "place": "knee"},
        {"kind": "hurt", "id": str(time_ordered_id(EVENING, 2)), "at": EVENING.isoformat(),
         "child": "Mai Tran", "place": "knee"},
        {"kind": "Mai", "id": "Rosa Vidal"},
    ]  # fmt: skip
    call = {"v": 1, "device": "Omar's", "sent_at": EVENING.isoformat(), "lines": lines}
    client.post(address, json.dumps(call), content_type="application/json")


# The whole site is used once for all that is asked of its log.
logged: list[str] = []


@pytest.fixture
def lines(cast, log, caplog) -> list[str]:
    """Every line logged while the whole site is used, by itself and by Django."""
    if not logged:
        logged.extend(use_the_site(cast, log, caplog))
    return logged


def use_the_site(cast, log, caplog) -> list[str]:
    with time_machine.travel(EVENING, tick=False), caplog.at_level(logging.INFO):
        # Django's loggers do not pass their lines on.
        logging.getLogger("django").addHandler(caplog.handler)
        try:
            site = build(cast, log)
            decide_everything(cast)
            send_odd_lines(cast, addresses(site)["floor-attempts"])
            for visit in visits(site):
                look(visit)
        finally:
            logging.getLogger("django").removeHandler(caplog.handler)
    return [record.getMessage() for record in caplog.records]


def test_the_log_names_no_child_no_staff_and_no_reason(lines):
    told = re.compile(rf"\b({'|'.join(map(re.escape, NAMES))})\b")
    assert [line for line in lines if told.search(line)] == []


def test_an_event_is_one_line(lines):
    assert [line for line in lines if "\n" in line] == []


EVENTS = [
    "lines meeting=", "paper draft=", "roster draft=", "decided kind=recommend",
    "decided kind=send-back", "placed child=", "paused child=", "lifted child=",
    "tablet enrolled tablet=", "pin set by=", "pin wrong staff=", "password wrong staff=",
    "Not Found: /children/", "Forbidden (Permission denied): /roster",
]  # fmt: skip


def test_the_log_tells_of_every_kind_of_event(lines):
    untold = [event for event in EVENTS if not any(line.startswith(event) for line in lines)]
    assert untold == []
