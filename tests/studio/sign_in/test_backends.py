"""One backend for each way in; nothing lets anybody in past them, and older sessions go on."""

import ast
import datetime
import uuid
from pathlib import Path

import pytest
import time_machine
from django.conf import settings as site_settings
from django.contrib.auth import authenticate
from django.contrib.sessions.models import Session
from django.test import Client

from studio.models import Pin, SignInTry, Staff, Tablet
from studio.sign_in.pins import set_pin
from studio.sign_in.throttle import FREE
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.cast import Cast

ROOT = Path(__file__).resolve().parents[3]
NOW = datetime.datetime(2026, 3, 4, 17, 0, tzinfo=datetime.UTC)
PASSWORD = "a long enough word"
PIN = "490273"
OLD_BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def tablet(cast: Cast) -> Tablet:
    set_pin(cast.petra, PIN, NOW)
    tablet, tablet.secret = enrol("Blue case", cast.hall, cast.petra, NOW)
    return tablet


def by_password(staff: Staff) -> Client:
    client = Client()
    client.post("/sign-in", {"username": staff.username, "password": PASSWORD})
    return client


def by_pin(staff: Staff, tablet: Tablet) -> Client:
    client = Client()
    client.cookies[COOKIE] = tablet.secret
    client.post("/change-over", {"who": str(staff.uuid), "pin": PIN})
    return client


def backend_of(client: Client) -> str | None:
    return client.session.get("_auth_user_backend")


def made_older(client: Client, backend: str = OLD_BACKEND) -> None:
    session = client.session
    session["_auth_user_backend"] = backend
    session.save()


def test_there_is_one_backend_for_a_password_and_one_for_a_pin():
    assert site_settings.AUTHENTICATION_BACKENDS == [
        "studio.sign_in.backends.PasswordBackend",
        "studio.sign_in.backends.PinBackend",
    ]


def test_a_session_names_the_backend_that_let_its_owner_in(cast, tablet):
    assert backend_of(by_password(cast.petra)) == "studio.sign_in.backends.PasswordBackend"
    assert backend_of(by_pin(cast.petra, tablet)) == "studio.sign_in.backends.PinBackend"


# Sessions from before the upgrade


def test_an_older_sign_in_by_password_goes_on_with_all_its_rights(cast):
    client = by_password(cast.petra)
    made_older(client)
    assert client.get("/tablets").status_code == 200
    assert backend_of(client) == "studio.sign_in.backends.PasswordBackend"
    assert Session.objects.count() == 1


def test_an_older_sign_in_by_pin_goes_on_with_a_coach_s_rights_and_no_more(cast, tablet, clock):
    client = by_pin(cast.petra, tablet)
    made_older(client)
    assert client.get("/").status_code == 200
    assert client.get("/tablets").status_code == 403
    assert backend_of(client) == "studio.sign_in.backends.PinBackend"
    clock.shift(datetime.timedelta(hours=4))
    assert client.get("/").status_code == 302


def test_an_older_sign_in_ends_when_the_password_is_changed(cast):
    client = by_password(cast.petra)
    made_older(client)
    cast.petra.set_password("another long enough word")
    cast.petra.save(update_fields=["password"])
    assert client.get("/").status_code == 302


@pytest.mark.parametrize("backend", ["studio.sign_in.backends.Other", ""])
def test_a_session_of_an_unknown_backend_is_nobody_s(cast, backend):
    client = by_password(cast.petra)
    made_older(client, backend)
    assert client.get("/").status_code == 302


# Tries


def test_a_password_counts_and_then_waits_although_it_is_right(cast):
    for _each in range(FREE):
        assert not authenticate(username="omar", password="a guess", now=NOW)
    assert not authenticate(username="omar", password=PASSWORD, now=NOW)
    assert SignInTry.objects.filter(staff=cast.omar, tablet=None).count() == FREE


def test_a_pin_counts_and_then_waits_although_it_is_right(cast, tablet):
    for _each in range(FREE):
        assert not authenticate(staff=cast.petra, pin="518207", tablet=tablet, now=NOW)
    assert not authenticate(staff=cast.petra, pin=PIN, tablet=tablet, now=NOW)
    assert SignInTry.objects.filter(staff=cast.petra, tablet=tablet).count() == FREE


def test_a_pin_is_no_password_and_a_password_is_no_pin(cast, tablet):
    assert not authenticate(username="petra", password=PIN, now=NOW)
    assert not authenticate(staff=cast.petra, pin=PASSWORD, tablet=tablet, now=NOW)
    assert not authenticate(username="petra", pin=PIN, now=NOW)
    assert not authenticate(staff=cast.petra, pin=PIN, now=NOW)


def test_an_account_that_has_ended_is_let_in_by_neither(cast, tablet):
    cast.petra.is_active = False
    cast.petra.save(update_fields=["is_active"])
    assert not authenticate(username="petra", password=PASSWORD, now=NOW)
    assert not authenticate(staff=cast.petra, pin=PIN, tablet=tablet, now=NOW)


# What looks at a secret, and what begins a session, by the name that is called.
MAY_CALL = {
    "check_password": {"studio/sign_in/backends.py", "studio/sign_in/pins.py"},
    "pin_matches": {"studio/sign_in/backends.py"},
    "authenticate": {"studio/sign_in/forms.py", "studio/tablets/forms.py"},
    "login": {"studio/sign_in/views.py", "studio/tablets/enrolment.py"},
    "force_login": set(),
}


def test_nothing_looks_at_a_secret_or_begins_a_session_elsewhere():
    callers: dict[str, set[str]] = {name: set() for name in MAY_CALL}
    for app in ("studio", "progression", "readiness"):
        for path in (ROOT / app).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call):
                    name = getattr(node.func, "id", "") or getattr(node.func, "attr", "")
                    if name in callers:
                        callers[name].add(str(path.relative_to(ROOT)))
    assert callers == MAY_CALL


def test_a_pin_s_hash_from_any_earlier_release_is_still_that_pin_s(cast, tablet, settings):
    """The text that the key is mixed with ("studio.pins:" and the public id) is part of each
    hash in every database: it must never change, or nobody's PIN is good any more.

    By the standard library alone: hmac.new(sha256(b"studio.pins:" + id + key).digest(), pin,
    sha256).hexdigest() is f4b15593…a712cf148be0ac, and the hash below the MD5 of "salt" and that.
    """
    settings.SECRET_KEY = "a key for this test"
    cast.petra.uuid = uuid.UUID("00000000-0000-4000-8000-00000000000a")
    cast.petra.save(update_fields=["uuid"])
    Pin.objects.update(hash="md5$salt$3ae6349c90b1d2d39198e1dcef0ba461")
    petra = Staff.objects.get(pk=cast.petra.pk)
    assert authenticate(staff=petra, pin=PIN, tablet=tablet, now=NOW) == petra
    assert not authenticate(staff=petra, pin="490274", tablet=tablet, now=NOW)
