"""The floor page is light: what a tablet must fetch before the first tap."""

import gzip
from pathlib import Path

from readiness.floor.shell import shell_html
from studio.static_files import minified

STATIC = Path(__file__).resolve().parents[3] / "static"
MOST = 100 * 1024
MOST_FONT = 120 * 1024


def compressed(data: bytes) -> int:
    return len(gzip.compress(data, 9))


def served(file: Path) -> bytes:
    return minified(file.relative_to(STATIC).as_posix(), file.read_bytes())


def test_page_styles_and_scripts_are_at_most_100_kilobytes_compressed():
    files = [*STATIC.glob("floor/**/*.js"), *STATIC.glob("floor/*.css"), STATIC / "css/tokens.css"]
    assert len(files) > 20
    weight = compressed(shell_html().encode()) + sum(compressed(served(f)) for f in files)
    assert weight <= MOST


def test_the_typeface_is_at_most_120_kilobytes():
    assert sum(font.stat().st_size for font in STATIC.glob("fonts/*.woff2")) <= MOST_FONT
