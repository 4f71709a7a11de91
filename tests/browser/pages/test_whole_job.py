"""The main job, end to end: a class on the floor, a recommendation, a signature, a letter."""

import datetime
import re

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from progression.models import Attempt, LadderVersion, Surface
from readiness.models import Decision, Placing
from readiness.record.standings import read
from tests.support.browser.activity import settle
from tests.support.browser.floor_taps import all_sent, choose, tile
from tests.support.cast import Cast, Logged

MAT = "sprung-dance-floor"
PASSWORD = "a long enough word"


@pytest.fixture
def nearly_there(cast: Cast, log: Logged) -> datetime.date:
    """Mai lacks one clean day at standing by for the unspotted walkover; answers today."""
    today = cast.hall.day_of(timezone.now())

    def ago(days: int) -> datetime.date:
        return today - datetime.timedelta(days=days)

    def noon(day: datetime.date) -> datetime.datetime:
        return datetime.datetime.combine(day, datetime.time(12), datetime.UTC)

    version = LadderVersion.objects.get()
    Placing.objects.create(
        child=cast.mai,
        stage=3,
        surface=Surface.objects.get(key=MAT),
        reason="seen on the first day",
        by=cast.luis,
        at=noon(ago(60)),
        day=ago(60),
        ladder=version,
    )
    for days in (35, 28, 24, 21):
        log(cast.mai, "back-walkover", "1111", day=ago(days), support=2)
    Decision.objects.create(
        child=cast.mai,
        kind=Decision.Kind.STEP,
        stage="3",
        drill_id=Attempt.objects.filter(drill__key="back-walkover")[0].drill_id,
        support=1,
        by=cast.omar,
        as_director=False,
        at=noon(ago(21)),
        day=ago(21),
        ladder=version,
        reading={},
        digest="",
    )
    for days in (14, 10, 7):
        log(cast.mai, "back-walkover", "1111", day=ago(days), support=1)
        log(cast.mai, "back-walkover", "111", day=ago(days), support=1, by=cast.luis)
    for days in (14, 7):
        log(cast.mai, "bridge-line", [2.0, 2.0], day=ago(days))
    return today


def sign_in(page: Page, username: str) -> None:
    page.goto("/")
    page.get_by_label("Sign-in name").fill(username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Tonight")).to_be_visible()


def test_ten_turns_a_recommendation_a_signature_and_a_letter(
    page: Page, cast: Cast, nearly_there: datetime.date
) -> None:
    cast.blue.weekday = nearly_there.weekday()
    cast.blue.save(update_fields=["weekday"])

    # The coach signs in, opens tonight's class, and logs ten turns with ten taps.
    sign_in(page, "omar")
    page.get_by_role("button", name="Open the floor").first.click()
    page.get_by_role("button", name="On to who is here").click()
    page.get_by_role("button", name="Everybody").click()
    page.get_by_role("button", name="On to 2 children").click()
    choose(page, "#surface", "mat on sprung dance floor")
    choose(page, "#all-drills", "Back walkover")
    mai = tile(page, "Mai")
    expect(mai).to_contain_text("standing by")
    before = mai.locator(".progress").inner_text()
    for _turn in range(10):
        mai.locator(".tile-main").tap()
        settle(page)
    all_sent(page)
    expect(mai.locator(".progress")).not_to_have_text(before)
    expect(mai.locator(".progress")).to_contain_text("met")
    today = Attempt.objects.filter(child=cast.mai, day=nearly_there)
    assert [attempt.support for attempt in today] == [1] * 10

    # All gates are met: the coach recommends, and is not offered to sign.
    page.goto(f"/children/{cast.mai.uuid}/evidence/4")
    expect(page.locator("main")).to_contain_text("for review")
    expect(page.get_by_role("button", name="Sign", exact=True)).to_have_count(0)
    page.get_by_role("button", name="Recommend").click()
    expect(page.locator("main")).to_contain_text("The person who recommends never signs")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in")

    # The director reads the evidence and signs for the surface that is named.
    sign_in(page, "petra")
    page.goto("/review")
    page.get_by_role("link", name=re.compile("Mai")).first.click()
    page.goto(f"/children/{cast.mai.uuid}/evidence/4")
    page.get_by_label("I saw it on").fill(f"{nearly_there}")
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.locator("main")).to_contain_text("It counts from tomorrow")
    signature = Decision.objects.get(kind=Decision.Kind.SIGN)
    assert (signature.by, signature.answers.by) == (cast.petra, cast.omar)
    assert signature.surface.key == MAT
    tomorrow = read(cast.mai, nearly_there + datetime.timedelta(days=1)).read.stage("4")
    assert tomorrow.state == "open"

    # The letter comes out as a PDF with the child's name on it.
    page.goto(f"/children/{cast.mai.uuid}/letter")
    with page.expect_download() as download:
        page.get_by_role("button", name="Letter as PDF, to print").click()
    text = PdfReader(download.value.path()).pages[0].extract_text()
    assert "Mai" in text
