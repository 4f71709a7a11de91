"""The scripts' own tests, by node's test runner, where node is there."""

from pathlib import Path

import pytest

from tests.support.javascript import needs_node, run_node

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent


@needs_node
@pytest.mark.parametrize("file", sorted(HERE.glob("*.test.mjs")), ids=lambda file: file.name)
def test_the_scripts_pass_their_own_tests(file: Path) -> None:
    done = run_node("--test", str(file))
    assert done.returncode == 0, done.stdout + done.stderr
