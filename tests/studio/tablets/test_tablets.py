"""Shared tablets: enrolled, withdrawn and unlocked by a director; and each person's own PIN."""

import datetime
import hashlib

import pytest
import time_machine
from django.contrib.auth import authenticate
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from studio.models import Pin, SignInTry, Tablet
from studio.sign_in import throttle
from studio.sign_in.pins import check_pin, is_easily_guessed, set_pin
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.cast import Cast

NOW = datetime.datetime(2026, 3, 4, 17, 0, tzinfo=datetime.UTC)
PASSWORD = "a long enough word"
PIN = "490273"


@pytest.fixture(autouse=True)
def at_five():
    with time_machine.travel(NOW, tick=False) as clock:
        yield clock


@pytest.fixture
def petra(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.petra)
    return client


def client_of(staff) -> Client:
    client = Client()
    client.force_login(staff)
    return client


def enrolled(client: Client, cast: Cast, name: str = "Blue case") -> Tablet:
    answer = client.post("/tablets/enrol", {"name": name, "location": cast.hall.pk})
    assert (answer.status_code, answer["Location"]) == (302, "/tablets")
    return Tablet.objects.get(name=name, withdrawn_at=None)


# Enrolling


def test_a_director_enrols_the_tablet_in_their_hands(petra, cast):
    tablet = enrolled(petra, cast)
    assert (tablet.location, tablet.enrolled_by, tablet.enrolled_at) == (cast.hall, cast.petra, NOW)
    page = petra.get("/tablets").text
    assert "Blue case" in page
    assert "you are here" in page


def test_only_the_digest_of_the_secret_is_kept(petra, cast):
    tablet = enrolled(petra, cast)
    secret = petra.cookies[COOKIE].value
    assert len(secret) >= 43  # 32 random bytes
    assert tablet.secret_digest == hashlib.sha256(secret.encode()).hexdigest()
    assert secret not in str(list(Tablet.objects.values()))


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites_and_lasts(petra, cast):
    enrolled(petra, cast)
    cookie = petra.cookies[COOKIE]
    assert cookie["httponly"] is True
    assert cookie["samesite"] == "Lax"
    assert cookie["max-age"] == 400 * 24 * 3600
    assert cookie["secure"] == ""


def test_the_cookie_goes_by_https_only_where_the_site_does(petra, cast, settings):
    settings.SESSION_COOKIE_SECURE = True
    answer = petra.post("/tablets/enrol", {"name": "Blue case", "location": cast.hall.pk})
    assert answer.cookies[COOKIE]["secure"] is True


@pytest.mark.parametrize("who", ["omar", "tam", "dora"])
def test_nobody_but_a_director_of_the_location_enrols_a_tablet_there(cast, who):
    client = Client()
    client.force_login(getattr(cast, who))
    answer = client.post("/tablets/enrol", {"name": "Mine", "location": cast.hall.pk})
    assert answer.status_code == (422 if who == "dora" else 403)
    assert COOKIE not in answer.cookies
    assert not Tablet.objects.exists()


@pytest.mark.parametrize("name", ["", "   ", "\u200b", "x" * 61])
def test_a_tablet_without_a_name_is_refused_and_nothing_stored(petra, cast, name):
    answer = petra.post("/tablets/enrol", {"name": name, "location": cast.hall.pk})
    assert answer.status_code == 422
    assert COOKIE not in answer.cookies
    assert not Tablet.objects.exists()


def test_a_tablet_of_the_same_name_is_replaced_so_enrolling_twice_leaves_one(petra, cast):
    first = enrolled(petra, cast)
    second = enrolled(client_of(cast.petra), cast)
    first.refresh_from_db()
    assert first.withdrawn_at == NOW
    assert list(Tablet.objects.filter(withdrawn_at=None)) == [second]


def test_a_tablet_of_the_same_name_elsewhere_is_left_alone(petra, cast):
    there, _ = enrol("Blue case", cast.other_hall, cast.dora, NOW)
    enrolled(petra, cast, "Blue case 2")
    answer = petra.post("/tablets/enrol", {"name": "Blue case", "location": cast.hall.pk})
    assert answer.status_code == 302
    there.refresh_from_db()
    assert there.withdrawn_at is None


