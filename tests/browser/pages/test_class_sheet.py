"""The class sheet: printed, filled by hand, typed under its own words, and brought in."""

import csv
import datetime
import io
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from progression.models import Attempt
from studio.models import Meeting
from tests.support.browser.desk_taps import follow, press
from tests.support.browser.floor_taps import SignIn
from tests.support.cast import Cast

# Written by hand on the sheet's two lines of a child, by the head of the column: a score of turns,
# and a turn with a fault on a line of its own.
BY_HAND = {
    "Mai Tran": [
        {"drill": "Back walkover", "support": "hands-on", "value": "3/4"},
        {
            "drill": "Back walkover",
            "support": "hands-on",
            "value": "not clean",
            "faults": "arms-give",
            "caught": "yes",
        },
    ],
    "Ilse Brand": [{"drill": "Hollow hold", "value": "31", "note": "new shoes"}],
}


@pytest.fixture
def today(cast: Cast) -> datetime.date:
    """A day on which the class meets."""
    day = cast.hall.day_of(timezone.now())
    Meeting.objects.get_or_create(group=cast.blue, date=day, starts_at=cast.blue.starts_at)
    cast.blue.weekday = day.weekday()
    cast.blue.save(update_fields=["weekday"])
    return day


def typed(page: Page) -> str:
    """The sheet's printed words with what was written beside them, as a file."""
    heads = page.locator("#class-sheet thead th").all_inner_texts()
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(heads)
    written = {name: iter(lines) for name, lines in BY_HAND.items()}
    for row in page.locator("#class-sheet tbody tr").all():
        printed = dict(zip(heads, row.locator("th, td").all_inner_texts(), strict=True))
        by_hand = next(written.get(printed["child"].strip(), iter(())), None)
        if by_hand:
            writer.writerow([by_hand.get(head, printed[head]).strip() for head in heads])
    return out.getvalue()


def test_what_is_written_on_the_sheet_comes_in_under_its_own_words(
    page: Page, signed_in: SignIn, cast: Cast, today: datetime.date, tmp_path: Path
) -> None:
    signed_in(cast.petra)
    page.goto(f"/classes/{cast.blue.uuid}")
    follow(page, "Class sheet")
    expect(page.locator("#class-sheet tbody tr")).to_have_count(5)
    page.emulate_media(media="print")
    file = tmp_path / "evening.csv"
    file.write_text(typed(page), encoding="utf-8")
    page.emulate_media(media="screen")

    page.goto("/paper")
    page.locator("input[type=file]").set_input_files(file)
    press(page, "Show what would change")
    page.locator("select[name=usual]").select_option("sprung-dance-floor")
    page.get_by_role("button", name="Read it this way").click()
    expect(page.get_by_text("0 lines are left out so far")).to_be_visible()
    press(page, "Bring in")
    expect(page.get_by_text("Stored: 6 turns.")).to_be_visible()

    mine = Attempt.objects.filter(child=cast.mai, day=today, drill__key="back-walkover")
    turns = mine.order_by("done_at").values_list("clean", "support", "faults", "caught")
    assert list(turns) == [
        *[(True, 3, [], False)] * 3,
        (False, 3, [], False),
        (False, 3, ["arms-give"], True),
    ]
    (hold,) = Attempt.objects.filter(child=cast.ilse, day=today)
    assert (hold.drill.key, hold.value, hold.surface.key) == (
        "hollow-hold", 31, "sprung-dance-floor",
    )  # fmt: skip
