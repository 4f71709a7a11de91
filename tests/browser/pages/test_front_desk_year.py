"""A front desk's year, by its pages alone: what a person who types with two fingers does."""

import datetime
import re

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from readiness.models import Placing
from studio.models import Child, ClassGroup, Location, Meeting, Merge, Staff
from studio.people.class_dates import evenings
from tests.support.browser.desk_taps import (
    follow,
    go_on,
    press,
    select,
    tick,
    unfold,
    write,
    write_in,
)
from tests.support.browser.floor_taps import SignIn
from tests.support.cast import Cast, make_child

DAY = datetime.timedelta(days=1)


@pytest.fixture
def today() -> datetime.date:
    return timezone.now().date()


@pytest.fixture
def desk(page: Page, signed_in: SignIn, cast: Cast) -> Page:
    """Petra at the desk of two halls."""
    cast.petra.locations.add(cast.other_hall)
    card = {"address": "1 Weir Lane", "emergency_number": "112", "confirmed_on": "2026-01-01"}
    Location.objects.update(**card)
    signed_in(cast.petra)
    page.goto("/desk")
    return page


def add_child(page: Page, name: str, born: str, group: str, guardian: str = "") -> Child:
    page.goto("/desk")
    follow(page, "Children")
    follow(page, "Add a child")
    write(page, "Name", name)
    write(page, "Born", born)
    write(page, "Guardian", guardian)
    tick(page, group)
    press(page, "Add")
    expect(page.get_by_role("heading", level=1)).to_have_text(name)
    return Child.objects.get(name=name, birth_year=int(born[:4]))


def groups_of(child: Child) -> set[str]:
    return set(child.classes.values_list("name", flat=True))


def test_a_child_comes_moves_is_renamed_leaves_and_comes_back(desk: Page, cast: Cast) -> None:
    child = add_child(desk, "Đorđe Ilić", "2017-05", "Blue", "Vesna Ilić")
    # The month was wrong, and the family has a new name.
    write(desk, "Born", "2017-06")
    write(desk, "Name", "Đorđe Kovač")
    press(desk, "Keep")
    child.refresh_from_db()
    assert (child.name, child.birth_month) == ("Đorđe Kovač", 6)
    # To another class: joined first, then left.
    unfold(desk, "Joins a class")
    select(desk, "Join", "Class", "Red")
    press(desk, "Join")
    unfold(desk, "Leaves a class")
    select(desk, "Leave the class", "Class", "Blue")
    press(desk, "Leave the class")
    assert groups_of(child) == {"Red"}
    # Found without the signs that nobody has on a keyboard.
    desk.goto("/children")
    write(desk, "Any part of a name", "dorde kov")
    desk.get_by_role("button", name="Look for", exact=True).click()
    follow(desk, "Đorđe Kovač")
    unfold(desk, "leaves the studio")
    press(desk, "Leave the studio")
    child.refresh_from_db()
    assert child.left_on is not None
    tick(desk, "Red")
    press(desk, "Comes back")
    child.refresh_from_db()
    assert child.left_on is None
    assert groups_of(child) == {"Red"}


def test_two_records_of_one_child_are_merged_and_taken_apart_again(desk: Page, cast: Cast) -> None:
    add_child(desk, "Anneliese Brandt", "2016-04", "Blue", "Karin Brandt")
    add_child(desk, "Brandt Anneliese", "2016-05", "Red", "Karin Brandt")
    desk.goto("/desk")
    follow(desk, "Likely doubles")
    go_on(desk, desk.get_by_role("link", name=re.compile("^Look at .*Brandt")).first)
    press(desk, "They are one child")
    assert Merge.objects.get().undone_at is None
    desk.goto("/doubles")
    go_on(desk, desk.get_by_role("button", name=re.compile("^Two children again")))
    assert Merge.objects.get().undone_at is not None


def test_a_family_says_no_and_the_child_s_letters_have_a_language(desk: Page, cast: Cast) -> None:
    desk.goto(f"/children/{cast.mai.uuid}")
    desk.locator("details", has=desk.get_by_label("no", exact=True)).locator("summary").click()
    desk.get_by_label("no", exact=True).check()
    write(desk, "Which guardian", "Linh Tran")
    go_on(desk, desk.locator("#consent ~ details form button[type=submit]").first)
    expect(desk.get_by_text("Hands-on spotting: no.").first).to_be_visible()
    assert cast.mai.spotting_consents.filter(yes=False, guardian="Linh Tran").exists()
    desk.goto(f"/children/{cast.mai.uuid}/facts")
    desk.get_by_label("Language of letters", exact=True).select_option("en")
    press(desk, "Keep")
    cast.mai.refresh_from_db()
    assert cast.mai.letter_language == "en"