def test_a_device_enrolled_again_is_one_tablet_and_not_two(petra, cast):
    first = enrolled(petra, cast)
    second = enrolled(petra, cast, "Red case")
    first.refresh_from_db()
    assert first.withdrawn_at == NOW
    petra.get("/tablets")  # the messages are read
    page = petra.get("/tablets").text
    assert "Red case" in page
    assert "Blue case" not in page
    assert second.withdrawn_at is None


def test_the_database_holds_one_tablet_of_a_name_at_a_location(cast):
    tablet, _ = enrol("Blue case", cast.hall, cast.petra, NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        Tablet.objects.create(
            name="Blue case",
            location=cast.hall,
            secret_digest="0",
            enrolled_by=cast.petra,
            enrolled_at=NOW,
        )
    assert list(Tablet.objects.all()) == [tablet]


# Withdrawing and unlocking


def test_a_withdrawn_tablet_is_gone_from_the_list_and_its_cookie_is_worth_nothing(petra, cast):
    tablet = enrolled(petra, cast)
    assert petra.get("/change-over").status_code == 200
    answer = petra.post(f"/tablets/{tablet.uuid}/withdraw")
    assert answer["Location"] == "/tablets"
    assert petra.get("/change-over")["Location"] == "/sign-in?next=%2F"
    petra.get("/tablets")  # the message is read
    assert "Blue case" not in petra.get("/tablets").text


def test_a_tablet_is_withdrawn_once(petra, cast, at_five):
    tablet = enrolled(petra, cast)
    petra.post(f"/tablets/{tablet.uuid}/withdraw")
    at_five.shift(60)
    assert petra.post(f"/tablets/{tablet.uuid}/withdraw").status_code == 404
    tablet.refresh_from_db()
    assert tablet.withdrawn_at == NOW


@pytest.mark.parametrize(("who", "status"), [("omar", 403), ("tam", 403), ("dora", 404)])
@pytest.mark.parametrize("what", ["withdraw", "unlock"])
def test_nobody_else_withdraws_or_unlocks_a_tablet(cast, who, status, what):
    tablet, _ = enrol("Blue case", cast.hall, cast.petra, NOW)
    throttle.begin(cast.omar, tablet, NOW)
    answer = client_of(getattr(cast, who)).post(f"/tablets/{tablet.uuid}/{what}")
    assert answer.status_code == status
    tablet.refresh_from_db()
    assert tablet.withdrawn_at is None
    assert SignInTry.objects.filter(counts=True).count() == 1


def test_the_list_says_who_must_wait_and_unlocking_ends_it(petra, cast):
    tablet, _ = enrol("Blue case", cast.hall, cast.petra, NOW)
    for _each in range(5):
        assert throttle.begin(cast.omar, tablet, NOW)
    assert not throttle.begin(cast.omar, tablet, NOW)
    page = petra.get("/tablets").text
    assert "Omar" in page
    assert "Unlock Blue case" in page
    petra.post(f"/tablets/{tablet.uuid}/unlock")
    assert "Unlock Blue case" not in petra.get("/tablets").text
    assert throttle.begin(cast.omar, tablet, NOW)


def test_a_director_sees_the_tablets_of_their_own_locations_only(petra, cast):
    enrol("Far away", cast.other_hall, cast.dora, NOW)
    assert "Far away" not in petra.get("/tablets").text
    assert "Far away" in client_of(cast.dora).get("/tablets").text


# One's own PIN


def pin_form(**changed: str) -> dict[str, str]:
    return {"password": PASSWORD, "pin": PIN, "again": PIN} | changed


@pytest.mark.parametrize("who", ["omar", "tam", "petra"])
def test_each_sets_their_own_pin(cast, who):
    staff = getattr(cast, who)
    client = client_of(staff)
    answer = client.post("/pin", pin_form())
    assert (answer.status_code, answer["Location"]) == (302, "/pin")
    stored = Pin.objects.get()
    assert (stored.staff, stored.set_at) == (staff, NOW)
    assert PIN not in stored.hash
    assert "Your PIN is set." in client.get("/pin").text


def test_a_pin_is_hashed_with_salt_and_mixed_with_a_key_that_is_not_in_the_database(cast, settings):
    set_pin(cast.omar, PIN, NOW)
    set_pin(cast.tam, PIN, NOW)
    tablet, _ = enrol("Blue case", cast.hall, cast.petra, NOW)
    hashes = list(Pin.objects.values_list("hash", flat=True))
    assert len(set(hashes)) == 2
    assert authenticate(staff=cast.omar, pin=PIN, tablet=tablet, now=NOW)
    settings.SECRET_KEY = "another key"
    assert not authenticate(staff=cast.omar, pin=PIN, tablet=tablet, now=NOW)


def test_a_pin_is_changed_in_place_and_the_old_one_is_good_no_longer(cast):
    set_pin(cast.omar, PIN, NOW)
    tablet, _ = enrol("Blue case", cast.hall, cast.petra, NOW)
    client_of(cast.omar).post("/pin", pin_form(pin="518207", again="518207"))
    omar = type(cast.omar).objects.get(pk=cast.omar.pk)
    assert Pin.objects.count() == 1
    assert not authenticate(staff=omar, pin=PIN, tablet=tablet, now=NOW)
    assert authenticate(staff=omar, pin="518207", tablet=tablet, now=NOW)


def test_a_new_pin_ends_the_waiting_on_tablets(cast):
    tablet, _ = enrol("Blue case", cast.hall, cast.petra, NOW)
    set_pin(cast.omar, PIN, NOW)
    for _each in range(5):
        throttle.begin(cast.omar, tablet, NOW)
    client_of(cast.omar).post("/pin", pin_form())
    omar = type(cast.omar).objects.get(pk=cast.omar.pk)
    assert authenticate(staff=omar, pin=PIN, tablet=tablet, now=NOW)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"password": "another word"}, "password"),
        ({"password": ""}, "password"),
        ({"pin": "12345", "again": "12345"}, "pin"),
        ({"pin": "4902731", "again": "4902731"}, "pin"),
        ({"pin": "49027a", "again": "49027a"}, "pin"),
        ({"pin": "٤٩٠٢٧٣", "again": "٤٩٠٢٧٣"}, "pin"),
        ({"pin": "123456", "again": "123456"}, "pin"),
        ({"again": "490274"}, "again"),
        ({"again": ""}, "again"),
    ],
)
def test_a_pin_is_refused_and_nothing_stored(cast, changed, field):
    answer = client_of(cast.omar).post("/pin", pin_form(**changed))
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {field}
    assert not Pin.objects.exists()
    assert PIN not in answer.text


