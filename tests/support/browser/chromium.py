"""The browser that the tests drive, and a tablet's size."""

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
# In milliseconds, until something that should come is missed: machines differ in speed.
PATIENCE = 30_000
