"""What axe-core finds on a page: WCAG 2.2, levels A and AA."""

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"]
# Another theme changes colours alone.
COLOURS = ["color-contrast"]

_RUN = """async (rules) => {
    const found = await axe.run({ runOnly: rules, resultTypes: ["violations"] });
    return found.violations.map(({ id, nodes }) => [id, nodes.slice(0, 3).map((n) => n.html)]);
}"""

Barrier = tuple[str, list[str]]


def barriers(page: Page, rules: list[str] = RULES) -> list[Barrier]:
    """Each rule that is broken, and three of the places at most."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found: list[Barrier] = page.evaluate(_RUN, rules)
    return found