def test_a_coach_comes_forgets_the_password_and_leaves(
    desk: Page, cast: Cast, browser: Browser, home: str
) -> None:
    follow(desk, "Staff")
    follow(desk, "Invite somebody")
    write(desk, "First name", "Ebba")
    write(desk, "Family name", "Lunde")
    write(desk, "Sign-in name", "ebba")
    desk.get_by_label("Role", exact=True).select_option("coach")
    tick(desk, "Mill hall")
    tick(desk, "Blue")
    press(desk, "Make the account")
    ebba = Staff.objects.get(username="ebba")
    for password in ("a long first password", "another long password"):
        desk.goto(f"/staff/{ebba.uuid}")
        press(desk, "Make a link")
        choose_password(browser, desk.get_by_label("The link").input_value(), home, password)
    assert set(ebba.classes.values_list("name", flat=True)) == {"Blue"}
    desk.goto("/staff")
    unfold(desk, "Ebba Lunde leaves")
    go_on(desk, desk.get_by_role("button", name=re.compile("^End the access of Ebba")))
    ebba.refresh_from_db()
    assert ebba.left_on is not None


def choose_password(browser: Browser, link: str, home: str, password: str) -> None:
    """In the coach's own browser; and signs in with it."""
    own = browser.new_context(base_url=home)
    page = own.new_page()
    page.goto(link)
    for box in page.locator("input[type=password]").all():
        box.fill(password)
    press(page, "Keep this password")
    if "sign-in" in page.url:
        page.locator("[name=username]").fill("ebba")
        page.locator("[name=password]").fill(password)
        go_on(page, page.locator("main button[type=submit]").first)
    page.goto("/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Tonight")
    own.close()


def test_a_class_is_made_and_moves_to_another_day_and_another_hall(
    desk: Page, cast: Cast, today: datetime.date
) -> None:
    follow(desk, "Classes")
    follow(desk, "Add a class")
    write(desk, "Name of the class", "Green")
    desk.get_by_label("Hall", exact=True).select_option(label="Mill hall")
    desk.get_by_label("Day", exact=True).select_option("0")
    write(desk, "Begins at", "16:30")
    tick(desk, "Omar")
    press(desk, "Add the class")
    green = ClassGroup.objects.get(name="Green")
    desk.goto(f"/classes/{green.uuid}/plan")
    later = today + 21 * DAY
    write_in(desk, "Move the class", "From this day on", later.isoformat())
    select(desk, "Move the class", "Hall", "Quay hall")
    select(desk, "Move the class", "Day", "Thursday")
    press(desk, "Move the class")
    days = [each.day for each in evenings([green], today, later + 28 * DAY)]
    assert {day.weekday() for day in days if day < later} == {0}
    assert {day.weekday() for day in days if day >= later} == {3}


def test_one_evening_is_moved_another_cancelled_a_third_is_a_holiday(
    desk: Page, cast: Cast, today: datetime.date
) -> None:
    coming = evenings([cast.blue], today + DAY, today + 28 * DAY)
    first, second, third = [each.day for each in coming][:3]
    desk.goto(f"/classes/{cast.blue.uuid}/evenings/{first}")
    write_in(desk, "Move the evening", "On", (first + DAY).isoformat())
    press(desk, "Move the evening")
    assert Meeting.objects.filter(group=cast.blue, date=first + DAY).exists()
    desk.goto(f"/classes/{cast.blue.uuid}/evenings/{second}")
    press(desk, "Cancel this evening")
    desk.goto("/classes")
    select(desk, "Add the holiday", "Hall", "Mill hall")
    write(desk, "What it is called", "Half-term")
    write(desk, "First day", third.isoformat())
    write(desk, "Last day", third.isoformat())
    press(desk, "Add the holiday")
    states = {each.day: each.state for each in evenings([cast.blue], today + DAY, today + 28 * DAY)}
    assert (states[second], states[third]) == ("cancelled", "holiday")


def test_somebody_stands_in_and_a_child_makes_up(
    desk: Page, cast: Cast, today: datetime.date
) -> None:
    evening = next(iter(evenings([cast.blue], today + DAY, today + 14 * DAY)))
    desk.goto(f"/classes/{cast.blue.uuid}/evenings/{evening.day}")
    tick(desk, "Ines")
    press(desk, "Keep who stands in")
    select(desk, "Add to this evening", "Child", "Rosa Vidal")
    tick(desk, "To make up")
    press(desk, "Add to this evening")
    meeting = Meeting.objects.get(group=cast.blue, planned_date=evening.day)
    assert cast.ines in meeting.staff.all()
    expect(desk.get_by_text("makes up").first).to_be_visible()


def test_thirty_newcomers_are_placed(desk: Page, cast: Cast) -> None:
    for n in range(30):
        make_child(f"New {n:02} Comer", cast.blue)
    follow(desk, "Newcomers")
    for box in desk.locator("select[name^=stage-]").all():
        if "Comer" in str(box.get_attribute("aria-label")):
            box.select_option("2")
    desk.get_by_label("Surface they were seen on").select_option(index=1)
    write(desk, "What you saw, and when", "Seen by me at the open evening.")
    press(desk, "Place them")
    expect(desk.get_by_text("30 children are placed.")).to_be_visible()
    assert Placing.objects.count() == 30
