"""Mutation testing: each run changes one small thing in one module and asks whether a test notices.

``python -m tests.mutation`` runs the modules of ``TESTS``; ``python -m tests.mutation geometry/path --sample 40``
one of them, with forty changes drawn by a fixed seed. ``docs/mutation.md`` has the figures, and why what survives does.
It forks for every change, so it needs a POSIX system; it works on a copy of the tree, and is no part of the
test run.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import copy
import gc
import importlib
import io
import json
import os
import random
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType, FrameType, FunctionType, ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
#: Which tests are asked about a module: those of its subject, not the whole suite, and without two that take minutes.
TESTS: dict[str, tuple[str, ...]] = {
    "document/consistency": ("tests/document/test_consistency.py",),
    "document/survey_consistency": ("tests/document/test_consistency.py",),
    "geometry/path": (
        "tests/geometry/test_path.py",
        "tests/geometry/test_stretches.py",
        "tests/geometry/test_meetings.py",
    ),
    "geometry/offset": ("tests/geometry/test_path.py", "tests/geometry/test_stretches.py"),
    "flow/network": (
        "tests/flow/test_newton.py",
        "tests/flow/test_network.py",
        "tests/published/test_flow_networks.py",
    ),
    "store/plates": ("tests/store",),
    "export/cuts": ("tests/export/test_cuts.py", "tests/export/test_test_piece.py", "tests/export/test_final.py"),
    "export/test_piece": ("tests/export/test_test_piece.py", "tests/export/test_test_piece_marks.py"),
    "checks/walls": (
        "tests/checks/test_walls.py",
        "tests/checks/test_limits.py",
        "tests/checks/test_rules.py",
        "tests/checks/test_fixes.py",
        "tests/checks/test_near.py",
        "tests/checks/test_brute.py",
        "--deselect=tests/checks/test_rules.py::test_findings_turn_and_move_with_the_plate",
    ),
    "strength/groove": ("tests/strength/test_groove.py",),
    "survey/adjustment": (
        "tests/survey/test_adjustment.py",
        "tests/survey/test_survey.py",
        "tests/survey/test_slips_by_brute_force.py",
        "--deselect=tests/survey/test_survey.py::test_no_survey_however_wild_gives_nan_or_a_traceback",
    ),
    "trial/registration": (
        "tests/trial/test_registration.py",
        "tests/trial/test_registration_limits.py",
        "tests/trial/test_standing_out.py",
        "tests/trial/test_trial.py",
        "tests/trial/test_pieces.py",
        "tests/published/test_registration.py",
        "tests/published/test_trial_statistics.py",
    ),
}
#: So many times what the tests take on the module as it is, and the change has made something run for ever.
PATIENCE = 5
OPTIONS = ("-x", "-q", "-p", "no:cacheprovider", "--hypothesis-profile=mutation")

SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
DROPPED = (ast.Expr, ast.AugAssign, ast.Raise, ast.Continue, ast.Break)


def places(tree: ast.Module) -> list[tuple[int, int]]:
    """Every change there is: the node's number in the order of ``ast.walk``, and which of its ways."""
    quiet = _quiet(tree)
    return [(at, turn) for at, node in enumerate(ast.walk(tree)) if node not in quiet for turn in range(_ways(node))]


@dataclass(frozen=True)
class Mutant:
    """One change: its line, what it is in words, the changed module, and whether it lies in a function's body."""

    line: int
    words: str
    tree: ast.Module
    inside: bool


def mutant(tree: ast.Module, place: tuple[int, int]) -> Mutant:
    """The module with one of its places changed."""
    changed = copy.deepcopy(tree)
    node = next(node for at, node in enumerate(ast.walk(changed)) if at == place[0])
    inside = any(
        node in set(ast.walk(part))
        for outer in ast.walk(changed)
        if isinstance(outer, ast.FunctionDef)
        for part in outer.body
    )
    words = _change(node, changed, place[1])
    return Mutant(getattr(node, "lineno", 0), words, ast.fix_missing_locations(changed), inside)


def _ways(node: ast.AST) -> int:
    if isinstance(node, ast.Compare):
        return len(node.ops)
    if isinstance(node, ast.AugAssign):
        return 2
    if isinstance(node, (ast.BinOp, ast.BoolOp)):
        return int(type(node.op) in SWAPS)
    if isinstance(node, ast.UnaryOp):
        return int(isinstance(node.op, (ast.Not, ast.USub)))
    if isinstance(node, ast.Constant):
        return int(isinstance(node.value, (bool, int, float)))
    return int(isinstance(node, (ast.If, ast.While, ast.IfExp, *DROPPED)))


