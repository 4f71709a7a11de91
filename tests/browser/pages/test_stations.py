"""A whole evening of stations: planned, taken, changed by hand, printed on one sheet, compared."""

import io
import re

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from readiness.models import StationPlan
from readiness.stations.taken import taken_of
from studio.models import Meeting
from tests.support.browser.floor_taps import SignIn
from tests.support.cast import Cast, Logged, make_child

LETTERS = "abcdefghijklmnopqrstuv"


@pytest.fixture
def tonight(cast: Cast) -> Meeting:
    """24 children, two coaches."""
    day = cast.hall.day_of(timezone.now())
    about = {"group": cast.blue, "date": day, "starts_at": cast.blue.starts_at}
    meeting, _ = Meeting.objects.get_or_create(**about)
    cast.blue.weekday = day.weekday()
    cast.blue.save(update_fields=["weekday"])
    meeting.staff.add(cast.ines)
    for letter in LETTERS:
        make_child(f"{letter.upper()}rabella-{letter} Long", cast.blue)
    return meeting


@pytest.fixture
def stations(page: Page, signed_in: SignIn, cast: Cast, tonight: Meeting) -> Page:
    """From Tonight."""
    signed_in(cast.omar)
    page.goto("/")
    page.get_by_role("button", name="Stations").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Stations: a plan")
    return page


def taken(page: Page) -> None:
    page.get_by_role("button", name="Take it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Stations")


def again(page: Page) -> None:
    page.get_by_role("link", name="Plan again").click()


def say_here(page: Page, who: str, first: int, last: int) -> None:
    page.get_by_label("Comes late, leaves early, is gone").select_option(label=who)
    page.get_by_label("here from rotation").fill(str(first))
    page.get_by_label("to rotation").fill(str(last))
    page.get_by_role("button", name="Plan with that").click()


def test_an_evening(stations: Page, cast: Cast, tonight: Meeting, log: Logged) -> None:
    page = stations
    taken(page)
    plan = taken_of(tonight)
    assert plan is not None
    assert {each.child for each in plan.plan.at} >= {cast.mai.pk, cast.ilse.pk}

    reader = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    # ISO 216: A4 across, in points.
    assert [tuple(map(round, each.mediabox[2:])) for each in reader.pages] == [(842, 595)]
    assert "Mai" in reader.pages[0].extract_text()

    again(page)
    kept = next(each for each in plan.plan.at if each.child == cast.mai.pk and not each.rotation)
    value = f"{cast.mai.uuid}~{kept.station}~1"
    page.get_by_label("Who, where").select_option(value=value)
    page.get_by_role("button", name="Keep it so").click()
    expect(page.locator("#changes li")).to_have_text(re.compile("Mai is at .* in rotation 1"))
    say_here(page, "Ilse", 3, 6)
    say_here(page, "Ines", 1, 0)
    expect(page.locator("#changes li")).to_have_count(3)
    expect(page.get_by_text("One adult tonight")).to_be_visible()
    taken(page)
    now = taken_of(tonight)
    assert now is not None
    assert kept in now.plan.at
    assert {each.rotation for each in now.plan.at if each.child == cast.ilse.pk} == {2, 3, 4, 5}
    assert not [post for post in now.plan.posts if post.adult == cast.ines.pk]

    again(page)
    page.get_by_label("Plan from rotation").fill("4")
    page.get_by_role("button", name="Plan again").click()
    taken(page)
    last = taken_of(tonight)
    assert last is not None
    before = {each for each in now.plan.at if each.rotation < 3}
    assert {each for each in last.plan.at if each.rotation < 3} == before
    assert StationPlan.objects.count() == 3

    log(cast.mai, "hollow-hold", [10, 12], day=tonight.date, support=0)
    page.get_by_role("link", name="Planned and done").click()
    expect(page.locator("main")).to_contain_text(re.compile("Hollow hold, 2 turns"))
