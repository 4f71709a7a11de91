"""Clocks that jump, a tablet's by decades and the server's by hours: every turn is taken, once, on
its meeting's day, and no turn is taken to be done after it came in."""

import datetime
import json
import random
import uuid
from typing import Any

import time_machine
from django.db.models import F
from django.test import Client

from progression.models import Attempt
from readiness.record.rebuild import rebuild
from studio.models import Child
from tests.attack.site import asked, attacked_site, quiet
from tests.support.cast import Cast, time_ordered_id
from tests.support.every_page import EVENING, Site

TURNS, TURNS_IN_FULL = 300, 3_000
# How far a tablet's clock jumps, and the server's.
TABLET = (0, 1, 60, 3_600, 86_400, 400 * 86_400, 30 * 365 * 86_400, 56 * 365 * 86_400)
SERVER = (0, 0, 1, 300, 3_600, 4 * 3_600)


def run(full: bool) -> list[str]:
    with attacked_site() as site, quiet(), time_machine.travel(EVENING, tick=False) as clock:
        draw = random.Random(1)
        before = Attempt.objects.count()
        client = Client(raise_request_exception=False)
        client.force_login(site.cast.omar)
        lines, found = [], []
        for number in range(TURNS_IN_FULL if full else TURNS):
            clock.move_to(EVENING + _jump(draw, SERVER))
            line = _turn(site.cast, number, EVENING + _jump(draw, TABLET))
            lines.append(line)
            sent_at = EVENING + _jump(draw, TABLET)
            found += _send(client, site, [line, draw.choice(lines)], sent_at)
        clock.move_to(EVENING + datetime.timedelta(hours=5))
        for start in range(0, len(lines), 100):
            found += _send(client, site, lines[start : start + 100], EVENING)
        return found + _not_as_sent(site, lines, before)


def _jump(draw: random.Random, seconds: tuple[int, ...]) -> datetime.timedelta:
    return datetime.timedelta(seconds=draw.choice((-1, 1)) * draw.choice(seconds))


def _turn(cast: Cast, number: int, at: datetime.datetime) -> dict[str, Any]:
    return {
        "kind": "turn",
        "id": str(time_ordered_id(at, 500_000 + number)),
        "at": at.isoformat(),
        "child": str(cast.mai.uuid),
        "drill": "log-roll",
        "surface": "sprung-dance-floor",
        "support": 0,
        "clean": True,
    }


def _send(
    client: Client, site: Site, lines: list[dict[str, Any]], sent_at: datetime.datetime
) -> list[str]:
    """What was not acknowledged."""
    asked["requests"] += 1
    body = {"v": 2, "device": "t1", "sent_at": sent_at.isoformat(), "lines": lines}
    address = f"/floor/{site.cast.meeting.uuid}/attempts"
    answer = client.generic("POST", address, json.dumps(body), "application/json")
    if answer.status_code != 200:
        return [f"a call was answered {answer.status_code}, tablet's clock {sent_at}"]
    return [
        f"a turn of {line['id']} was answered {line['answer']} {line['code']}"
        for line in answer.json()["lines"]
        if line["answer"] not in ("kept", "had")
    ]


def _not_as_sent(site: Site, lines: list[dict[str, Any]], before: int) -> list[str]:
    found = []
    turns = Attempt.objects.filter(pk__in=[uuid.UUID(line["id"]) for line in lines])
    if turns.count() != len(lines) or Attempt.objects.count() != before + len(lines):
        found.append(f"{turns.count()} of {len(lines)} turns are there")
    if other := turns.exclude(day=site.cast.meeting.date).count():
        found.append(f"{other} turns stand on another day")
    if ahead := turns.filter(done_at__gt=F("received_at")).count():
        found.append(f"{ahead} turns were done after they came in")
    found += [f"rebuilding: {line}" for line in rebuild(Child.objects.order_by("pk"), check=True)]
    return found
