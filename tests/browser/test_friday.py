"""A director's Friday from the desk to the hall and back, in one day and with one cast: what is
decided at noon is met on the floor in the evening, and what happens there is on paper at night."""

import io
import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from progression.models import Attempt
from readiness.models import (
    Decision,
    Fell,
    HeadKnock,
    HourChild,
    IncidentAccount,
    Pain,
    ShowEntry,
    StepGiven,
    Told,
    Wings,
)
from readiness.record.standings import read
from studio.models import Child, Staff
from tests.support.browser.activity import settle
from tests.support.browser.desk_taps import (
    field,
    follow,
    form_of,
    go_on,
    press,
    select,
    unfold,
    write,
)
from tests.support.browser.floor_taps import SignIn, all_sent, choose, clean, not_clean, tile
from tests.support.browser.friday import Friday, make_friday
from tests.support.browser.people import open_browser, sign_in_without_form
from tests.support.cast import Cast, Logged
from tests.support.ready import MAT, WEEK

DAY = WEEK / 7
Kind = Decision.Kind
Another = Callable[[Staff], Page]


@pytest.fixture
def friday(cast: Cast, log: Logged) -> Friday:
    return make_friday(cast, log)


@pytest.fixture
def desk(page: Page, signed_in: SignIn, cast: Cast) -> Page:
    """Petra's."""
    signed_in(cast.petra)
    return page


@pytest.fixture
def another(browser: Browser, home: str, page: Page) -> Iterator[Another]:
    """Somebody else's browser."""
    opened = []

    def open_for(staff: Staff) -> Page:
        opened.append(open_browser(browser, home))
        sign_in_without_form(opened[-1], home, staff)
        return opened[-1].new_page()

    yield open_for
    for each in opened:
        each.close()


def test_a_directors_friday(desk: Page, another: Another, friday: Friday) -> None:
    send_back_and_sign(desk, friday)
    meet_a_stale_page(desk, another(friday.cast.luis), friday)
    write_down_a_head_knock(desk, friday)
    plan_the_hour(desk, friday)
    tablet = another(friday.cast.omar)
    meet_the_pause_on_the_floor(tablet, friday)
    have_a_near_miss_and_a_fall(tablet, friday)
    grade_the_hour(tablet, friday)
    recommend_for_the_show(tablet, friday)
    write_what_happened(desk, friday)
    sign_the_show_list(desk, friday)
    sign_the_september_sheet(desk, friday)
    end_the_day(desk, friday)


def send_back_and_sign(desk: Page, friday: Friday) -> None:
    """Ilse, the first in the queue, is sent back; Mai, the next, is signed."""
    cast = friday.cast
    desk.goto("/review")
    expect(desk.locator(".lead")).to_have_text("Three children wait for you.")
    ilse = desk.locator("#decide li").filter(has_text="Ilse")
    go_on(desk, ilse.get_by_role("link", name="Back walkover, unspotted"))
    write(form_of(desk, "Send back"), "Reason", "The bridge is not calm yet.")
    desk.get_by_role("button", name="Send back", exact=True).click()
    expect(desk.locator("#decide")).to_contain_text("The bridge is not calm yet.")
    answer = Decision.objects.get(kind=Kind.SEND_BACK)
    assert (answer.child, answer.by, answer.answers.by) == (cast.ilse, cast.petra, cast.omar)
    assert stage(cast.ilse, friday).state != "open"

    follow(desk, "Next child")
    expect(desk.get_by_role("heading", level=1)).to_have_text("Mai")
    # A decision is waited for: "Next child" has led to the evidence itself.
    expect(desk).to_have_url(re.compile("/evidence/4$"))
    write(desk, "I saw it on", f"{friday.last_class}")
    desk.get_by_role("button", name="Sign", exact=True).click()
    expect(desk.locator("#decide")).to_contain_text("if nothing more comes in: open, on Mat")
    signed = Decision.objects.get(kind=Kind.SIGN, child=cast.mai)
    assert (signed.by, signed.answers.by) == (cast.petra, cast.omar)
    assert (signed.surface.key, signed.seen_on) == (MAT, friday.last_class)
    assert stage(cast.mai, friday, later=1).state == "open"