def _quiet(tree: ast.Module) -> set[ast.AST]:
    quiet: set[ast.AST] = set()
    for node in ast.walk(tree):
        parts: list[ast.AST | None] = []
        if isinstance(node, ast.FunctionDef):
            parts += [
                node.returns,
                *node.decorator_list,
                *(a.annotation for a in node.args.args + node.args.kwonlyargs),
            ]
        if isinstance(node, ast.AnnAssign):
            parts.append(node.annotation)
        if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            parts.append(node)
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            parts.append(node)
        for part in parts:
            quiet |= set(ast.walk(part)) if part is not None else set()
    return quiet


def _change(node: ast.AST, tree: ast.Module, turn: int) -> str:
    """Changes the node in place, in the given one of its ways, and says how."""
    before = ast.unparse(node)
    match node:
        case ast.Compare():
            node.ops[turn] = _swapped(node.ops[turn])
        case ast.BinOp() | ast.BoolOp():
            node.op = _swapped(node.op)
        case ast.AugAssign() if turn == 0:
            node.op = _swapped(node.op)
        case ast.UnaryOp():
            # Without its sign, or without its ``not``.
            node.op, node.operand = ast.UAdd(), node.operand
            if before.startswith("not "):
                node.op, node.operand = ast.Not(), ast.UnaryOp(ast.Not(), node.operand)
        case ast.Constant():
            node.value = not node.value if isinstance(node.value, bool) else node.value * 2 + 1
        case ast.If() | ast.While() | ast.IfExp():
            node.test = ast.Constant(value=False)
            return f"never: {before.splitlines()[0][:70]}"
        case _:
            _drop(node, tree)
            return f"left out: {before.splitlines()[0][:70]}"
    return f"{before[:50]}  →  {ast.unparse(node)[:50]}"


def _swapped(operator: ast.AST) -> ast.AST:
    return SWAPS.get(type(operator), type(operator))()


def _drop(node: ast.AST, tree: ast.Module) -> None:
    for parent in ast.walk(tree):
        for name in ("body", "orelse", "finalbody"):
            body = getattr(parent, name, None)
            if isinstance(body, list) and node in body:
                body[body.index(node)] = ast.Pass()


def run(module: str, sample: int, seed: int, lines: frozenset[int]) -> None:
    """Asks a module's tests about its changes; prints those that none noticed, and the row of the table."""
    with tempfile.TemporaryDirectory() as held:
        tree = Path(held) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".venv", ".git", "__pycache__", "node_modules", ".*"))
        path = tree / "sketcher" / f"{module}.py"
        plain = ast.parse(path.read_text(encoding="utf-8"))
        drawn = places(plain)
        if sample and sample < len(drawn):
            drawn = random.Random(seed).sample(drawn, sample)
        found = sorted((mutant(plain, place) for place in drawn), key=lambda entry: entry.line)
        if lines:
            found = [one for one in found if one.line in lines]
        os.chdir(tree)
        # What this runs from is not to be found: the copy is.
        sys.path[:] = [str(tree), *(entry for entry in sys.path if entry not in ("", str(ROOT)))]
        for name in [name for name in sys.modules if name.split(".")[0] == "tests"]:
            del sys.modules[name]
        asked = Asked(TESTS[module], path, Path(held) / "took.json")
        started = _children()
        if not passes(asked, None):
            raise SystemExit(f"{module}: its tests fail as it is")
        asked = replace(asked, limit=PATIENCE * (_children() - started))
        # Imported once, before the forks: that takes longer than many a test.
        with contextlib.redirect_stdout(io.StringIO()):
            pytest.main([*OPTIONS, "--collect-only", *asked.tests])
        for inside in (True, False):
            if not passes(asked, Mutant(1, "none", plain, inside)):
                raise SystemExit(f"{module}: its tests fail when it is put in unchanged")
        left = 0
        for number, one in enumerate(found, 1):
            if passes(asked, one):
                left += 1
                print(f"  {module}.py:{one.line}  {one.words}", flush=True)
            print(f"\r{number}/{len(found)}", end="", file=sys.stderr, flush=True)
        print(f"| `{module}` | {len(found)} | {len(found) - left} | {left} |", flush=True)


def _children() -> float:
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent.ru_utime + spent.ru_stime


@dataclass(frozen=True)
class Asked:
    """Which tests are asked about which module, where what they took is noted, and how long they may take.

    The limit is in seconds of the processor: that a machine is busy is no reason to call a change noticed.
    """

    tests: tuple[str, ...]
    path: Path
    took: Path
    limit: float = 3600


