"""Directors are told when there is no young backup, and asked to look through a restored record."""

import datetime

import pytest
import time_machine
from django.test import Client

from studio.models import Restore, Staff, Studio
from tests.support.cast import NOW, Cast
from tests.support.pages import text_of


def backed_up(ago: datetime.timedelta) -> None:
    Studio.objects.update(backed_up_at=NOW - ago)


def page(client: Client, who: Staff, address: str) -> str:
    client.force_login(who)
    with time_machine.travel(NOW, tick=False):
        return text_of(client.get(address))


@pytest.mark.parametrize("address", ["/", "/review"])
def test_an_old_backup_is_said_to_directors(cast: Cast, client, address):
    backed_up(datetime.timedelta(days=2, minutes=1))
    assert "The last good backup is of Monday 2 March 2026" in page(client, cast.petra, address)
    assert "backup" not in page(client, cast.omar, address)


def test_a_young_one_is_not_spoken_of(cast: Cast, client):
    backed_up(datetime.timedelta(days=2))
    assert "backup" not in page(client, cast.petra, "/")


def test_that_there_is_none_is_said(cast: Cast, client):
    Studio.objects.update(backed_up_at=None)
    assert "No backup of this record has been made yet." in page(client, cast.petra, "/")


def test_the_demo_is_not_backed_up(cast: Cast, client, settings):
    settings.DEMO = True
    Studio.objects.update(backed_up_at=None)
    assert "backup" not in page(client, cast.petra, "/")


def test_after_a_restore_a_director_looks_through_what_was_ended(cast: Cast, client):
    Restore.objects.create(made_at=NOW - datetime.timedelta(days=1), at=NOW)
    assert "Tuesday 3 March 2026" in page(client, cast.petra, "/")
    assert "put back" not in page(client, cast.omar, "/")
    client.force_login(cast.omar)
    assert client.post("/restored").status_code == 403
    assert Restore.objects.get().looked_at is None
    client.force_login(cast.petra)
    assert client.post("/restored").status_code == 302
    assert Restore.objects.get().looked_by == cast.petra
    assert "put back" not in page(client, cast.petra, "/")


def test_a_guest_is_told_nothing(cast: Cast, client):
    cast.luis.guest_on = NOW.date()
    cast.luis.save(update_fields=["guest_on"])
    Studio.objects.update(backed_up_at=None)
    Restore.objects.create(made_at=NOW, at=NOW)
    assert "backup" not in page(client, cast.luis, "/")
    client.force_login(cast.luis)
    with time_machine.travel(NOW, tick=False):
        assert client.post("/restored").status_code == 403
