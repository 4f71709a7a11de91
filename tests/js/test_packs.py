"""Invented classes: what the tablet shows after some turns, with the pack of before and no
network, is what the server says once it has taken them."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.support.cast import Cast
from tests.support.javascript import needs_node, run_node
from tests.support.packs import Dice, packs


@needs_node
@pytest.mark.parametrize(("who", "seed"), [("omar", 1), ("omar", 2), ("tam", 3)])
def test_the_tablet_shows_by_itself_what_the_server_says_afterwards(
    cast: Cast, ladder_content: dict[str, Any], tmp_path: Path, who: str, seed: int
) -> None:
    found = packs(cast, Dice(seed, ladder_content), getattr(cast, who))
    moved = [
        (before["drills"][drill], after["drills"][drill])
        for before, after in zip(
            found["before"]["children"], found["after"]["children"], strict=True
        )
        for drill in before["drills"]
    ]
    # The turns do move something, and in more than one way.
    assert sum(one["sure"] != other["sure"] for one, other in moved) > 20
    assert sum(one["allowed"] != other["allowed"] for one, other in moved) > 1
    file = tmp_path / "packs.json"
    file.write_text(json.dumps([found]), encoding="utf-8")
    done = run_node("tests/js/packs.mjs", str(file))
    assert done.returncode == 0, done.stdout + done.stderr
