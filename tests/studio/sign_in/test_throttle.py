"""Guessing at passwords: strangers wait, and make nobody wait who has been here before.

The counts are those of NIST SP 800-63B-4, 3.2.2: at most 100 wrong tries in a row, a right one
begins again.
"""

import datetime
import threading

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.core.signing import dumps
from django.db import connection
from django.test import Client

from studio.models import SignInTry, Staff
from studio.sign_in import hashing, throttle
from studio.sign_in.hashing import MOST_WAITING, TooManyAtOnce, hashing_place
from studio.sign_in.known_browser import COOKIE
from studio.sign_in.throttle import FREE, LONGEST_WAIT, MOST_IN_A_ROW, begin
from tests.support.cast import NOW

PASSWORD = "a long enough word"
HOUR = datetime.timedelta(hours=1)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


def sign_in(client: Client, password: str = PASSWORD, name: str = "omar") -> int:
    return client.post("/sign-in", {"username": name, "password": password}).status_code


def guess_until_it_waits(client: Client, name: str = "omar") -> None:
    for _each in range(FREE):
        assert sign_in(client, "a guess", name) == 422


@pytest.fixture
def known(cast) -> Client:
    """Omar's own browser: he has signed in with it, and out again."""
    client = Client()
    assert sign_in(client) == 302
    client.post("/sign-out")
    return client


def test_a_stranger_s_guesses_wait_and_the_right_password_with_them(cast, clock):
    stranger = Client()
    guess_until_it_waits(stranger)
    assert sign_in(stranger) == 422
    assert SignInTry.objects.filter(counts=True).count() == FREE
    clock.shift(30)
    assert sign_in(stranger) == 302
    assert not SignInTry.objects.filter(counts=True).exists()


def test_a_stranger_s_guesses_never_make_a_known_browser_wait(cast, known, clock):
    for _each in range(MOST_IN_A_ROW):
        SignInTry.objects.create(staff=cast.omar, at=NOW)
    assert sign_in(Client()) == 422
    assert sign_in(known) == 302


def test_a_known_browser_s_wrong_tries_count_by_themselves(cast, known):
    guess_until_it_waits(known)
    assert sign_in(known) == 422
    assert sign_in(Client()) == 302


def test_a_browser_is_known_for_those_who_signed_in_with_it_and_nobody_else(cast, known):
    guess_until_it_waits(known, "petra")
    assert sign_in(known, name="petra") == 422
    assert sign_in(Client(), name="petra") == 422
    assert SignInTry.objects.filter(staff=cast.petra, browser="").count() == FREE


@pytest.mark.parametrize(
    "value",
    ["", "x", "\ud800", dumps(["1", []], salt="another")],
    ids=["none", "no-signature", "half-a-character", "of-another-kind"],
)
def test_a_cookie_that_this_server_did_not_sign_is_a_stranger_s(cast, value):
    client = Client()
    client.cookies[COOKIE] = value.encode("utf-8", "replace").decode()
    guess_until_it_waits(client)
    assert set(SignInTry.objects.values_list("browser", flat=True)) == {""}


def test_the_hundredth_wrong_try_in_a_row_closes_and_a_right_one_at_99_begins_again(cast, clock):
    for _each in range(MOST_IN_A_ROW - 1):
        assert begin(cast.omar, None, NOW)
        clock.shift(LONGEST_WAIT)
        SignInTry.objects.update(at=NOW - LONGEST_WAIT)
    assert sign_in(Client()) == 302
    assert SignInTry.objects.filter(counts=True).count() == 0
    for _each in range(MOST_IN_A_ROW):
        SignInTry.objects.create(staff=cast.omar, at=NOW)
    clock.shift(datetime.timedelta(days=365))
    assert sign_in(Client()) == 422


def test_a_director_alone_is_let_in_again_from_the_command_line(cast, capsys):
    for _each in range(MOST_IN_A_ROW):
        SignInTry.objects.create(staff=cast.petra, at=NOW)
    assert sign_in(Client(), name="petra") == 422
    call_command("open_account", "petra")
    assert "Petra may try again at once" in capsys.readouterr().out
    assert sign_in(Client(), name="petra") == 302
    with pytest.raises(CommandError, match="Nobody has the account nobody"):
        call_command("open_account", "nobody")


def test_tries_of_the_future_make_nobody_wait(cast):
    for _each in range(FREE + 3):
        SignInTry.objects.create(staff=cast.omar, at=NOW + 5 * HOUR)
    assert throttle.may_try_at(cast.omar, None, NOW) <= NOW
    assert sign_in(Client()) == 302


# One at a time


def test_a_stranger_who_finds_the_place_taken_for_a_second_is_told_and_nothing_counts(cast, known):
    with other_process_hashes(known=False):
        answer = Client().post("/sign-in", {"username": "omar", "password": PASSWORD})
        assert (answer.status_code, answer["Retry-After"]) == (429, "1")
        assert sign_in(known) == 302
    assert not SignInTry.objects.filter(counts=True).exists()
    assert sign_in(Client()) == 302


def test_an_unknown_name_needs_the_place_too(cast):
    with other_process_hashes(known=False):
        assert sign_in(Client(), name="nobody") == 429


def test_whoever_finds_the_place_taken_for_a_moment_waits_and_is_let_in(cast, known):
    for browser, here in ((Client(), False), (known, True)):
        with other_process_hashes(known=here) as other:
            threading.Timer(0.2, other.enough.set).start()
            assert sign_in(browser) == 302


def test_where_six_wait_the_next_is_refused_at_once(cast, monkeypatch):
    monkeypatch.setattr(hashing, "SECONDS_TO_WAIT", 30)
    tried, refused = [], threading.Event()

    def wait() -> None:
        try:
            with hashing_place(known=False):
                tried.append("let in")
        except TooManyAtOnce:
            tried.append("refused")
            refused.set()
        finally:
            connection.close()

    with other_process_hashes(known=False):
        waiting = [threading.Thread(target=wait) for _each in range(MOST_WAITING + 1)]
        for thread in waiting:
            thread.start()
        assert refused.wait(20)
    for thread in waiting:
        thread.join()
    assert tried == ["refused"] + ["let in"] * MOST_WAITING


def test_what_went_wrong_frees_the_place(cast):
    with pytest.raises(ValueError, match="no"), hashing_place(known=False):
        raise ValueError("no")
    with hashing_place(known=False):
        pass


class other_process_hashes:
    """The place is taken from a connection of its own."""

    def __init__(self, known: bool) -> None:
        self.known = known
        self.taken, self.enough = threading.Event(), threading.Event()
        self.thread = threading.Thread(target=self._hold)

    def _hold(self) -> None:
        try:
            with hashing_place(self.known):
                self.taken.set()
                self.enough.wait(30)
        finally:
            connection.close()

    def __enter__(self) -> "other_process_hashes":
        self.thread.start()
        assert self.taken.wait(30)
        return self

    def __exit__(self, *_error: object) -> None:
        self.enough.set()
        self.thread.join()


@pytest.mark.parametrize("password", ["fourteen chars", "yfdbufnjh10305070", "petrapetrapetra"])
def test_a_new_password_has_15_characters_and_is_not_easily_guessed(cast, password):
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    with pytest.raises(ValidationError):
        validate_password(password, Staff(username="petrapetrapetra"))
    validate_password("fifteen letters", Staff(username="petra"))
