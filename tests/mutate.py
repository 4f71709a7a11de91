"""Break the engine on purpose, one small change at a time, and see that a test turns red.

    python -m tests.mutate [MODULE ...] [--jobs N]

Each mutant is one change of one place in a module that decides (MODULES): a comparison, a
number, an "and", a call left out. Against each run the engine's own quick tests,
and against those that survive them the properties. What still survives must stand in
tests/equivalent_mutants.toml with the reason why it changes no decision; anything else is
printed and ends the run with 1. Takes under an hour on two cores; not part of the tests.
"""

import argparse
import ast
import multiprocessing
import os
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

# Imported once here, so that no mutant waits for them: each is tested in a fork of this process.
import hypothesis.strategies  # noqa: F401
import pytest
import scipy.special
import scipy.stats  # noqa: F401

ROOT = Path(__file__).resolve().parent.parent
ENGINE = Path("readiness/engine")
MODULES = (
    "tallies",
    "clean_rate",
    "gates/common",
    "gates/clean",
    "gates/reach",
    "gates/clear",
    "gates/count",
    "gates/seen_by_two",
    "gates/first_turn",
    "carry_over",
    "first_turn",
    "support",
    "replay/days",
    "replay/re_check",
    "replay/way_back",
    "replay/decisions",
    "replay/openings",
)
EQUIVALENT = ROOT / "tests" / "equivalent_mutants.toml"

QUICK = (
    "gates",
    "test_clean_rate",
    "replay/test_stages",
    "replay/test_replay",
    "replay/test_way_back",
    "replay/test_cautions",
    "replay/test_pain",
    "replay/test_hands",
    "trial/test_climb",
)
SLOW = (
    "test_vectors",
    "test_properties",
    "replay/test_properties",
    "replay/test_support_properties",
    "replay/test_checkpoint",
)
# A mutant that makes a loop endless has been noticed, too. In seconds of the processor, so that a
# busy machine notices nothing that is not there.
PATIENCE_SECONDS = 300

