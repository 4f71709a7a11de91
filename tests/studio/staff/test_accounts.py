"""What is done to accounts is told to the other directors of the hall."""

import datetime
import io

import time_machine
from django.core.management import call_command
from django.test import Client

from studio.models import AccountChange, Staff
from studio.staff.accounts import tell
from studio.staff.leaving import leave
from tests.support.cast import NOW, TODAY

DAY = datetime.timedelta(days=1)


def page(staff, address="/", days=0):
    client = Client()
    with time_machine.travel(NOW + days * DAY, tick=False):
        client.force_login(staff)
        return client.get(address).text


def add(monkeypatch, cast, *words):
    monkeypatch.setenv("WORD", "a long enough word for this")
    with time_machine.travel(NOW, tick=False):
        call_command(
            "add_staff", "nils", "--location", cast.hall.name, "--name", "Nils", *words,
            "--password-from-env", "WORD", stdout=io.StringIO(),
        )  # fmt: skip


def test_an_account_made_at_the_server_is_told_to_the_directors_of_its_hall(cast, monkeypatch):
    add(monkeypatch, cast, "--role", "coach")
    said = "4 Mar 2026: Nils’s account was made by somebody at the server."
    for director in (cast.petra, cast.luis):
        assert said in page(director)
        assert said in page(director, "/staff", days=13)
        assert said not in page(director, days=15)
    for other in (cast.omar, cast.dora):
        assert said not in page(other)


def test_another_role_is_told_and_the_same_again_is_not(cast, monkeypatch):
    add(monkeypatch, cast, "--role", "coach")
    add(monkeypatch, cast, "--role", "director")
    add(monkeypatch, cast, "--role", "director")
    kinds = list(AccountChange.objects.order_by("pk").values_list("what", flat=True))
    assert kinds == ["made", "role"]
    assert "Nils was given another role by somebody at the server." in page(cast.petra)


def test_who_ended_somebodys_access_tells_the_others_and_not_herself(cast):
    leave(cast.omar, TODAY + DAY, cast.petra, NOW)
    said = "4 Mar 2026: Omar’s access was ended by Petra."
    assert said in page(cast.luis)
    assert said not in page(cast.petra)
    assert Staff.objects.get(pk=cast.omar.pk).left_on == TODAY + DAY


def test_that_ones_own_account_was_made_is_no_news_to_oneself(cast):
    tell(cast.petra, AccountChange.What.MADE, None, NOW)
    said = "Petra’s account was made by somebody at the server."
    assert said not in page(cast.petra)
    assert said in page(cast.luis)
