"""Every library is declared, said why of, and used."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
OWN = {"studio", "progression", "readiness", "tests"}


def name_of(requirement: str) -> str:
    return re.match(r"[A-Za-z0-9._-]+", requirement)[0].lower().replace("_", "-")


def declared(*extras: str) -> set[str]:
    wanted = list(PROJECT["dependencies"])
    for extra in extras:
        wanted += PROJECT["optional-dependencies"][extra]
    return {name_of(each) for each in wanted}


def imported_by(*folders: str) -> set[str]:
    """The distributions that the code of some folders imports."""
    found: set[str] = set()
    for folder in folders:
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Import):
                    found |= {alias.name.split(".")[0] for alias in node.names}
                elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                    found.add(node.module.split(".")[0])
    known = packages_distributions()
    others = found - OWN - set(sys.stdlib_module_names)
    return {known.get(name, [name])[0].lower().replace("_", "-") for name in others}


def test_what_the_program_imports_is_declared():
    assert imported_by("studio", "progression", "readiness") <= declared("postgres", "encryption")


def test_what_the_tests_import_is_declared():
    assert imported_by("tests") <= declared("test")


def test_every_library_is_said_why_of_and_no_other():
    page = (ROOT / "docs" / "libraries.md").read_text(encoding="utf-8")
    said = {name.lower() for name in re.findall(r"\*\*([^*]+)\*\*", page)}
    assert said == declared("test", "postgres", "encryption")


def test_the_lock_holds_every_library_with_the_hashes_of_its_files():
    lock = (ROOT / "tests" / "requirements.lock").read_text(encoding="utf-8")
    # One entry a library: its name, its release, and a hash for each of its files.
    entries = re.findall(
        r"^([a-z0-9-]+)==\S+[^\n]*((?:\\\n    --hash=sha256:[0-9a-f]{64} ?)+)$", lock, re.M
    )
    assert declared("test", "postgres") <= {name for name, _hashes in entries}
    assert len(entries) == lock.count("==") - lock.count("== '")
    assert "://" not in lock
