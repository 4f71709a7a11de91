"""Parts of pages that are redrawn in place: the same with and without scripts."""

import datetime
import re
from collections.abc import Callable, Iterator
from contextlib import nullcontext

import pytest
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, expect
from pypdf import PdfReader

from readiness.models import Decision
from studio.models import ImportDraft
from tests.support.browser.chromium import PATIENCE
from tests.support.cast import Cast, Logged, make_child
from tests.support.ready import place_at

WALKOVER = "4.back-walkover"
ROSTER = """Child ID;Name;Birth;Class
901;Tove Halvorsen;2016-03-09;Blue
902;Ida Brekke;2015-09-25;Blue
"""
PAPER_LOG = """date,child,drill,surface,value
2026-02-03,Mai Tran,log-roll,wedge,clean
"""
REFUSED_BY_POLICY = """addEventListener("securitypolicyviolation", (refused) =>
  console.error(`${refused.violatedDirective} refused ${refused.blockedURI}`));"""


@pytest.fixture(params=[True, False], ids=["with scripts", "without scripts"])
def scripted(request: pytest.FixtureRequest) -> bool:
    return bool(request.param)


@pytest.fixture
def context(browser: Browser, live_server, home: str, scripted: bool) -> Iterator[BrowserContext]:
    opened = browser.new_context(base_url=home, java_script_enabled=scripted)
    opened.set_default_timeout(PATIENCE)
    opened.add_init_script(REFUSED_BY_POLICY)
    yield opened
    opened.close()
    live_server.thread.httpd.get_app().wait_until_idle()


@pytest.fixture
def page(page: Page) -> Iterator[Page]:
    """A page in whose console nothing is wrong, and where the policy for content refuses
    nothing; that an answer is a 409 or 422 is wanted."""
    errors: list[str] = []

    def note(message: ConsoleMessage) -> None:
        if message.type == "error" and "status of 4" not in message.text:
            errors.append(message.text)

    page.on("console", note)
    yield page
    assert errors == []


@pytest.fixture
def expect_live(page: Page, scripted: bool) -> Callable[[str], None]:
    """The live region says this: with scripts only, as a whole page is read out anyway."""

    def expect_text(text: str) -> None:
        expect(page.locator("#live[role=status]")).to_have_text(text if scripted else "")

    return expect_text


@pytest.fixture
def loads(page: Page) -> Callable[[], int]:
    """How many times a whole page was asked for; redirects are part of the same."""
    counted: list[str] = []

    def note(request: Request) -> None:
        if request.is_navigation_request() and request.redirected_from is None:
            counted.append(request.url)

    page.on("request", note)
    return lambda: len(counted)


def test_the_review_is_filtered_the_classes_worked_out_and_back_keeps_the_filter(
    page: Page,
    signed_in,
    cast: Cast,
    scripted: bool,
    loads: Callable[[], int],
    expect_live: Callable[[str], None],
) -> None:
    signed_in(cast.petra)
    page.goto("/review/all")
    every = page.locator("#filtered tbody tr").count()
    live = page.locator("#live").element_handle()
    before = loads()
    page.get_by_label("State").select_option("paused")
    if not scripted:
        page.get_by_role("button", name="Show").click()
    expect(page.locator("#filtered")).to_contain_text("No child fits.")
    expect(page).to_have_url(re.compile("state=paused"))
    assert loads() == before + (not scripted)
    expect_live("0 children shown")
    if scripted:
        assert live.evaluate("region => region.isConnected")
    page.goto("/gates")
    before = loads()
    field = page.locator("form.filters input[inputmode]").first
    field.fill("2")
    field.press("Enter")
    expect(page).to_have_url(re.compile(r"\?.*=2"))
    expect(field).to_have_value("2")
    assert loads() == before + (not scripted)
    if scripted:
        expect(field).to_be_focused()
    # With scripts the page of before is loaded again.
    with page.expect_event("load") if scripted else nullcontext():
        page.go_back()
    expect(page).to_have_url(re.compile("/gates$"))
    page.go_back()
    expect(page.locator("#filtered")).to_contain_text("No child fits.")
    expect(page.get_by_label("State")).to_have_value("paused")
    page.get_by_role("link", name="Show all").click()
    expect(page.locator("#filtered tbody tr")).to_have_count(every)


def test_other_values_of_a_gate_are_tried_and_a_wrong_one_is_said(
    page: Page,
    signed_in,
    cast: Cast,
    scripted: bool,
    loads: Callable[[], int],
    expect_live: Callable[[str], None],
) -> None:
    signed_in(cast.petra)
    page.goto(f"/gates/{WALKOVER}")
    before = loads()
    page.get_by_label("Sure: so many per cent").fill("90")
    page.get_by_role("button", name="Try").click()
    expect(page.locator("#trial")).to_contain_text("This lets less through by luck")
    expect(page.get_by_label("Sure: so many per cent")).to_have_value("90")
    expect_live("The values were tried. Nothing is saved.")
    if scripted:
        expect(page.get_by_role("button", name="Try")).to_be_focused()
    # What was asked for is in sight.
    expect(page.get_by_role("heading", name="What these values would do")).to_be_in_viewport()
    # Refused (422) and shown: on fewer days than turns could fill.
    page.get_by_label("Clean turns", exact=True).fill("3")
    page.get_by_role("button", name="Try").click()
    expect(page.get_by_role("alert").first).to_contain_text("Nothing was tried")
    assert loads() == before + 2 * (not scripted)


