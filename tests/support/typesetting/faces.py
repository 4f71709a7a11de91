"""Typefaces that Debian has and the program does not bring."""

import os
from pathlib import Path

import pytest

FONTS = Path("/usr/share/fonts")


def dejavu() -> Path:
    """Of fonts-dejavu-core; with Armenian letters, which no shipped typeface has."""
    return _there_or_skipped("truetype/dejavu/DejaVuSans.ttf", "LADDER_NEED_DEJAVU")


def east_asian() -> Path:
    """Of fonts-noto-cjk: a collection with CFF outlines; in its folder also a bold one, and both
    with serifs."""
    return _there_or_skipped("opentype/noto/NotoSansCJK-Regular.ttc", "LADDER_NEED_CJK")


def _there_or_skipped(file: str, needed: str) -> Path:
    path = FONTS / file
    if not path.exists():
        if os.environ.get(needed) == "1":
            pytest.fail(f"{path} is missing")
        pytest.skip(f"{path} is missing")
    return path
