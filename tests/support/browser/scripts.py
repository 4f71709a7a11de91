"""The project's scripts in Chromium, off the disk: a page with no server, on which modules and
their tests are read from the project's folder."""

from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, Route

ROOT = Path(__file__).resolve().parents[3]
# An address that is nowhere: every call is answered here.
SITE = "http://scripts.invalid"
TYPES = {".mjs": "text/javascript", ".js": "text/javascript", ".json": "application/json"}
FOLDERS = ("static/floor/", "tests/js/", "tests/vectors/", "fixtures/")

# The tests are written for node's own runner; here stand-ins of the same names do.
NAMES = {
    '"node:test"': '"/tests/js/in_browser/runner.mjs"',
    '"node:assert/strict"': '"/tests/js/in_browser/assert.mjs"',
    '"node:fs"': '"/tests/js/in_browser/fs.mjs"',
}
# In a worker there is no document in the way of a test that brings one of its own.
RUN = """import {{ runAll }} from "/tests/js/in_browser/runner.mjs";
try {{
  await import("/{file}");
  postMessage(await runAll());
}} catch (error) {{
  postMessage([["{file}", String(error?.stack ?? error)]]);
}}"""


def open_page(browser: Browser, made: dict[str, str] | None = None) -> Page:
    """``made``: further files by path, as if they lay in the folder."""
    page = browser.new_page()

    def answer(route: Route) -> None:
        path = route.request.url.removeprefix(f"{SITE}/")
        if path == "":
            route.fulfill(content_type="text/html", body="<!doctype html><title>scripts</title>")
        elif path.startswith("run/"):
            route.fulfill(content_type="text/javascript", body=RUN.format(file=path[4:]))
        elif (text := _text_of(path, made or {})) is not None:
            route.fulfill(content_type=TYPES.get(Path(path).suffix, "text/plain"), body=text)
        else:
            route.fulfill(status=404)

    page.route(f"{SITE}/**", answer)
    page.goto(f"{SITE}/")
    return page


def _text_of(path: str, made: dict[str, str]) -> str | None:
    if path in made:
        text = made[path]
    elif path.startswith(FOLDERS) and (ROOT / path).is_file():
        text = (ROOT / path).read_text(encoding="utf-8")
    else:
        return None
    for name, here in NAMES.items():
        text = text.replace(name, here)
    return text


def run_tests(page: Page, file: str) -> list[tuple[str, str | None]]:
    """Each test of a file: its name, and what went wrong or None."""
    found: Any = page.evaluate(
        """(file) => new Promise((resolve, reject) => {
            const worker = new Worker(`/run/${file}`, { type: "module" });
            worker.onmessage = ({ data }) => resolve(data);
            worker.onerror = (event) => reject(new Error(`${file}: ${event.message}`));
        })""",
        file,
    )
    return [(name, wrong) for name, wrong in found]