COMPARED = {
    ast.Lt: ("<", "<="),
    ast.LtE: ("<=", "<"),
    ast.Gt: (">", ">="),
    ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.In: ("in", "not in"),
    ast.NotIn: ("not in", "in"),
    ast.Is: ("is", "is not"),
    ast.IsNot: ("is not", "is"),
}
COUNTED = {ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*")}
NAMED = {"min": "max", "max": "min", "any": "all", "all": "any"}


@dataclass(frozen=True)
class Mutant:
    """One change: bytes ``start`` to ``end`` of a module's source become ``new``."""

    module: str
    start: int
    end: int
    new: str
    change: str
    line: int
    text: str

    @property
    def name(self) -> tuple[str, str, str]:
        """What tells it from others for as long as its line stays as it is."""
        return self.module, self.text, self.change


class Source:
    """A module's text, and where its parts stand in it."""

    def __init__(self, module: str) -> None:
        self.module = module
        self.text = (ROOT / ENGINE / f"{module}.py").read_text()
        self.raw = self.text.encode()
        self.lines = self.text.splitlines()
        self._starts = [0]
        for line in self.text.splitlines(keepends=True):
            self._starts.append(self._starts[-1] + len(line.encode()))

    def begin(self, node: ast.expr | ast.stmt) -> int:
        return self._starts[node.lineno - 1] + node.col_offset

    def end(self, node: ast.expr | ast.stmt) -> int:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        return self._starts[node.end_lineno - 1] + node.end_col_offset

    def mutant(self, start: int, end: int, new: str, change: str) -> Mutant:
        line = self.raw[:start].count(b"\n") + 1
        return Mutant(self.module, start, end, new, change, line, self.lines[line - 1].strip())

    def between(self, left: ast.expr, right: ast.expr, pair: tuple[str, str]) -> Mutant:
        """The operator between two parts of an expression, replaced."""
        start, end = self.end(left), self.begin(right)
        old, new = pair
        gap = self.raw[start:end].decode().replace(old, new, 1)
        return self.mutant(start, end, gap, f"{old} becomes {new}")

    def instead(self, node: ast.expr | ast.stmt, new: str, change: str) -> Mutant:
        return self.mutant(self.begin(node), self.end(node), new, change)


def mutants_of(source: Source) -> list[Mutant]:
    """Every mutant that is still Python, in the order of the source."""
    every = [m for node in ast.walk(ast.parse(source.text)) for m in _of_node(source, node)]
    return sorted(filter(lambda m: _parses(source, m), every), key=lambda m: (m.start, m.change))


def mutated(source: Source, mutant: Mutant) -> bytes:
    return source.raw[: mutant.start] + mutant.new.encode() + source.raw[mutant.end :]


def _parses(source: Source, mutant: Mutant) -> bool:
    try:
        ast.parse(mutated(source, mutant))
    except SyntaxError:
        return False
    return True


def _of_node(source: Source, node: ast.AST) -> Iterator[Mutant]:
    match node:
        case ast.Compare(left=left, ops=ops, comparators=others):
            for one, operator, other in zip([left, *others], ops, others, strict=False):
                yield source.between(one, other, COMPARED[type(operator)])
        case ast.BoolOp(op=operator, values=values):
            pair = ("and", "or") if isinstance(operator, ast.And) else ("or", "and")
            for one, other in pairwise(values):
                yield source.between(one, other, pair)
        case ast.BinOp(left=left, op=operator, right=right) if type(operator) in COUNTED:
            yield source.between(left, right, COUNTED[type(operator)])
        case ast.Constant(value=bool() as value):
            if "dataclass" not in source.lines[node.lineno - 1]:
                yield source.instead(node, repr(not value), f"{value} becomes {not value}")
        case ast.Constant(value=int() | float() as value):
            yield source.instead(node, repr(value + 1), f"{value} becomes {value + 1}")
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield source.mutant(source.begin(node), source.begin(operand), "", "not left out")
        case ast.Call(func=ast.Name(id=name) as function) if name in NAMED:
            yield source.instead(function, NAMED[name], f"{name} becomes {NAMED[name]}")
        case ast.Expr(value=ast.Call()):
            yield source.instead(node, "pass", "call left out")
        case ast.comprehension(ifs=conditions):
            for condition in conditions:
                yield source.instead(condition, "True", "filter left out")
        case ast.If(test=test):
            yield source.instead(test, "False", "if never")
        case ast.Continue():
            yield source.instead(node, "pass", "continue left out")


class Bench:
    """A copy of the engine and its tests, in which one mutant at a time is tried."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        shutil.copytree(ROOT / ENGINE, folder / ENGINE)
        shutil.copytree(ROOT / "tests" / "engine", folder / "tests" / "engine")
        for shared in (Path("tests/support/engine"), Path("tests/vectors")):
            shutil.copytree(ROOT / shared, folder / shared)
        (folder / "fixtures").mkdir()
        shutil.copy(ROOT / "fixtures" / "ladder.toml", folder / "fixtures")
        for package in ("readiness", "tests", "tests/support"):
            (folder / package / "__init__.py").touch()
        (folder / "pytest.ini").write_text("[pytest]\naddopts = -q -x -p no:cacheprovider\n")

    def survives(self, source: Source, mutant: Mutant) -> bool:
        path = self.folder / ENGINE / f"{source.module}.py"
        path.write_bytes(mutated(source, mutant))
        try:
            return self.green(QUICK) and self.green(SLOW)
        finally:
            path.write_bytes(source.raw)

    def green(self, names: tuple[str, ...]) -> bool:
        """Run tests in a fork, which alone imports the engine as it now stands."""
        child = os.fork()
        if child == 0:
            self._test(names)
        _, status = os.waitpid(child, 0)
        return status == 0

    def _test(self, names: tuple[str, ...]) -> None:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        os.chdir(self.folder)
        sys.path.insert(0, str(self.folder))
        for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "readiness")]:
            del sys.modules[name]
        sys.dont_write_bytecode = True
        signal.setitimer(signal.ITIMER_PROF, PATIENCE_SECONDS)
        places = [f"tests/engine/{name}" for name in names]
        files = [place if Path(place).is_dir() else f"{place}.py" for place in places]
        plugins = ["-p", "no:xdist", "-p", "no:django", "-p", "no:playwright"]
        try:
            code = int(pytest.main([*plugins, *files]))
        except BaseException:  # noqa: BLE001
            code = 1
        os._exit(code)


def try_part(module: str, part: int, parts: int) -> list[Mutant]:
    """The survivors among every ``parts``-th mutant of a module."""
    source = Source(module)
    survivors = []
    with tempfile.TemporaryDirectory(prefix="ladder-mutants-") as folder:
        bench = Bench(Path(folder))
        assert bench.green(QUICK), "the engine's tests fail before anything is broken"
        for mutant in mutants_of(source)[part::parts]:
            if bench.survives(source, mutant):
                survivors.append(mutant)
                print(f"survived {module}:{mutant.line} {mutant.change}: {mutant.text}", flush=True)
    return survivors


def read_equivalent() -> Counter[tuple[str, str, str]]:
    with EQUIVALENT.open("rb") as file:
        listed = tomllib.load(file)["mutant"]
    return Counter(
        {(one["module"], one["text"], one["change"]): one.get("times", 1) for one in listed}
    )


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutate", description=__doc__)
    parser.add_argument("modules", nargs="*", default=MODULES, metavar="MODULE")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    options = parser.parse_args(arguments)
    began = time.monotonic()
    total = sum(len(mutants_of(Source(module))) for module in options.modules)
    work = [(module, part, options.jobs * 4) for module in options.modules
            for part in range(options.jobs * 4)]  # fmt: skip
    with multiprocessing.get_context("spawn").Pool(options.jobs) as pool:
        by_part = pool.starmap(try_part, work, chunksize=1)
    survivors = [mutant for part in by_part for mutant in part]
    unlisted = Counter(mutant.name for mutant in survivors) - read_equivalent()
    minutes = (time.monotonic() - began) / 60
    print(f"{total} mutants, {len(survivors)} survived, {sum(unlisted.values())} of them not")
    print(f"listed as equivalent; {minutes:.0f} minutes")
    for (module, text, change), times in sorted(unlisted.items()):
        print(f"NOT LISTED {module} ({times}x) {change}: {text}")
    return 1 if unlisted else 0


if __name__ == "__main__":
    sys.exit(main())
