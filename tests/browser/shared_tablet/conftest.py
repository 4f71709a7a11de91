"""A tablet that two people share: Omar and Tam have a PIN, and are at tonight's class."""

import pytest
from django.utils import timezone
from playwright.sync_api import BrowserContext
from pytest_django.live_server_helper import LiveServer

from studio.models import Meeting
from studio.sign_in.pins import set_pin
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.browser.floor_taps import PIN
from tests.support.cast import Cast


@pytest.fixture
def meeting(cast: Cast) -> Meeting:
    today = cast.hall.day_of(timezone.now())
    made, _ = Meeting.objects.get_or_create(
        group=cast.blue, date=today, starts_at=cast.blue.starts_at
    )
    made.staff.set([cast.omar, cast.tam])
    return made


@pytest.fixture
def tablet(cast: Cast, context: BrowserContext, live_server: LiveServer) -> None:
    """This browser is an enrolled tablet of the hall; Omar and Tam have a PIN."""
    now = timezone.now()
    for staff in (cast.omar, cast.tam):
        set_pin(staff, PIN, now)
    _tablet, secret = enrol("Blue case", cast.hall, cast.petra, now)
    cookie = {"name": COOKIE, "value": secret, "url": live_server.url, "httpOnly": True}
    context.add_cookies([cookie])
