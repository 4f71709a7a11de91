"""Imports run one way: readiness -> progression -> studio, and pages -> record -> engine.

The engine stands alone, no page imports another page's views, no test module another one, and a
package has few modules at its root.
"""

import ast
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ("studio", "progression", "readiness")
MAY_IMPORT = {
    "studio": {"studio"},
    "progression": {"studio", "progression"},
    "readiness": {"studio", "progression", "readiness"},
}
# The two files of studio that name the other apps, and only as strings.
NAMES_THE_OTHERS = {"studio/settings.py", "studio/urls.py"}
ENGINE = sorted((ROOT / "readiness" / "engine").glob("**/*.py"))
# What every page rests on: no room of pages among it.
BELOW_PAGES = {
    "readiness/record": ("record", "engine", "models"),
    "readiness/words": ("words", "record", "engine"),
    "readiness/models": ("models",),
}
# The answers of the whole site to what goes wrong: no page's.
SHARED_VIEWS = {"studio.error_views"}
MOST_MODULES = 15
ENGINE_MAY_IMPORT = set(sys.stdlib_module_names) | {"highspy", "numpy", "scipy", "readiness.engine"}


def files_of(app: str) -> list[Path]:
    return sorted((ROOT / app).rglob("*.py"))


def imported(tree: ast.AST, package: str) -> Iterator[str]:
    """Full names of every module imported anywhere in a file, inside functions too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package.split(".")[: len(package.split(".")) - node.level + 1]
            inside = ".".join(base) if node.level else ""
            yield ".".join(part for part in (inside, node.module or "") if part)


def imported_names(tree: ast.AST, package: str) -> Iterator[str]:
    """The same, with what is imported from each: it may be a module."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            (module,) = imported(ast.Module([node], []), package)
            yield from (f"{module}.{alias.name}" for alias in node.names)


def package_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).parent.parts)


def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def strays(app: str, path: Path) -> list[str]:
    names = imported(parsed(path), package_of(path))
    return [n for n in names if n.split(".")[0] in set(APPS) - MAY_IMPORT[app]]


@pytest.mark.parametrize("app", APPS)
def test_an_app_imports_only_itself_and_the_apps_below_it(app):
    found = {str(path.relative_to(ROOT)): strays(app, path) for path in files_of(app)}
    assert found
    assert {path: names for path, names in found.items() if names} == {}


def named_in_strings(tree: ast.AST, apps: set[str]) -> list[str]:
    """Strings that name another app's module or model: import_module and lazy references.

    A dotted name whose first part is the app, or the app's name alone.
    """
    docs = {
        node.body[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and node not in docs
        and " " not in node.value
        and (node.value in apps or node.value.startswith(tuple(f"{app}." for app in apps)))
    ]


@pytest.mark.parametrize("app", APPS)
def test_only_settings_and_addresses_name_an_app_above_as_a_string(app):
    above = set(APPS) - MAY_IMPORT[app]
    found = {
        str(path.relative_to(ROOT)): named_in_strings(parsed(path), above)
        for path in files_of(app)
        if str(path.relative_to(ROOT)) not in NAMES_THE_OTHERS
    }
    assert {path: names for path, names in found.items() if names} == {}


def test_settings_and_addresses_name_the_other_apps():
    for name in NAMES_THE_OTHERS:
        assert named_in_strings(parsed(ROOT / name), {"progression", "readiness"})


@pytest.mark.parametrize("path", ENGINE, ids=lambda path: path.name)
def test_the_engine_imports_neither_django_nor_the_rest_of_the_project(path):
    names = list(imported(parsed(path), package_of(path)))
    allowed = [
        name
        for name in names
        if name.split(".")[0] in ENGINE_MAY_IMPORT
        or name == "readiness.engine"
        or name.startswith("readiness.engine.")
    ]
    assert allowed == names


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("import readiness.record.intake", ["readiness.record.intake"]),
        ("def f():\n    from readiness import intake", ["readiness"]),
        ("from ..readiness import intake", ["readiness"]),
    ],
)
def test_a_stray_import_is_found_wherever_it_stands(source, found):
    assert list(imported(ast.parse(source), "studio")) == found


# --- the record below the pages --------------------------------------------------------


def above_the_record(path: Path, may_import: tuple[str, ...]) -> list[str]:
    names = [n for n in imported_names(parsed(path), package_of(path)) if n.startswith("readiness")]
    return [n for n in names if not set(n.split(".")[1:2]) & set(may_import)]


@pytest.mark.parametrize("below", BELOW_PAGES)
def test_the_record_and_the_sentences_import_no_page(below):
    paths = [ROOT / below] if below.endswith(".py") else files_of(below)
    found = {
        str(path.relative_to(ROOT)): above_the_record(path, BELOW_PAGES[below]) for path in paths
    }
    assert found
    assert {path: names for path, names in found.items() if names} == {}


def is_views(module: str) -> bool:
    return module.rpartition(".")[2] == "views" or module.endswith("_views")


def views_of_others(path: Path) -> set[str]:
    """The modules of views that a file imports and that are not of its own folder."""
    names = imported_names(parsed(path), package_of(path))
    modules = {part for name in names for part in (name, name.rpartition(".")[0])}
    views = {module for module in modules if module.startswith(APPS) and is_views(module)}
    return {m for m in views - SHARED_VIEWS if m.rpartition(".")[0] != package_of(path)}


def test_no_page_imports_another_page_s_views():
    paths = [path for app in APPS for path in files_of(app)]
    found = {str(path.relative_to(ROOT)): views_of_others(path) for path in paths}
    assert {path: names for path, names in found.items() if names} == {}
    assert len([path for path in paths if is_views(path.stem)]) > 8


# --- packages --------------------------------------------------------------------------


def is_found_by_name(folder: str) -> bool:
    """One module a command or a migration, each found by its name: Django's, and the benchmarks."""
    return folder.endswith(("management/commands", "/migrations")) or folder == "tests/bench"


def test_no_package_has_many_modules_at_its_root():
    paths = [path for app in (*APPS, "tests") for path in files_of(app)]
    found = Counter(
        str(path.parent.relative_to(ROOT)) for path in paths if path.name != "__init__.py"
    )
    many = {folder: number for folder, number in found.items() if number > MOST_MODULES}
    assert {folder for folder in many if not is_found_by_name(folder)} == set()


# --- tests -----------------------------------------------------------------------------


def is_test_module(name: str) -> bool:
    return any(part == "conftest" or part.startswith("test_") for part in name.split("."))


def test_no_test_module_imports_another():
    """What they share stands in tests/support."""
    found = {}
    for path in files_of("tests"):
        names = imported_names(parsed(path), package_of(path))
        found[str(path.relative_to(ROOT))] = [
            name for name in names if name.startswith("tests.") and is_test_module(name)
        ]
    assert len(found) > 100
    assert {path: names for path, names in found.items() if names} == {}


def test_no_underscore_name_is_imported_across_apps():
    found = []
    for app in APPS:
        for path in files_of(app):
            for node in ast.walk(parsed(path)):
                if isinstance(node, ast.ImportFrom) and node.module and not node.level:
                    other = node.module.split(".")[0]
                    private = [a.name for a in node.names if a.name.startswith("_")]
                    if other in APPS and other != app and private:
                        found.append((str(path.relative_to(ROOT)), private))
    assert found == []
