"""What a person at the desk does to a page: links, buttons, fields by their label."""

import re

from playwright.sync_api import Locator, Page


def go_on(page: Page, way: Locator) -> None:
    """Through a link or a form's button to the page that answers."""
    with page.expect_navigation():
        way.click()


def press(page: Page, name: str) -> None:
    go_on(page, page.get_by_role("button", name=name, exact=True))


def follow(page: Page, name: str) -> None:
    go_on(page, page.get_by_role("link", name=name, exact=True).first)


def unfold(page: Page, name: str) -> None:
    page.locator("summary", has_text=name).click()


def field(page: Page | Locator, label: str) -> Locator:
    """The first of that label; optional ones say so in it."""
    return page.get_by_label(re.compile(rf"^{re.escape(label)}( \(optional\))?$")).first


def write(page: Page | Locator, label: str, text: str) -> None:
    field(page, label).fill(text)


def tick(page: Page, name: str) -> None:
    page.get_by_role("checkbox", name=re.compile(f"^{re.escape(name)}")).first.check()


def form_of(page: Page, button: str) -> Locator:
    return page.locator("form", has=page.get_by_role("button", name=button, exact=True))


def select(page: Page, form: str, label: str, text: str) -> None:
    box = field(form_of(page, form), label)
    value = box.locator("option", has_text=text).first.get_attribute("value")
    box.select_option(value)


def write_in(page: Page, form: str, label: str, text: str) -> None:
    write(form_of(page, form), label, text)
