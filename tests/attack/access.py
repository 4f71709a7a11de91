"""Every role at every address with every method: who is kept out changes nothing and reads nothing,
and every answer is the one of the table in tests/support/access.py."""

from tests.attack.site import Answer, Browser, Sent, attacked_site, people, quiet
from tests.support.access import ACCESS
from tests.support.every_page import Site, addresses

METHODS = ("get", "post", "put", "patch", "delete", "head", "options")
KEPT_OUT = (301, 302, 400, 401, 403, 404, 405, 411, 413, 422)
# What only somebody who may see it finds on a page.
SECRETS = (b"Tran", b"Brand", b"Vidal", b"Weir Lane")
# Whoever is asked for these is let in or out by it, or it is a button with nothing to fill in.
CHANGES_BY_ITSELF = {
    "sign-out", "open-meeting", "tablet-withdraw", "tablet-unlock", "staff-link", "staff-pin",
    "merge", "two-children", "paper-undone", "letter-prepare", "letter-pdf", "studio-letters",
}  # fmt: skip


def run(full: bool) -> list[str]:
    """``full`` asks once more as htmx does."""
    with attacked_site() as site, quiet():
        ways: list[dict[str, str]] = [{}, {"HX-Request": "true"}] if full else [{}]
        return [found for headers in ways for found in every_answer(site, headers)]


def every_answer(site: Site, headers: dict[str, str]) -> list[str]:
    """What is not as it should be, of every role, address and method."""
    found: list[str] = []
    table = {(name, method): dict(zip(people(site.cast), row, strict=True)) for
             name, method, *row in ACCESS}  # fmt: skip
    for role, staff in people(site.cast).items():
        browser = Browser(staff)
        for name, address in addresses(site).items():
            for method in METHODS:
                asks_only = method in ("get", "head", "options")
                answer = browser.ask(Sent(method, address, headers=headers), compare=not asks_only)
                expected = table.get((name, method), {}).get(role)
                for wrong in _wrong(answer, expected, method, name, bool(headers)):
                    found.append(f"{role}, {method} {name}: {wrong}")
    return found


def _wrong(
    answer: Answer, expected: int | None, method: str, name: str, by_htmx: bool
) -> list[str]:
    found = []
    if answer.status >= 500:
        found.append(f"{answer.status} {answer.broke}")
    elif expected is not None and answer.status != expected and not by_htmx:
        found.append(f"{answer.status}, not {expected}")
    elif expected is None and answer.status not in (200, *KEPT_OUT):
        found.append(f"{answer.status}")
    if answer.changed and (method != "post" or name not in CHANGES_BY_ITSELF):
        found.append("it changed something")
    if answer.status in (302, 401, 403, 404):
        found += [f"it says {secret!r}" for secret in SECRETS if secret in answer.content]
    return found
