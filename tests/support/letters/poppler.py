"""Poppler's programs, with which tests read and draw what was printed."""

import os
import shutil

import pytest


def is_missing(program: str) -> bool:
    """Fails where LADDER_NEED_POPPLER says that it must be there, as in .ci/run."""
    missing = shutil.which(program) is None
    if missing and os.environ.get("LADDER_NEED_POPPLER") == "1":
        pytest.fail(f"{program} is missing")
    return missing


def skip_without(program: str) -> None:
    if is_missing(program):
        pytest.skip(f"{program} is missing")
