"""The review of 180 children is at most two screens, and nothing of it is lost."""

from django.test import Client
from django.utils import timezone
from playwright.sync_api import Page, expect

from readiness.models import Standing
from studio.models import Child
from studio.people.class_lists import join
from tests.support.cast import Cast, make_child

CHILDREN, OF_A_KIND = 180, 30


def test_180_children_are_two_screens(page: Page, signed_in, cast: Cast) -> None:
    today = cast.hall.day_of(timezone.now())
    for number in range(CHILDREN):
        child = make_child(f"Kid{number:03} Of A Rather Long Family Name", cast.blue)
        join(child, cast.red, today)
    director = Client()
    director.force_login(cast.petra)
    assert director.get("/review").status_code == 200
    every = list(Child.objects.filter(name__startswith="Kid").order_by("pk"))
    kinds = [
        {"waits_for": "recommendation"},
        {"state": "re-check"},
        {"state": "paused"},
        {"state": "re-check", "away": True},
    ]
    for place, columns in enumerate(kinds):
        those = every[place * OF_A_KIND : (place + 1) * OF_A_KIND]
        Standing.objects.filter(child__in=those).update(**columns)

    signed_in(cast.petra)
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto("/review")
    for heading in ("Needs a decision", "On re-check", "Paused", "Long without a turn"):
        expect(page.get_by_role("heading", name=f"{heading} {OF_A_KIND}")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollHeight") <= 2 * 900
    # All of them are there, one tap away, and on paper.
    assert page.locator(".queue > li").count() == len(kinds) * OF_A_KIND
    last = page.get_by_role("link", name=f"Kid{OF_A_KIND - 1:03}")
    expect(last).not_to_be_visible()
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    expect(last).to_be_visible()
