"""A studio of two halls, set up as a new director would: from its first page on, by pages alone."""

import io
from pathlib import Path

import pytest
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from studio.models import Child, ClassGroup, Location, Staff, Tablet
from tests.support.browser.desk_taps import field, follow, form_of, press, tick, write

PASSWORD = "fifteen letters or more"
GIVEN = [
    *(
        "Amaya",
        "Bettina",
        "Cosima",
        "Đorđe",
        "Elodie",
        "Fenna",
        "Gwen",
        "Hanneke",
        "Imani",
        "Júnia",
    ),
    *("Keziah", "Linh", "Maren", "Noor", "Oriane", "Petronella", "Quilla", "Runa", "Sunniva"),
    *("Thandi", "Ulla", "Vesna", "Wilhelmina", "Xenia", "Yuki", "Zora", "Ada", "Bo", "Łucja"),
    *("Ola", "Sol", "Pia", "Rio", "Kit", "Ivy", "Jo", "Ana", "Una"),
]
FAMILY = ["Reis", "Lund", "van Dorn", "Petrović", "Ruiz", "Bakker", "Ash"]
BORN = ["2016-03", "03/2015", "2014", "2017-11", "5.2013"]
GROUPS = ["blue", "Blue ", "GREEN", "red"]
HANDS = ["ja", "nee", "yes", "", "no"]


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """Forty lines with headings of its own: one child twice, one with the names turned about."""
    lines = ["Child ;BORN;Group;Mum or dad;Phone;hands"]
    for n, given in enumerate(GIVEN):
        name = f"{given} {FAMILY[n % 7]}"
        lines.append(
            f"{name};{BORN[n % 5]};{GROUPS[n % 4]};Sam {FAMILY[n % 7]};0600 {n:04};{HANDS[n % 5]}"
        )
    lines += [lines[4], "Lund Bettina;2015;blue;Sam Lund;;", ";;;;;"]
    file = tmp_path / "our children.csv"
    file.write_text("\n".join(lines), encoding="utf-8")
    return file


@pytest.fixture
def director(page: Page, monkeypatch: pytest.MonkeyPatch) -> Page:
    """Who has just run ``begin`` at the server, and opens the program in a browser."""
    monkeypatch.setenv("FIRST_PASSWORD", PASSWORD)
    monkeypatch.setenv("SECRET_KEY", "a key for these tests")
    said = {"studio": "Willow Yard", "location": "Mill hall", "zone": "Europe/Lisbon"}
    who = {"username": "ada", "name": "Ada Brook", "password_from_env": "FIRST_PASSWORD"}
    call_command("begin", address="", emergency="", stdout=io.StringIO(), **said, **who)
    page.goto("/")
    sign_in(page, "ada", PASSWORD)
    return page


def sign_in(page: Page, name: str, password: str) -> None:
    write(page, "Sign-in name", name)
    write(page, "Password", password)
    press(page, "Sign in")


def next_step(page: Page, done: int) -> None:
    """On to the desk, which says how far it is, and to the step that comes next."""
    follow(page, "Desk")
    expect(page.get_by_text(f"{done} of 8 steps are done.")).to_be_visible()
    link = page.locator("li[aria-current=step] a")
    with page.expect_navigation():
        link.click()


def enter_halls(page: Page) -> None:
    card = form_of(page, "Mill hall: all of it is right")
    write(card, "Emergency number", "112")
    write(card, "Address", "4 Weir Lane")
    press(page, "Mill hall: all of it is right")
    write(page, "Name of the hall", "Quay hall")
    expect(field(page, "Time zone")).to_have_value("Europe/Lisbon")
    press(page, "Add the hall")
    card = form_of(page, "Quay hall: all of it is right")
    write(card, "Emergency number", "112")
    write(card, "Address", "1 Quay")
    press(page, "Quay hall: all of it is right")
    expect(page.get_by_text("is missing")).to_have_count(0)


def add_class(page: Page, name: str, hall: str, day: str) -> None:
    page.goto("/classes")
    follow(page, "Add a class")
    write(page, "Name of the class", name)
    field(page, "Hall").select_option(label=hall)
    field(page, "Day").select_option(label=day)
    write(page, "Begins at", "17:30")
    press(page, "Add the class")