def meet_a_stale_page(desk: Page, luis: Page, friday: Friday) -> None:
    """Both directors read about Noor; Luis signs first."""
    follow(desk, "Next child")
    expect(desk.get_by_role("heading", level=1)).to_have_text("Noor")
    luis.goto(desk.url)
    for page in (luis, desk):
        write(page, "I saw it on", f"{friday.last_class}")
        page.get_by_role("button", name="Sign", exact=True).click()
        expect(page.locator("#decide")).to_contain_text("if nothing more comes in: open, on Mat")
    told = desk.get_by_role("alert")
    expect(told).to_contain_text("Already decided by Luis at")
    expect(told).to_contain_text("Nothing was changed.")
    signed = Decision.objects.get(kind=Kind.SIGN, child=friday.noor)
    assert signed.by == friday.cast.luis


def write_down_a_head_knock(desk: Page, friday: Friday) -> None:
    """Juno's mother rings: it was at school."""
    juno = friday.juno
    follow(desk, "Review")
    write(desk, "Name", "juno")
    press(desk, "Find")
    follow(desk, "Juno")
    follow(desk, "A knock on the head")
    write(desk, "Day of the knock", f"{friday.today}")
    desk.get_by_label("It happened elsewhere").check()
    press(desk, "Write it down")
    expect(desk.locator("main")).to_contain_text("no step given yet. Nothing on the mats.")
    knock = HeadKnock.objects.get()
    assert (knock.child, knock.on, knock.elsewhere) == (juno, friday.today, True)
    reading = read(juno, friday.today).read
    assert (reading.is_held, reading.head_step) == (True, 0)
    # "She says it is nothing": not on the day itself.
    expect(desk.get_by_role("button", name="Give this step", exact=True)).to_be_disabled()
    expect(desk.locator("#not-yet")).to_contain_text("Not before ")
    assert not StepGiven.objects.exists()
    desk.goto("/review")
    expect(desk.locator("#paused")).to_contain_text("Juno")


def plan_the_hour(desk: Page, friday: Friday) -> None:
    """Elin lacks only turns; she is asked for six tonight."""
    desk.goto("/desk")
    follow(desk, "Evidence hour")
    rows = desk.locator("tbody tr")
    expect(rows).to_have_count(1)
    expect(rows).to_contain_text(re.compile(r"Elin.*\d+ %", re.DOTALL))
    rows.get_by_role("checkbox").check()
    select(desk, "Plan the hour", "First grader", "Omar")
    select(desk, "Plan the hour", "Second grader", "Ola")
    press(desk, "Plan the hour")
    expect(desk.locator("main")).to_contain_text("The hour is planned for 1 child.")
    row = HourChild.objects.get()
    assert (row.child, row.first, row.second) == (friday.elin, friday.cast.omar, friday.ola)
    assert (row.meeting.group, row.meeting.date) == (friday.cast.blue, friday.today)
    go_on(desk, desk.locator("main").get_by_role("link", name="Blue,"))
    printed = paper(desk)
    for text in ("Omar", "Ola", "Elin", "Back walkover"):
        assert text in printed
    assert "%" not in printed


def meet_the_pause_on_the_floor(tablet: Page, friday: Friday) -> None:
    tablet.goto("/")
    tablet.get_by_role("button", name="Open the floor").first.click()
    expect(tablet.locator("#before-list")).to_contain_text("Juno")
    tablet.get_by_role("button", name="On to who is here").click()
    tablet.get_by_role("button", name="Everybody").click()
    tablet.get_by_role("button", name="On to 8 children").click()
    choose(tablet, "#surface", "mat on sprung dance floor")
    choose(tablet, "#all-drills", "Back walkover")
    expect(tile(tablet, "Juno")).to_contain_text("after a head knock")
    expect(tile(tablet, "Juno")).to_contain_text("not now")
    clean(tablet, "Juno").tap()
    sheet = tablet.locator("#sheet")
    expect(sheet).to_contain_text("Not this drill, not now.")
    expect(sheet).to_contain_text("Juno is on the way back after a head knock: not this yet.")
    tablet.locator("#sheet-close").tap()
    settle(tablet)
    all_sent(tablet)
    assert not Attempt.objects.filter(child=friday.juno, day=friday.today).exists()


