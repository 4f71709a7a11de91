"""House rules that can be read off the code: thin views, no signals, no hidden saves."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.contrib.auth.decorators import login_not_required
from django.urls import URLPattern, URLResolver, get_resolver

ROOT = Path(__file__).resolve().parents[2]
APPS = ("studio", "progression", "readiness")
FILES = [
    path
    for app in APPS
    for path in sorted((ROOT / app).rglob("*.py"))
    if "migrations" not in path.parts
]
# A view reads the request, calls one verb of the domain and answers: more than this is a
# rule in the wrong place.
MOST_LINES = 30
# Where a clock may be read: views, and what runs before them or from a command line.
MAY_READ_THE_CLOCK = {"middleware.py", "error_views.py", "context.py", "command.py"}


def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def shown(path: Path, node: ast.AST) -> str:
    return f"{path.relative_to(ROOT)}:{getattr(node, 'lineno', 0)}"


def patterns(resolver: URLResolver) -> Iterator[URLPattern]:
    for each in resolver.url_patterns:
        if isinstance(each, URLResolver):
            yield from patterns(each)
        else:
            yield each


def view_files() -> list[Path]:
    return [path for path in FILES if path.name == "views.py" or path.name.endswith("_views.py")]


def functions(tree: ast.Module) -> list[ast.FunctionDef]:
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]


def is_view(node: ast.FunctionDef) -> bool:
    return bool(node.args.args) and node.args.args[0].arg == "request"


def length(node: ast.FunctionDef) -> int:
    """Lines from the first to the last, decorators and docstring left out."""
    first = node.body[0]
    has_text = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
    text = (first.end_lineno or 0) - first.lineno + 1 if has_text else 0
    return (node.end_lineno or 0) - node.lineno + 1 - text


@pytest.mark.parametrize("path", view_files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_view_has_at_most_thirty_lines(path):
    long = {n.name: length(n) for n in functions(parsed(path)) if length(n) > MOST_LINES}
    assert long == {}


def test_every_view_stands_in_a_file_of_views():
    views = {pattern.callback.__module__ for pattern in patterns(get_resolver())}
    named = {".".join(path.relative_to(ROOT).with_suffix("").parts) for path in view_files()}
    assert views
    assert views <= named


def test_every_view_is_a_function():
    for pattern in patterns(get_resolver()):
        assert not hasattr(pattern.callback, "view_class"), pattern.name


def test_no_file_speaks_of_class_based_views():
    breaches = [
        shown(path, node)
        for path in FILES
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.ImportFrom)
        and (
            (node.module or "").startswith("django.views.generic")
            or any(alias.name.endswith("View") for alias in node.names)
        )
    ]
    assert breaches == []


def calls(tree: ast.AST) -> list[ast.Call]:
    return [node for node in ast.walk(tree) if isinstance(node, ast.Call)]


@pytest.mark.parametrize("path", view_files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_view_fetches_rows_only_from_what_its_user_may_see(path):
    """``Model.objects`` does not appear: rows come from studio.access or a domain verb.

    The one row that names the studio is everybody's.
    """
    breaches = [
        shown(path, node)
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Attribute)
        and node.attr in ("objects", "_default_manager")
        and getattr(node.value, "id", "") != "Studio"
    ]
    assert breaches == []


@pytest.mark.parametrize("path", view_files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_view_takes_rows_by_get_object_or_404_and_never_by_get(path):
    breaches = [
        shown(path, call)
        for call in calls(parsed(path))
        if isinstance(call.func, ast.Attribute)
        and call.func.attr == "get"
        and any(keyword.arg in ("pk", "id", "uuid") for keyword in call.keywords)
    ]
    assert breaches == []


def test_saving_a_row_names_its_columns_or_says_that_it_is_new():
    """A bare save() would write back columns that somebody else has changed meanwhile."""
    breaches = [
        shown(path, call)
        for path in FILES
        for call in calls(parsed(path))
        if isinstance(call.func, ast.Attribute)
        and call.func.attr == "save"
        # A drawing surface for PDF has a save() of its own.
        and getattr(call.func.value, "id", "") != "canvas"
        and not {"update_fields", "force_insert"} & {keyword.arg for keyword in call.keywords}
    ]
    assert breaches == []


def test_no_model_overrides_save():
    breaches = [
        shown(path, node)
        for path in FILES
        for node in functions(parsed(path))
        if node.name == "save"
    ]
    assert breaches == []


def test_there_are_no_signals():
    breaches = [
        shown(path, node)
        for path in FILES
        for node in ast.walk(parsed(path))
        if (isinstance(node, ast.ImportFrom) and "signals" in (node.module or ""))
        or (isinstance(node, ast.ImportFrom) and (node.module or "") == "django.dispatch")
    ]
    assert breaches == []


def test_no_model_has_a_default_order():
    breaches = [
        shown(path, node)
        for path in FILES
        for meta in ast.walk(parsed(path))
        if isinstance(meta, ast.ClassDef) and meta.name == "Meta"
        for node in meta.body
        if isinstance(node, ast.Assign)
        and any(isinstance(t, ast.Name) and t.id == "ordering" for t in node.targets)
    ]
    assert breaches == []


def reads_the_clock(call: ast.Call) -> bool:
    func = call.func
    if isinstance(func, ast.Name):
        return func.id in ("localdate", "localtime") and not call.args
    if not isinstance(func, ast.Attribute):
        return False
    owner = func.value
    name = owner.attr if isinstance(owner, ast.Attribute) else getattr(owner, "id", "")
    if func.attr in ("localdate", "localtime"):
        return name == "timezone" and not call.args
    return func.attr in ("now", "today", "utcnow") and name in ("timezone", "datetime", "date")


def test_the_clock_is_read_in_views_and_commands_only():
    breaches = [
        shown(path, call)
        for path in FILES
        if path not in view_files()
        and path.name not in MAY_READ_THE_CLOCK
        and "commands" not in path.parts
        for call in calls(parsed(path))
        if reads_the_clock(call)
    ]
    assert breaches == []


# The addresses that need no sign-in, each with the reason given at its view.
PUBLIC = {
    "sign-in", "sign-out", "new-password", "change-over", "health",
    "floor-start", "floor-shell", "floor-words", "floor-worker", "floor-manifest",
}  # fmt: skip


def test_a_sign_in_is_needed_everywhere_but_where_the_list_says():
    assert login_not_required  # what marks a view as public
    public = {
        pattern.name
        for pattern in patterns(get_resolver())
        if not getattr(pattern.callback, "login_required", True)
    }
    assert public == PUBLIC


def test_no_view_goes_round_the_check_of_form_tokens():
    breaches = [
        shown(path, node)
        for path in FILES
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Name | ast.Attribute)
        and (getattr(node, "id", "") or getattr(node, "attr", "")).startswith("csrf_exempt")
    ]
    assert breaches == []


def test_every_address_has_a_name_of_its_own():
    names = [pattern.name for pattern in patterns(get_resolver())]
    assert None not in names
    assert len(names) == len(set(names))