def bring_in(page: Page, sheet: Path) -> None:
    page.set_input_files("input[type=file]", str(sheet))
    press(page, "Show what would change")
    # What is not read is asked about where nobody has to look for it.
    field(page, "Mum or dad").select_option(label="guardian")
    page.get_by_role("button", name="Read it this way").click()
    expect(page.get_by_text("Sam Lund").first).to_be_visible()
    expect(page.get_by_text("2 lines are asked about")).to_be_visible()
    twice = page.get_by_role("group", name="Đorđe Petrović")
    twice.get_by_label("The same child as on line 5").check()
    turned = page.get_by_role("group", name="Lund Bettina")
    turned.get_by_label("The same child as on line 3").check()
    press(page, "Use these answers")
    expect(page.get_by_text("Every question is answered.")).to_be_visible()
    press(page, "Bring in")
    expect(page.get_by_text("Stored: 38 new children")).to_be_visible()
    follow(page, "Look at the children")


def invite(page: Page, first: str, role: str, ticked: list[str]) -> str:
    """Their link to choose a password."""
    page.goto("/staff")
    follow(page, "Invite somebody")
    write(page, "First name", first)
    write(page, "Sign-in name", first.lower())
    field(page, "Role").select_option(label=role)
    for name in ticked:
        tick(page, name)
    press(page, "Make the account")
    press(page, "Make a link")
    return page.get_by_label("The link").input_value()


def choose_password(browser: Browser, link: str, name: str) -> None:
    """At their own device, by the link that was handed over; then their PIN."""
    own = browser.new_page()
    own.goto(link)
    write(own, "New password", "three blue lanterns")
    write(own, "The same again", "three blue lanterns")
    press(own, "Keep this password")
    sign_in(own, name, "three blue lanterns")
    follow(own, "Your PIN")
    write(own, "Your password", "three blue lanterns")
    write(own, "New PIN", "480913")
    write(own, "The same PIN again", "480913")
    press(own, "Set the PIN")
    own.close()


def answer_for_hands(page: Page) -> None:
    page.get_by_role("button", name="Mark yes for all").click()
    page.get_by_role("row", name="Bo Ash").get_by_label("no", exact=True).check()
    press(page, "Keep these answers")


def place_two(page: Page) -> None:
    field(page, "Surface they were seen on").select_option(index=1)
    write(page, "What you saw, and when", "Trial lesson, 27 November")
    for name in ("Amaya Reis", "Gwen Ash"):
        page.get_by_role("row", name=name).get_by_role("combobox").select_option(index=1)
    press(page, "Place them")


def open_the_floor(page: Page) -> None:
    page.goto("/")
    with page.expect_navigation():
        page.get_by_role("button", name="Open the floor", exact=True).first.click()
    expect(page.get_by_role("button", name="On to who is here")).to_be_visible()


def test_a_new_studio_of_two_halls_goes_through_all_eight_steps(
    director: Page, sheet: Path, browser: Browser
) -> None:
    expect(director.get_by_text("Do you know of it?")).to_have_count(0)
    next_step(director, 0)
    enter_halls(director)
    next_step(director, 1)
    today = f"{Location.objects.get(name='Mill hall').day_of(timezone.now()):%A}"
    for name, hall in (("Blue", "Mill hall"), ("Green", "Mill hall"), ("Red", "Quay hall")):
        add_class(director, name, hall, today)
    next_step(director, 2)
    bring_in(director, sheet)
    next_step(director, 3)
    link = invite(director, "Omar", "coach", ["Mill hall", "Blue (Mill hall)"])
    choose_password(browser, link, "omar")
    invite(director, "Bea", "director", ["Mill hall", "Quay hall"])
    next_step(director, 4)
    answer_for_hands(director)
    next_step(director, 5)
    place_two(director)
    next_step(director, 6)
    write(director, "Name", "Mill 1")
    press(director, "Enrol this device")
    follow(director, "Desk")
    expect(director.get_by_text("7 of 8 steps are done.")).to_be_visible()
    expect(director.locator("li[aria-current=step]")).to_contain_text("The first backup")
    open_the_floor(director)
    assert (Child.objects.count(), ClassGroup.objects.count()) == (38, 3)
    assert Staff.objects.get(username="omar").check_password("three blue lanterns")
    assert Tablet.objects.get().location.name == "Mill hall"
