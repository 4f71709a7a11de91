"""Scripts run by node, where node is there."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
NODE = shutil.which("node")
# The first that reads a plain .js file as a module when it is one.
OLDEST = (20, 19)


def version() -> tuple[int, ...]:
    if NODE is None:
        return (0, 0)
    result = subprocess.run([NODE, "--version"], capture_output=True, text=True, check=True)
    return tuple(int(part) for part in re.findall(r"\d+", result.stdout)[:2])


def run_node(*arguments: str) -> subprocess.CompletedProcess[str]:
    assert NODE is not None, "no node"
    assert version() >= OLDEST, f"node is older than {OLDEST}"
    command = [NODE, *arguments]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=120)


# With LADDER_NEED_NODE=1 they run, and fail, all the same.
needs_node = pytest.mark.skipif(
    version() < OLDEST and os.environ.get("LADDER_NEED_NODE") != "1",
    reason="no node, or an old one",
)
