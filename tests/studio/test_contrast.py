"""Contrast of the colours that stand on each other, light, dark and printed.

Formula and limits: Web Content Accessibility Guidelines 2.2, definitions "relative luminance" and
"contrast ratio", criteria 1.4.3 (text: 4.5 to 1) and 1.4.11 (parts of controls and of drawings that
say something: 3 to 1).
"""

import re
from pathlib import Path

import pytest

CSS = Path(__file__).resolve().parents[2] / "static" / "css"
TOKENS = (CSS / "tokens.css").read_text()

GROUNDS = ["paper", "sheet", "act-wash", "wait-wash", "heed-wash"]
TEXT = [(words, ground) for words in ["ink", "soft", "act", "heed"] for ground in GROUNDS]
TEXT += [("wait", ground) for ground in GROUNDS]
TEXT += [("act-deep", ground) for ground in GROUNDS]
TEXT += [("heed-deep", "heed-wash"), ("heed-deep", "sheet")]
TEXT += [("on-ink", "ink"), ("on-act", "act"), ("on-act", "act-deep"), ("on-heed", "heed")]
# The edge of a field, the filled beam on its empty part, the notch on its halo.
PARTS = [("edge", ground) for ground in GROUNDS]
PARTS += [("act", "track"), ("ink", "track"), ("ink", "sheet")]


def luminance(colour: str) -> float:
    """Relative luminance of "#rrggbb", 0 for black to 1 for white."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21."""
    darker, lighter = sorted([luminance(one), luminance(other)])
    return (lighter + 0.05) / (darker + 0.05)


def colours(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", block))


def colour_sets() -> dict[str, dict[str, str]]:
    """The colours a reader gets in each setting; dark and print lie over light."""
    light = colours(TOKENS.split("@media")[0])
    dark = colours(re.search(r"prefers-color-scheme: dark\) \{(.*?\})\n\}", TOKENS, re.S).group(1))
    printed = colours(re.search(r"@media print \{(.*?\})\n\}", TOKENS, re.S).group(1))
    return {"light": light, "dark": light | dark, "print": light | printed}


SETS = colour_sets()


def test_black_on_white_is_21_to_1():
    # WCAG 2.2, "contrast ratio": from 1:1 to 21:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#ffffff", "#ffffff") == 1


def test_the_dark_set_gives_every_colour_again():
    dark = re.search(r"prefers-color-scheme: dark\) \{(.*?\})\n\}", TOKENS, re.S).group(1)
    assert colours(dark).keys() == SETS["light"].keys()


def test_forced_colours_give_every_colour_as_a_system_colour():
    forced = re.search(r"forced-colors: active\) \{(.*?\})\n\}", TOKENS, re.S).group(1)
    named = dict(re.findall(r"--([\w-]+):\s*(\w+);", forced))
    assert named.keys() == SETS["light"].keys()
    assert set(named.values()) <= {"Canvas", "CanvasText", "Highlight", "HighlightText"}


@pytest.mark.parametrize("setting", SETS)
@pytest.mark.parametrize(("words", "ground"), TEXT)
def test_words_can_be_read(setting, words, ground):
    tokens = SETS[setting]
    assert contrast(tokens[words], tokens[ground]) >= 4.5


@pytest.mark.parametrize("setting", SETS)
@pytest.mark.parametrize(("part", "ground"), PARTS)
def test_parts_that_say_something_can_be_seen(setting, part, ground):
    tokens = SETS[setting]
    assert contrast(tokens[part], tokens[ground]) >= 3


@pytest.mark.parametrize("sheet", sorted(path.name for path in CSS.glob("*.css")))
def test_no_colour_is_written_outside_the_tokens(sheet):
    text = (CSS / sheet).read_text()
    if sheet != "tokens.css":
        assert not re.search(r"#[0-9a-f]{3,8}\b|rgb|hsl", text)


@pytest.mark.parametrize("sheet", sorted(path.name for path in CSS.glob("*.css")))
def test_sides_are_logical(sheet):
    text = (CSS / sheet).read_text()
    assert not re.search(
        r"(margin|padding|border)-(left|right|top|bottom)|text-align: (left|right)"
        r"|^\s*(left|right|top|bottom|width|height):|\b(float|clear): (left|right)",
        text,
        re.M,
    )


@pytest.mark.parametrize("sheet", ["tokens.css", "base.css"])
def test_no_text_is_smaller_than_16_pixels(sheet):
    text = (CSS / sheet).read_text()
    sizes = re.findall(r"font(?:-size)?:[^;]*?([\d.]+)rem", text)
    assert all(float(size) >= 1 for size in sizes)
    assert not re.search(r"font(?:-size)?:[^;]*?\d(px|pt|em\b)", text)
