"""A whole evening of stations: planned, taken, changed by hand, printed on one sheet, followed
on the floor and on the screen in the hall, compared."""

import io
import re

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

from progression.models import Attempt
from readiness.engine.stations.plan import Plan
from readiness.engine.stations.problem import At
from readiness.models import StationPlan, WallScreen
from readiness.record.ladders import Ladders
from readiness.stations.evening.set_up import drill_of
from readiness.stations.taken import taken_of
from studio.models import Child, Meeting
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import SignIn, all_sent, choose, tile
from tests.support.cast import Cast, make_child

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


def swap(page: Page, places: list[At]) -> None:
    """Two of the letters' children at other stations in the last rotation."""
    one, other = (
        f"{Child.objects.get(pk=each.child).uuid}~{each.station}~{each.rotation + 1}"
        for each in places
    )
    page.get_by_label("Swap", exact=True).select_option(value=one)
    page.get_by_label("with, in the same rotation").select_option(value=other)
    page.get_by_role("button", name="Swap them").click()


def place(page: Page, name: str) -> Locator:
    """What a tile says of where its child is."""
    return tile(page, name).locator(".at-drill")


def begin_floor(page: Page, meeting: Meeting) -> None:
    """Everybody but Ilse, who comes later."""
    page.goto(f"/floor/{meeting.uuid}")
    page.get_by_role("button", name="On to who is here").click()
    settle(page)
    page.get_by_role("button", name="Everybody").click()
    settle(page)
    page.locator("#roll-grid").get_by_role("button", name="Ilse").click()
    settle(page)
    page.get_by_role("button", name="On to 23 children").click()
    settle(page)
    choose(page, "#surface", "spring floor")


def keep_to(page: Page, words: str) -> None:
    page.locator("#rotation .choice").click()
    settle(page)
    name = re.compile(f"^{re.escape(words)}")
    page.locator("#sheet .lines").get_by_role("button", name=name).click()
    settle(page)


def follow(page: Page, cast: Cast, meeting: Meeting, plan: Plan) -> None:
    """Rotation 1, a turn at its station, rotation 2; on the screen in the hall as well."""
    drills = Ladders().named_on(meeting.date).drills
    first, second = (
        {each.child: drill_of(each.station)[0] for each in plan.at if each.rotation == rotation}
        for rotation in (0, 1)
    )
    child, at = next(each for each in first.items() if drills[each[1]]["measure"] == "clean")
    name = Child.objects.get(pk=child).called
    begin_floor(page, meeting)
    page.get_by_role("button", name="Rotation 1 begins").click()
    clock = re.compile("Rotation 1 of 6.*8 min left")
    expect(page.locator("#rotation .choice")).to_have_text(clock)
    settle(page)
    keep_to(page, drills[at]["name"])
    own = page.locator(".tile")
    expect(own).to_have_count(list(first.values()).count(at))
    tile(page, name).locator(".tile-main").click()
    all_sent(page)
    done = Attempt.objects.get()
    assert (done.child_id, done.drill.key) == (child, at)
    page.reload()
    expect(own).to_have_count(list(first.values()).count(at))
    keep_to(page, "The whole room")
    expect(place(page, name)).to_have_text(drills[at]["name"])
    page.context.set_offline(True)
    page.get_by_role("button", name="Rotation 2 begins").click()
    expect(place(page, name)).to_have_text(drills[second[child]]["name"])
    page.context.set_offline(False)
    all_sent(page)

    WallScreen.objects.create(hall=cast.hall, wanted=True, by=cast.petra, at=timezone.now())
    page.set_viewport_size({"width": 1920, "height": 1080})
    page.goto(f"/stations/{meeting.uuid}/wall")
    expect(page.get_by_role("heading", level=1)).to_have_text("Rotation 2 of 6")
    card = page.locator("section").filter(has=page.get_by_text(name, exact=True))
    expect(card.get_by_role("heading")).to_contain_text(drills[second[child]]["name"])
    assert page.evaluate("document.documentElement.scrollHeight") == 1080


def test_an_evening(stations: Page, cast: Cast, tonight: Meeting) -> None:
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
    others = {cast.mai.pk, cast.ilse.pk}
    last = [each for each in plan.plan.at if each.rotation == 5 and each.child not in others]
    swap(page, [last[0], next(each for each in last if each.station != last[0].station)])
    expect(page.locator("#changes li")).to_have_count(5)
    expect(page.get_by_text("One adult tonight")).to_be_visible()
    taken(page)
    now = taken_of(tonight)
    assert now is not None
    assert kept in now.plan.at
    assert {each.rotation for each in now.plan.at if each.child == cast.ilse.pk} == {2, 3, 4, 5}
    assert not [post for post in now.plan.posts if post.adult == cast.ines.pk]

    follow(page, cast, tonight, now.plan)

    page.goto(f"/stations/{tonight.uuid}")
    again(page)
    page.get_by_label("Plan from rotation").fill("4")
    page.get_by_role("button", name="Plan again").click()
    taken(page)
    final = taken_of(tonight)
    assert final is not None
    before = {each for each in now.plan.at if each.rotation < 3}
    assert {each for each in final.plan.at if each.rotation < 3} == before
    assert StationPlan.objects.count() == 3

    page.get_by_role("link", name="Planned and done").click()
    done = Attempt.objects.get()
    drill = Ladders().named_on(tonight.date).drills[done.drill.key]["name"]
    row = page.get_by_role("row").filter(has=page.get_by_role("rowheader", name=done.child.called))
    expect(row).to_contain_text(f"{drill}, 1 turn")
