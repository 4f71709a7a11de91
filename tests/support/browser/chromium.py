"""The browser that the tests drive, a tablet's size, and what pages are held to."""

import os

CHROMIUM = os.environ.get("LADDER_CHROMIUM", "/usr/bin/chromium")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
TABLET = {"width": 1180, "height": 820}
# Of axe: WCAG 2.2, A and AA.
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"],
    "resultTypes": ["violations"],
}
