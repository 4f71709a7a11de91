"""A whole day without a network: the class is opened in the morning, and in the evening the network
is back. Every turn arrives once, under its author, in the order of the taps, and is called sent
only then. The server is really stopped, and the browser is offline as well."""

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from progression.models import Attempt
from studio.models import Meeting, Staff
from tests.support.browser.activity import let_pass, settle
from tests.support.browser.floor_taps import (
    SignIn,
    all_sent,
    box,
    choose,
    clean,
    open_class,
    tile,
)
from tests.support.browser.killable import Killable
from tests.support.browser.signed_lines import change_over_to, wait_for_key, wait_until_signed
from tests.support.cast import Cast

pytestmark = pytest.mark.delivery

# As the tablet sends: after so many milliseconds it would have tried again.
A_WHILE = 3_000


@pytest.fixture
def morning(
    killable: Killable,
    page: Page,
    signed_in: SignIn,
    cast: Cast,
    meeting: Meeting,
    tablet: None,
) -> Page:
    """Omar opens the class and logs the first turn; then the network goes."""
    signed_in(cast.omar)
    open_class(page, meeting)
    wait_for_key(page)
    clean(page, "Mai").tap()
    all_sent(page)
    return page


def no_network(killable: Killable, context: BrowserContext) -> None:
    killable.stop()
    context.set_offline(True)


def tap_all_day(page: Page, context: BrowserContext, meeting: Meeting) -> Page:
    """Five turns on two tabs, with two reloads; answers the second tab."""
    clean(page, "Mai").tap()
    settle(page)
    clean(page, "Ilse").tap()
    waits(page, 2)
    page.reload()
    expect(page.locator("#notes")).to_contain_text("No network. Everything here goes on working")
    waits(page, 2)
    expect(tile(page, "Mai")).to_contain_text("today 2 clean of 2 turns")
    second = context.new_page()
    second.goto(f"/floor/{meeting.uuid}")
    waits(second, 2)
    choose(second, "#all-drills", "Hollow-arch log roll")
    clean(second, "Ilse").tap()
    waits(second, 3)
    clean(page, "Ilse").tap()
    waits(page, 4)
    page.reload()
    waits(page, 4)
    # Opened again, it is at the drill that was chosen last on this tablet.
    expect(page.locator("#strip [aria-pressed=true]")).to_contain_text("Hollow-arch log roll")
    clean(page, "Mai").tap()
    for tab in (page, second):
        waits(tab, 5)
    wait_until_signed(page)
    return second


def waits(page: Page, turns: int) -> None:
    """Kept here, and nothing is called sent."""
    expect(page.locator("#kept")).to_contain_text(f"{turns} turns kept here, not sent yet")
    expect(page.locator("#kept")).not_to_contain_text("All sent")


SWING, ROLL = "swing-jump", "log-roll"
# As tapped: whose turn, at which drill. The first one while there was a network.
TAPPED = [
    ("Mai", SWING), ("Mai", SWING), ("Ilse", SWING), ("Ilse", ROLL), ("Ilse", SWING),
    ("Mai", ROLL),
]  # fmt: skip


def arrived() -> list[tuple[str, str, Staff, Staff, bool]]:
    turns = Attempt.objects.select_related("child", "drill", "author", "sender")
    return [
        (turn.child.called, turn.drill.key, turn.author, turn.sender, turn.graded)
        for turn in turns.order_by("done_at", "pk")
    ]


def test_the_turns_of_a_day_arrive_once_in_order_and_are_called_sent_only_then(
    killable: Killable, context: BrowserContext, morning: Page, cast: Cast, meeting: Meeting
) -> None:
    no_network(killable, context)
    second = tap_all_day(morning, context, meeting)
    # The server alone is back, and nobody can reach it.
    killable.start()
    let_pass(morning, A_WHILE)
    for tab in (morning, second):
        waits(tab, 5)
    assert Attempt.objects.count() == 1
    context.set_offline(False)
    for tab in (morning, second):
        all_sent(tab)
    told = [(child, drill, cast.omar, cast.omar, True) for child, drill in TAPPED]
    assert arrived() == told
    # Both tabs are opened again, and whatever they still hold is sent again.
    for tab in (morning, second):
        tab.reload()
        all_sent(tab)
    assert arrived() == told


def test_who_signs_out_without_a_network_leaves_turns_that_arrive_under_their_own_name(
    killable: Killable, context: BrowserContext, morning: Page, cast: Cast, meeting: Meeting
) -> None:
    """Nobody can sign in without a network; somebody else takes over in the evening."""
    tonight = context.new_page()
    tonight.goto("/")
    no_network(killable, context)
    second = tap_all_day(morning, context, meeting)
    tonight.get_by_role("button", name="Sign out").click()
    expect(tonight.get_by_role("alert")).to_contain_text(
        "Entries that wait on this tablet to be sent: Omar 5."
    )
    second.close()
    morning.close()
    # The class is gone, and what was tapped is not.
    stored = box(tonight)
    assert stored["packs"] == []
    assert len(stored["lines"]) >= len(TAPPED) - 1
    killable.start()
    assert Attempt.objects.count() == 1
    context.set_offline(False)
    cold = context.new_page()
    change_over_to(cold, "Tam", meeting)
    wait_for_key(cold)
    expect(cold.locator("#kept")).to_contain_text("5 entries of Omar wait here")
    assert Attempt.objects.count() == 1
    clean(cold, "Mai").tap()
    cold.get_by_role("button", name="under their name").click()
    all_sent(cold)
    omar = [(child, drill, cast.omar, cast.tam, True) for child, drill in TAPPED]
    omar[0] = (*TAPPED[0], cast.omar, cast.omar, True)
    assert arrived() == [*omar, ("Mai", ROLL, cast.tam, cast.tam, False)]
