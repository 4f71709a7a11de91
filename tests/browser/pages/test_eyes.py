"""Drawn figures are drawn and graded; a turn of another tablet appears by itself, once."""

import datetime
import uuid

from playwright.sync_api import expect

from progression.models import Attempt
from readiness.models import SecondGrade, TwelveAnswers
from studio.models import Meeting

SECOND = datetime.timedelta(seconds=1)


def test_twelve_figures_and_a_turn_seen_by_two(page, signed_in, cast, log, home):
    signed_in(cast.petra)
    page.goto(f"{home}/eyes")
    page.get_by_role("button", name="Twelve figures").first.click()
    expect(page.locator("li.pose svg.figure")).to_have_count(12)
    for figure in page.get_by_role("group").all():
        figure.get_by_role("radio", name="2").check()
    page.get_by_role("button", name="These are my grades").click()
    expect(page.get_by_text("3 of 12 as they are.")).to_be_visible()
    # Each of the nine beside the pose of what was given.
    expect(page.locator("li.pose svg.figure")).to_have_count(18)
    assert TwelveAnswers.objects.get().grades == [2] * 12

    (turn,) = log(cast.mai, "sit-depth", [3.0])
    now = datetime.datetime.now(datetime.UTC)
    meeting = Meeting.objects.create(group=cast.blue, date=now.date(), starts_at=now.time())
    page.goto(f"{home}/floor/{meeting.uuid}/second")
    expect(page.get_by_text("No graded turn in the last minute.")).to_be_visible()
    turn.pk, turn.meeting, turn.day = uuid.uuid4(), meeting, meeting.date
    turn.done_at = turn.received_at = datetime.datetime.now(datetime.UTC) - SECOND
    turn.save(force_insert=True)
    page.get_by_role("heading", name="Mai Tran").wait_for(timeout=15_000)
    page.get_by_role("button", name="2", exact=True).click()
    expect(page.get_by_text("Mai: you gave 2, the first grade was 3.")).to_be_visible()
    assert (SecondGrade.objects.get().attempt_id, Attempt.objects.count()) == (turn.pk, 2)
