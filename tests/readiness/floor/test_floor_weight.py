"""The floor page is light: what a tablet must fetch before the first tap."""

import gzip
import re
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


def loaded_at_once() -> set[Path]:
    """The scripts that main.js imports, and what these import; not what import() asks for."""
    found, open_ = set(), [STATIC / "floor/main.js"]
    while open_:
        script = open_.pop()
        if script not in found:
            found.add(script)
            names = re.findall(r'from "(\.[^"]+)";', script.read_text(encoding="utf-8"))
            open_ += [(script.parent / name).resolve() for name in names]
    return found


def test_page_styles_and_scripts_are_at_most_100_kilobytes_compressed():
    files = [*loaded_at_once(), STATIC / "floor/floor.css", STATIC / "css/tokens.css"]
    assert len(files) > 60
    weight = compressed(shell_html().encode()) + sum(compressed(served(f)) for f in files)
    assert weight <= MOST


def test_what_is_loaded_on_demand_is_not_loaded_at_once():
    on_demand = {*STATIC.glob("floor/eyes/*.js"), *STATIC.glob("floor/quiz/*.js")}
    assert len(on_demand) > 7
    assert not on_demand & loaded_at_once()


def test_the_typeface_is_at_most_120_kilobytes():
    assert sum(font.stat().st_size for font in STATIC.glob("fonts/*.woff2")) <= MOST_FONT