class Watching:
    """Notes for each test how long it takes and which lines of the module it goes through."""

    def __init__(self, asked: Asked) -> None:
        self.path, self.took = str(asked.path), asked.took
        self.lines: set[int] = set()
        self.seen: dict[str, tuple[float, list[int]]] = {}

    def _enter(self, frame: FrameType, event: str, given: object) -> Any:
        return self._within if frame.f_code.co_filename == self.path else None

    def _within(self, frame: FrameType, event: str, given: object) -> Any:
        self.lines.add(frame.f_lineno)
        return self._within

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.lines = set()
        started = time.process_time()
        sys.settrace(self._enter)
        yield
        sys.settrace(None)
        self.seen[item.nodeid] = (time.process_time() - started, sorted(self.lines))

    def pytest_sessionfinish(self) -> None:
        self.took.write_text(json.dumps(self.seen), encoding="utf-8")


class Sorting:
    """The tests that go through the line first, and of them the quick ones: most changes are noticed at once."""

    def __init__(self, asked: Asked, line: int) -> None:
        self.line = line
        self.seen: dict[str, tuple[float, list[int]]] = json.loads(asked.took.read_text(encoding="utf-8"))

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        def rank(item: pytest.Item) -> tuple[bool, float]:
            seconds, lines = self.seen.get(item.nodeid, (0.0, []))
            # What is changed may stand a line or two below the beginning of its statement.
            return not any(abs(line - self.line) < 4 for line in lines), seconds

        items.sort(key=rank)


def passes(asked: Asked, change: Mutant | None) -> bool:
    """Whether the tests pass, with a change or (noting what they take) without one, in a process of its own."""
    child = os.fork()
    if not child:
        os.setsid()
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        spent = time.process_time()
        # What has run for ever by then has not passed.
        resource.setrlimit(resource.RLIMIT_CPU, (int(spent + asked.limit) + 2, resource.RLIM_INFINITY))
        try:
            if change is not None:
                _put_in(asked.path, change)
            plugin = Watching(asked) if change is None else Sorting(asked, change.line)
            os._exit(int(pytest.main([*OPTIONS, *asked.tests], plugins=[plugin])))
        finally:
            os._exit(70)
    _, status = os.waitpid(child, 0)
    return status == 0


def _put_in(path: Path, change: Mutant) -> None:
    """Makes the change: in the functions that exist already, or else by importing everything again."""
    code = compile(change.tree, str(path), "exec")
    if change.inside:
        codes = {(part.co_qualname, part.co_firstlineno): part for part in _codes(code)}
        with contextlib.suppress(ValueError):  # another set of variables from outside: not to be put in so
            for function in gc.get_objects():
                if isinstance(function, FunctionType) and function.__code__.co_filename == str(path):
                    held = function.__code__
                    function.__code__ = codes.get((held.co_qualname, held.co_firstlineno), held)
            return
    for name in [name for name in sys.modules if name.split(".")[0] in ("sketcher", "tests")]:
        del sys.modules[name]
    changed = _Changed(path, code)
    sys.meta_path.insert(0, changed)
    # At once: pytest would take a module whose name begins with "test_" from the disk, for one of its own.
    importlib.import_module(changed.name)


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for part in code.co_consts:
        if isinstance(part, CodeType):
            yield from _codes(part)


class _Changed(MetaPathFinder, Loader):
    """Imports one module as the changed code."""

    def __init__(self, path: Path, code: CodeType) -> None:
        self.name = ".".join(path.relative_to(Path.cwd()).with_suffix("").parts)
        self.path, self.code = path, code

    def find_spec(self, name: str, path: object, target: object = None) -> ModuleSpec | None:
        return spec_from_file_location(name, self.path, loader=self) if name == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(self.code, module.__dict__)


def main() -> None:
    """Runs what the command line asks for, and prints a row of the table for each module."""
    asked = argparse.ArgumentParser(description="Mutation testing of one module, or of all that are listed.")
    asked.add_argument("modules", nargs="*", help="such as geometry/path")
    asked.add_argument("--sample", type=int, default=0, help="so many changes, drawn by the seed; all when not given")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--lines", default="", help="of those drawn, the changes on these lines alone, such as 12,40")
    options = asked.parse_args()
    sys.dont_write_bytecode = True
    lines = frozenset(int(line) for line in options.lines.split(",") if line)
    import fluids  # noqa: F401
    import scipy.optimize  # noqa: F401
    import shapely  # noqa: F401

    for module in options.modules or TESTS:
        # Each module has a process of its own, which imports the tree's copy.
        child = os.fork()
        if not child:
            try:
                run(module, options.sample, options.seed, lines)
                os._exit(0)
            except SystemExit as stopped:
                print(stopped, flush=True)
            finally:
                os._exit(1)
        os.waitpid(child, 0)


if __name__ == "__main__":
    main()