def have_a_near_miss_and_a_fall(tablet: Page, friday: Friday) -> None:
    """Ilse is caught; Runa falls on a wrist, and her father is told at the door."""
    not_clean(tablet, "Ilse").tap()
    tablet.get_by_role("button", name="Caught or lifted by the spotter").tap()
    tablet.locator("#faults").get_by_role("button", name="Done").tap()
    settle(tablet)
    tablet.locator("#fall").tap()
    sheet = tablet.locator("#sheet")
    sheet.get_by_role("button", name="Runa", exact=True).tap()
    settle(tablet)
    sheet.get_by_role("button", name="Fell: write it down").tap()
    expect(sheet).to_contain_text("Written down: Runa fell,")
    settle(tablet)
    sheet.get_by_role("button", name="a parent or guardian, here").tap()
    expect(sheet).to_contain_text("a fall: a parent or guardian, here")
    settle(tablet)
    # Whose it is, is known here.
    sheet.get_by_role("button", name="Something hurts").tap()
    expect(sheet.get_by_role("button", name="Runa", pressed=True)).to_be_visible()
    settle(tablet)
    sheet.get_by_role("button", name="Wrist", exact=True).tap()
    expect(sheet).to_contain_text("Runa")
    settle(tablet)
    tablet.locator("#sheet-close").tap()
    all_sent(tablet)
    caught = Attempt.objects.get(child=friday.cast.ilse, day=friday.today)
    assert (caught.caught, caught.clean) == (True, False)
    assert Fell.objects.get().child == friday.runa
    assert (Pain.objects.get().child, Pain.objects.get().place) == (friday.runa, "wrist")
    assert (Told.objects.get().child, Told.objects.get().whom) == (friday.runa, "guardian-here")


def grade_the_hour(tablet: Page, friday: Friday) -> None:
    """Omar writes what he saw, on a sheet that shows him no chance and no gate."""
    tablet.goto("/review")
    go_on(tablet, tablet.get_by_role("link", name="Your sheet of the evidence hour: Blue"))
    main = tablet.locator("main")
    expect(main).to_contain_text("Elin")
    for hidden in ("%", "chance", "gate", "sure"):
        expect(main).not_to_contain_text(hidden)
    for turn, seen in (("Turn 1", "yes"), ("Turn 2", "yes"), ("Turn 3", "no")):
        field(tablet, turn).select_option(seen)
    press(tablet, "Log what I saw")
    expect(main).to_contain_text("3 turns are logged.")
    turns = Attempt.objects.filter(child=friday.elin, day=friday.today).order_by("done_at")
    assert [(turn.author, turn.clean, turn.support) for turn in turns] == [
        (friday.cast.omar, clean, 1) for clean in (True, True, False)
    ]


def recommend_for_the_show(tablet: Page, friday: Friday) -> None:
    tablet.goto("/")
    follow(tablet, "Shows")
    follow(tablet, "Lanterns")
    dara = tablet.locator("tbody tr").filter(has_text="The turns for a yes are there.")
    expect(dara).to_have_count(1)
    follow(tablet, "Dara")
    press(tablet, "Recommend a yes")
    asked = ShowEntry.objects.get(child=friday.dara)
    assert (asked.kind, asked.by) == (ShowEntry.Kind.RECOMMEND, friday.cast.omar)


def write_what_happened(desk: Page, friday: Friday) -> None:
    """Within the day, of what the floor tapped: it has filled in what it knows."""
    desk.goto("/desk")
    follow(desk, "What happened")
    waiting = desk.locator("#waiting")
    expect(waiting).to_contain_text("2 are not written down yet")
    go_on(desk, waiting.get_by_role("link", name="Runa Weir"))
    expect(desk.locator("#sheet")).to_contain_text("a parent or guardian, here")
    expect(field(desk, "What it was")).to_have_value("fall")
    expect(field(desk, "What hurts, or was hit")).to_have_value("wrist")
    write(desk, "Mats, and what lay or stood around", "two mats, no gap")
    write(desk, "What happened", "Her left foot slid at the landing.")
    write(desk, "First aid, and by whom", "a cold pack, by Omar")
    press(desk, "Write it down")
    expect(desk.locator("#sheet")).to_contain_text("Written down by Petra")
    fell = IncidentAccount.objects.get()
    assert (fell.child, fell.kind, fell.hurt, fell.by) == (
        friday.runa, "fall", "wrist", friday.cast.petra,
    )  # fmt: skip
    assert fell.start == Fell.objects.get().pk
    printed = paper(desk, pages=1)
    for text in ("Her left foot slid", "a cold pack", "a parent or guardian, here", "Runa Weir"):
        assert text in printed
    assert "Write it again" not in printed

    follow(desk, "By month")
    expect(waiting).to_contain_text("1 is not written down yet")
    go_on(desk, waiting.get_by_role("link", name="Ilse Brand"))
    expect(field(desk, "What it was")).to_have_value("caught")
    expect(field(desk, "At which drill")).to_have_value("back-walkover")
    write(desk, "What happened", "Her arms gave at the top, Omar lifted her over.")
    press(desk, "Write it down")
    near = IncidentAccount.objects.get(kind="caught")
    assert (near.child, near.drill.key, near.hurt) == (friday.cast.ilse, "back-walkover", "")
    follow(desk, "By month")
    expect(waiting).to_have_count(0)
    expect(desk.locator("#month li")).to_have_count(2)
    expect(desk.locator("#rates")).to_contain_text("too few to say")


