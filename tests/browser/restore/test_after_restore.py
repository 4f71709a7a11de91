"""A backup, then a new class with a new child and twenty turns that were acknowledged, then the
backup put back: two tablets return, and all of it is there once."""

from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from playwright.sync_api import Browser, BrowserContext, Page

from progression.models import Attempt
from studio.models import Child, ClassGroup, Meeting, Studio
from studio.people.meetings import meeting_on
from tests.support.backups import close, make, remove_kept
from tests.support.browser.activity import WATCH, settle, wait_until
from tests.support.browser.chromium import TABLET
from tests.support.browser.floor_taps import SignIn, all_sent, choose, clean, open_class
from tests.support.browser.killable import Killable
from tests.support.cast import Cast, make_child, make_class

pytestmark = pytest.mark.delivery


@pytest.fixture
def second(browser: Browser, home: str) -> Iterator[BrowserContext]:
    """Another tablet."""
    made = browser.new_context(base_url=home, viewport=TABLET, has_touch=True)
    made.add_init_script(WATCH)
    yield made
    made.close()


def tap(page: Page, name: str, times: int) -> None:
    for _each in range(times):
        before = Attempt.objects.count()
        settle(page)
        clean(page, name).tap()
        wait_until(page, lambda before=before: Attempt.objects.count() > before)


def signed_in_as(first: BrowserContext, other: BrowserContext) -> None:
    other.add_cookies(first.cookies())


def test_a_restored_backup_loses_nothing(
    killable: Killable,
    context: BrowserContext,
    page: Page,
    second: BrowserContext,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    settings,
    tmp_path: Path,
) -> None:
    settings.BACKUP_DIR = tmp_path / "backups"
    file = make()
    green = make_class("Green", cast.hall, cast.omar)
    nia = make_child("Nia Oduya", green)
    cast.mai.classes.add(green)
    new = meeting_on(green, meeting.date)
    signed_in(cast.omar)
    signed_in_as(context, second)
    tablets = [page, second.new_page()]
    open_class(page, new)
    tap(page, "Nia", 10)
    tablets[1].goto(f"/floor/{new.uuid}")
    choose(tablets[1], "#surface", "spring floor")
    choose(tablets[1], "#all-drills", "Swing and jump tall")
    tap(tablets[1], "Mai", 10)
    for tablet in tablets:
        all_sent(tablet)
    turns = set(Attempt.objects.values_list("pk", flat=True))
    assert len(turns) == 20

    killable.stop()
    put_back(file)
    assert Attempt.objects.count() == 0
    assert not ClassGroup.objects.filter(name="Green").exists()
    assert not Child.objects.filter(uuid=nia.uuid).exists()
    killable.start()

    signed_in(cast.omar)
    signed_in_as(context, second)
    # The second, still on its floor, may send before it is opened again.
    for tablet, at_least in zip(tablets, (10, 20), strict=True):
        tablet.goto(f"/floor/{meeting.uuid}")
        wait_until(tablet, lambda n=at_least: Attempt.objects.count() >= n, 90)
        all_sent(tablet)
    assert set(Attempt.objects.values_list("pk", flat=True)) == turns
    back = Child.objects.get(uuid=nia.uuid)
    assert not back.is_known
    assert back.attempts.count() == cast.mai.attempts.count() == 10
    group = ClassGroup.objects.get(uuid=green.uuid)
    assert group.to_be_sorted
    assert group.meetings.get().uuid == new.uuid
    assert Studio.objects.count() == 1


def put_back(file: Path) -> None:
    close()
    call_command("restore", str(file), stdout=StringIO())
    remove_kept()
