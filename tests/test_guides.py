"""The guides name files that are there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
GUIDES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
FOLDERS = "studio|progression|readiness|static|templates|fixtures|tests|docs"
# Made with the first other language.
LATER = {"studio/locale"}
NAMED = re.compile(rf"(?<![\w/])(?:{FOLDERS})/[\w./-]*\w")


@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: guide.name)
def test_a_guide_names_files_that_are_there(guide):
    named = set(NAMED.findall(guide.read_text(encoding="utf-8"))) - LATER
    assert {name for name in named if not (ROOT / name).exists()} == set()