def sign_the_show_list(desk: Page, friday: Friday) -> None:
    """The second person signs Dara's yes; Juno's ended with the knock."""
    desk.goto("/desk")
    follow(desk, "Shows")
    follow(desk, "Lanterns")
    dara, juno = (desk.locator("tbody tr").filter(has_text=name) for name in ("Dara", "Juno"))
    expect(juno).to_contain_text("The yes is void: a pause since.")
    expect(dara).to_contain_text("Omar recommends a yes; somebody else signs.")
    follow(desk, "Dara")
    expect(desk.locator("main")).to_contain_text("6 clean turns of 6")
    press(desk, "Sign the yes")
    yes = ShowEntry.objects.filter(kind=ShowEntry.Kind.YES).latest("at", "pk")
    assert (yes.child, yes.by, yes.answers.by) == (
        friday.dara, friday.cast.petra, friday.cast.omar,
    )  # fmt: skip
    unfold(desk, "A run-through, the wings")
    select(desk, "Name for the wings", "In the wings", "Ines")
    press(desk, "Name for the wings")
    assert Wings.objects.get().adult == friday.cast.ines
    printed = paper(desk, pages=1)
    assert "in the wings: Ines" in printed
    assert "Dara Yes Elin Easy version" in printed
    assert "Juno Easy version" in printed
    # Why, is not for everybody who reads the list.
    assert "void" not in printed


def sign_the_september_sheet(desk: Page, friday: Friday) -> None:
    """Saga is back after the summer; Omar saw her last step last week."""
    desk.goto("/desk")
    follow(desk, "September sheet")
    rows = desk.locator("tbody tr")
    expect(rows).to_have_count(1)
    expect(rows).to_contain_text("Saga")
    # Where the form is on the page there is room to write on the sheet.
    assert "Saga Back walkover unspotted …" in paper(desk, pages=1)
    write(rows, "Who saw it", "Omar")
    write(rows, "When", f"{friday.last_class}")
    go_on(desk, rows.get_by_role("button", name="Sign: Saga"))
    step = Decision.objects.filter(kind=Kind.STEP).latest("at", "pk")
    assert (step.child, step.support, step.by) == (friday.saga, 0, friday.cast.petra)
    assert step.reason.startswith("Seen by Omar on")
    assert stage(friday.saga, friday, later=1).state == "open"
    assert read(friday.saga, friday.today + DAY).read.ways_back == ()
    assert "Signed lately Saga unspotted Seen by Omar on" in paper(desk, pages=1)


def end_the_day(desk: Page, friday: Friday) -> None:
    """The review says what is true this evening, on paper too, where nothing is folded."""
    desk.goto("/review")
    expect(desk.locator("#decide")).to_have_count(0)
    for section, name, says in (
        ("re-check", "Ilse", "A stop sign on"),
        ("paused", "Juno", "After a head knock: no step given yet."),
        ("hurts", "Runa", "Hurts today: Wrist"),
        ("re-check", "Saga", "Given today: unspotted from tomorrow"),
    ):
        row = desk.locator(f"#{section} li").filter(has_text=name)
        expect(row).to_contain_text(says)
    printed = paper(desk)
    for text in ("Stop signs: 1 entry", "caught by the spotter", "Elin", "not yet seen by two"):
        assert text in printed
    assert "Find" not in printed


def paper(desk: Page, pages: int | None = None) -> str:
    """What the printer puts on so many pages, in words; what is for the screen is not there."""
    printed = PdfReader(io.BytesIO(desk.pdf(format="A4"))).pages
    assert pages in (None, len(printed))
    text = " ".join(" ".join(page.extract_text() for page in printed).split())
    assert "Lantern Yard" in text
    for screen in ("Sign out", "Print", "Skip to"):
        assert screen not in text
    return text


def stage(child: Child, friday: Friday, later: int = 0):
    """Of the unspotted walkover, so many days later."""
    return read(Child.objects.get(pk=child.pk), friday.today + later * DAY).read.stage("4")
