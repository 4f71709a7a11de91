"""A line that was set aside: a director says from Review whose it is, and the tablet hears."""

import datetime
import re

from django.test import Client
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from progression.models import Attempt, Strike
from studio.models import Meeting
from studio.people.class_lists import join
from tests.support.browser.floor_taps import SignIn, clean, open_class
from tests.support.cast import Cast


def test_a_line_set_aside_is_resolved_from_review_and_leaves_the_tablet(
    page: Page, browser: Browser, home: str, signed_in: SignIn, cast: Cast, meeting: Meeting
) -> None:
    signed_in(cast.omar)
    open_class(page, meeting)
    # Since the class was fetched Mai has been put into the red one, as if never in this.
    cast.blue.children.remove(cast.mai)
    today = cast.hall.day_of(timezone.now())
    join(cast.mai, cast.red, today)
    Meeting.objects.create(group=cast.red, date=today, starts_at=datetime.time(20))
    clean(page, "Mai").tap()
    expect(page.locator("#kept")).to_contain_text("1 entry needs a look")

    desk = browser.new_context(base_url=home)
    director = Client()
    director.force_login(cast.petra)
    key = director.cookies["sessionid"].value
    desk.add_cookies([{"name": "sessionid", "value": key, "url": home}])
    review = desk.new_page()
    review.goto("/review")
    review.get_by_role("link", name="Look at them, and say what they are").click()
    review.get_by_role("link", name="Look", exact=True).click()
    expect(review.locator("main")).to_contain_text(f"{cast.mai.name}: Swing and jump tall")
    expect(review.get_by_label("Whose it is, and of which class")).to_have_value(
        re.compile(str(cast.mai.uuid))
    )
    review.get_by_role("button", name="Log it").click()
    expect(review.locator("main")).to_contain_text("logged after all by Petra")
    desk.close()

    page.reload()
    expect(page.locator("#kept")).to_have_text("All sent")
    logged = Attempt.objects.get()
    assert (logged.child, logged.meeting.group, logged.author) == (cast.mai, cast.red, cast.omar)
    assert not logged.graded
    assert not Strike.objects.exists()