def test_the_letter_follows_the_coachs_sentence(
    page: Page,
    signed_in,
    cast: Cast,
    scripted: bool,
    loads: Callable[[], int],
    expect_live: Callable[[str], None],
) -> None:
    signed_in(cast.omar)
    page.goto(f"/children/{cast.mai.uuid}/letter")
    before = loads()
    page.get_by_label("A sentence of your own").fill("Mai asked for hands, and was right to.")
    if not scripted:
        page.get_by_role("button", name="Read it below first").click()
    expect(page.locator("#letter")).to_contain_text("Mai asked for hands, and was right to.")
    if scripted:
        expect_live("The letter below is up to date.")
        expect(page.get_by_label("A sentence of your own")).to_be_focused()
    assert loads() == before + (not scripted)


def test_a_sentence_of_a_letter_opens_what_it_rests_on(
    page: Page,
    signed_in,
    cast: Cast,
    log: Logged,
    scripted: bool,
    loads: Callable[[], int],
    expect_live: Callable[[str], None],
) -> None:
    log(
        cast.mai,
        "safe-fall",
        "101",
        day=timezone.now().date() - datetime.timedelta(days=1),
        support=0,
    )
    signed_in(cast.omar)
    page.goto(f"/children/{cast.mai.uuid}/letter")
    before = loads()
    worked = page.locator("details.rests-on", has_text="In the last four weeks Mai worked on this:")
    worked.locator("summary").first.click()
    if not scripted:
        worked.get_by_role("link", name="What it rests on").click()
    expect(page.locator(".rests-on-rows", has_text="3 turns")).to_be_visible()
    expect_live("What the sentence rests on stands below it.")
    assert loads() == before + (not scripted)
    if scripted:
        rule = page.locator("details.rests-on", has_text="Only these shapes, please")
        rule.locator("summary").click()
        expect(rule).to_contain_text("it rests on no turn")


def test_letters_printed_together_go_on_by_themselves(
    page: Page, signed_in, cast: Cast, scripted: bool
) -> None:
    for number in range(9):
        make_child(f"Child {number}", cast.blue)
    signed_in(cast.omar)
    page.goto(f"/letters/classes/{cast.blue.uuid}")
    page.get_by_role("button", name="Keep, and print the ticked ones").click()
    if not scripted:
        for done in (0, 8):
            expect(page.locator("#run")).to_contain_text(f"{done} of 11")
            page.get_by_role("button", name="Print the next ones").click()
    expect(page.locator("#run")).to_contain_text("11 letters are printed and kept.")
    with page.expect_download() as download:
        page.get_by_role("link", name="All in one file, to print").click()
    assert len(PdfReader(download.value.path()).outline) == 11


def test_a_file_is_read_another_way(
    page: Page,
    signed_in,
    cast: Cast,
    scripted: bool,
    loads: Callable[[], int],
    expect_live: Callable[[str], None],
) -> None:
    signed_in(cast.petra)
    for address, content, shown in (
        ("/roster", ROSTER, "Ida Brekke"),
        ("/paper", PAPER_LOG, "Mai Tran"),
    ):
        page.goto(address)
        file = {"name": "list.csv", "mimeType": "text/csv", "buffer": content.encode()}
        page.locator("input[type=file]").set_input_files(file)
        page.locator("form[enctype] button[type=submit]").click()
        expect(page.get_by_role("heading", name="How the file is read")).to_be_visible()
        before = loads()
        page.locator("select[name=encoding]").select_option("windows-1252")
        with page.expect_response(re.compile("/options$")):
            page.get_by_role("button", name="Read it this way").click()
        expect_live("The file was read again.")
        expect(page.locator("select[name=encoding]")).to_have_value("windows-1252")
        expect(page.locator("main")).to_contain_text(shown)
        assert ImportDraft.objects.latest("created_at").options["encoding"] == "windows-1252"
        assert loads() == before + (not scripted)


@pytest.fixture
def for_review(cast: Cast, log: Logged) -> None:
    """Mai meets every gate of the unspotted walkover."""
    today = cast.hall.day_of(timezone.now())
    place_at(cast, cast.mai, 3, today - datetime.timedelta(days=60))
    for days in (24, 17, 10, 3):
        day = today - datetime.timedelta(days=days)
        log(cast.mai, "back-walkover", "11111", day=day, support=1)
        log(cast.mai, "bridge-line", [2.0, 2.0], day=day)
    day = today - datetime.timedelta(days=3)
    log(cast.mai, "back-walkover", "11", day=day, support=1, by=cast.luis)


def test_a_decision_is_made_and_one_that_comes_too_late_is_said(
    page: Page,
    signed_in,
    cast: Cast,
    for_review: None,
    scripted: bool,
    loads: Callable[[], int],
) -> None:
    signed_in(cast.omar)
    page.goto(f"/children/{cast.mai.uuid}/evidence/4")
    stale = page.context.new_page()
    stale.goto(f"/children/{cast.mai.uuid}/evidence/4")
    before = loads()
    page.get_by_role("button", name="Recommend").click()
    expect(page.locator("#decide")).to_contain_text("recommended this on")
    assert Decision.objects.get().kind == "recommend"
    if scripted:
        expect(page.get_by_role("heading", level=1)).to_be_focused()
        expect(page.locator("#live")).not_to_be_empty()
    assert loads() == before + (not scripted)
    stale.get_by_role("button", name="Recommend").click()
    expect(stale.get_by_role("alert").first).to_contain_text("Already decided by")
    assert Decision.objects.count() == 1


def test_a_page_that_may_not_be_seen_is_refused_in_part_as_well(client: Client, cast: Cast) -> None:
    client.force_login(cast.tam)
    for address in ("/review/all", "/gates", f"/children/{cast.mai.uuid}/letter", "/roster"):
        whole, part = client.get(address), client.get(address, headers={"HX-Request": "true"})
        assert whole.status_code == part.status_code == 403, address
