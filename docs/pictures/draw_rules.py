"""Draw docs/pictures/rules.svg from the trial of rules.

    python manage.py compare_rules --seed 1 --json | python docs/pictures/draw_rules.py

writes the picture on standard output. It needs nothing but Python.
"""

import json
import sys
from collections.abc import Iterator
from typing import Any

PANELS = [((3, 7), "3 turns a class, once a week"), ((10, 3.5), "10 turns a class, twice a week")]
WIDE, HIGH, LEFT, TOP, GAP = 380, 380, 76, 64, 90
FROM, TO = -50, 20
SHARES = (0, 0.01, 0.05, 0.1, 0.25, 0.5, 1)
INK, QUIET, OWN = "#1b1f23", "#5b6470", "#0b4f9e"


def kind(rule: str) -> str:
    if rule.endswith("gate"):
        return "own"
    return "knows" if rule.startswith("filter") else "other"


def across(classes: float) -> float:
    return WIDE * (classes - FROM) / (TO - FROM)


def down(share: float) -> float:
    """By the square root, so that the small shares, which matter, can be told apart."""
    return float(HIGH * (1 - share**0.5))


def mark(x: float, y: float, what: str) -> str:
    if what == "own":
        return f'<rect x="{x - 7:.1f}" y="{y - 7:.1f}" width="14" height="14" fill="{OWN}"/>'
    if what == "knows":
        path = f"M{x:.1f} {y - 7:.1f}l7 7l-7 7l-7 -7z"
        return f'<path d="{path}" fill="none" stroke="{QUIET}" stroke-width="2"/>'
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="none" stroke="{INK}" stroke-width="2"/>'


def panel(rows: list[dict[str, Any]], title: str, x0: float) -> Iterator[str]:
    yield f'<g transform="translate({x0} {TOP})">'
    yield f'<text x="0" y="-24" font-weight="bold">{title}</text>'
    for share in SHARES:
        y = down(share)
        yield f'<path d="M0 {y:.1f}H{WIDE}" stroke="#d5dae0"/>'
        yield f'<text x="-8" y="{y + 5:.1f}" text-anchor="end">{share * 100:.0f} %</text>'
    for classes in range(FROM, TO + 1, 10):
        x = across(classes)
        weight = 2 if classes == 0 else 1
        yield f'<path d="M{x:.1f} 0V{HIGH}" stroke="#d5dae0" stroke-width="{weight}"/>'
        yield f'<text x="{x:.1f}" y="{HIGH + 22}" text-anchor="middle">{classes}</text>'
    taken: list[tuple[float, float]] = []
    for number, row in enumerate(rows, start=1):
        if row["under_75"] is None or row["median_classes"] is None:
            continue
        x, y = across(row["median_classes"]), down(row["under_75"])
        spots = [(x + 20, y + 6), (x - 20, y + 6), (x, y - 12), (x, y + 24), (x + 40, y + 6)]
        free = [s for s in spots if all(abs(s[0] - a) > 18 or abs(s[1] - b) > 15 for a, b in taken)]
        at = (free or spots)[0]
        taken += [at, (x, y + 6)]
        yield mark(x, y, kind(row["rule"]))
        yield f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" text-anchor="middle">{number}</text>'
    yield "</g>"


def picture(every: list[dict[str, Any]]) -> Iterator[str]:
    panels = [
        [r for r in every if (r["turns"], r["days_between"]) == key and r["correlation"] == 0.1]
        for key, _ in PANELS
    ]
    width = LEFT + 2 * WIDE + GAP + 30
    rows = panels[0]
    lines = -(-len(rows) // 3)
    height = TOP + HIGH + 80 + 24 * lines + 24
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img" '
        f'font-family="sans-serif" font-size="16" fill="{INK}">'
    )
    yield "<title>How many children each rule opens too soon, and how late the others</title>"
    yield (
        "<desc>Across: median classes from the first at a true rate of .85 to the opening. Up: "
        "of the children opened, the share whose true rate was under .75. Low and left is "
        "good; the tables in docs/decisions.md have the numbers.</desc>"
    )
    yield f'<rect width="{width}" height="{height}" fill="#ffffff"/>'
    for at, ((_, title), found) in enumerate(zip(PANELS, panels, strict=True)):
        yield from panel(found, title, LEFT + at * (WIDE + GAP))
    below = TOP + HIGH + 50
    yield (
        f'<text x="{LEFT}" y="{below}">Across: median delay in classes. Up: opened while the '
        "true rate was under .75. Low and left is good.</text>"
    )
    for at, row in enumerate(rows):
        x = LEFT + 280 * (at // lines)
        y = below + 32 + 24 * (at % lines)
        yield mark(x + 6, y - 5, kind(row["rule"]))
        yield f'<text x="{x + 22}" y="{y}">{at + 1}: {row["rule"]}</text>'
    yield "</svg>"


if __name__ == "__main__":
    sys.stdout.write("\n".join(picture(json.load(sys.stdin))) + "\n")