def test_the_password_at_the_pin_page_cannot_be_guessed_for_long(cast, at_five):
    """Somebody's page left open is no way to their password."""
    client = client_of(cast.omar)
    for _each in range(5):
        assert client.post("/pin", pin_form(password="a guess")).status_code == 422
    assert client.post("/pin", pin_form()).status_code == 422
    assert not Pin.objects.exists()
    at_five.shift(31)
    assert client.post("/pin", pin_form()).status_code == 302


def test_nobody_sets_a_pin_without_a_sign_in(client, cast):
    assert client.post("/pin", pin_form()).status_code == 302
    assert not Pin.objects.exists()


@pytest.mark.parametrize(
    "pin",
    [
        "000000", "777777", "123456", "654321", "012345", "987654", "890123", "135791",
        "121212", "123123", "123321", "112233", "111222", "100000", "147258", "159753",
    ],
)  # fmt: skip
def test_a_pin_that_is_tried_first_is_refused(pin):
    with pytest.raises(ValidationError):
        check_pin(pin)


@pytest.mark.parametrize("pin", ["490273", "007319", "918273", "300185"])
def test_another_pin_is_taken(pin):
    check_pin(pin)


def test_of_a_million_pins_few_are_refused():
    refused = sum(is_easily_guessed(f"{number:06}") for number in range(1_000_000))
    assert 1_000 < refused < 10_000


def test_the_page_of_the_director_leads_to_the_own_pin(petra):
    assert f'href="{reverse("pin")}"' in petra.get("/tablets").text
