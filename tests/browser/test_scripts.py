"""The scripts' own tests in Chromium, where the scripts run in the end. (Where node is, they run
there as well: tests/js/test_javascript.py.)"""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.support.browser.scripts import ROOT, open_page, run_tests
from tests.support.cast import Cast
from tests.support.packs import Dice, packs

FILES = sorted(file.relative_to(ROOT).as_posix() for file in ROOT.glob("tests/js/*.test.mjs"))


@pytest.fixture
def scripts(browser: Browser) -> Iterator[Page]:
    page = open_page(browser)
    yield page
    page.close()


@pytest.mark.parametrize("file", FILES)
def test_the_scripts_pass_their_own_tests(scripts: Page, file: str) -> None:
    results = run_tests(scripts, file)
    written = (ROOT / file).read_text(encoding="utf-8")
    assert len(results) >= written.count("\ntest(") > 0
    assert [(name, wrong) for name, wrong in results if wrong is not None] == []


FAILING = """import assert from "node:assert/strict";
import { test } from "node:test";
test("equal", () => assert.equal(1, 2));
test("deep", () => {
  assert.deepEqual({ a: [1, new Map([["b", 2]])] }, { a: [1, new Map([["b", 3]])] });
});
test("shorter", () => assert.deepEqual([1, undefined], [1]));
test("ok", () => assert.ok(0));
test("matched", () => assert.match("abc", /d/));
test("unlike", () => assert.notEqual("a", "a"));
test("later", async () => { await new Promise((done) => setImmediate(done)); assert.ok(false); });
test("right", () => assert.deepEqual([{ a: 1 }], [{ a: 1 }]));
"""


def test_a_test_that_fails_is_told(browser: Browser) -> None:
    page = open_page(browser, {"tests/js/failing.test.mjs": FAILING})
    results = run_tests(page, "tests/js/failing.test.mjs")
    page.close()
    assert [name for name, wrong in results if wrong is None] == ["right"]
    assert len(results) == 8


@pytest.mark.parametrize(("who", "seed"), [("omar", 1), ("tam", 3)])
def test_the_tablet_shows_by_itself_what_the_server_says_afterwards(
    scripts: Page, cast: Cast, ladder_content: dict[str, Any], who: str, seed: int
) -> None:
    pack = packs(cast, Dice(seed, ladder_content), getattr(cast, who))
    check = """async (pack) => {
        const reading = await import("/static/floor/rules/reading.js");
        const { checkPacks } = await import("/tests/js/checks.mjs");
        return checkPacks(reading, JSON.parse(pack));
    }"""
    assert scripts.evaluate(check, json.dumps(pack)) == []
