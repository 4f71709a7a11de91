"""Unicode's own data and tests, where Debian puts them (unicode-data; 15.0 in Debian 12)."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

UNICODE = Path("/usr/share/unicode")


def lines_of(name: str) -> Iterator[list[str]]:
    """The fields of each line of a file."""
    if not (UNICODE / name).exists():
        if os.environ.get("LADDER_NEED_UNICODE") == "1":
            pytest.fail(f"{name} is missing")
        pytest.skip(f"{name} is missing")
    with (UNICODE / name).open(encoding="utf-8") as file:
        for line in file:
            told = line.partition("#")[0].strip()
            if told:
                yield [field.strip() for field in told.split(";")]
