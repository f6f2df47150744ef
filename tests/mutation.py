"""Mutation testing: each run changes one small thing in one module and asks whether a test notices.

``python -m tests.mutation`` runs the modules of ``TESTS``; ``python -m tests.mutation geometry/path --sample 40``
one of them, with forty changes drawn by a fixed seed. ``docs/mutation.md`` has the figures, and why what survives does.
It works on a copy of the tree and forks for every change, so it needs a POSIX system; it is no part of the test run.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
#: Which tests are asked about a module: those of its subject, not the whole suite.
TESTS: dict[str, tuple[str, ...]] = {
    "document/consistency": ("tests/document/test_consistency.py",),
    "document/survey_consistency": ("tests/document/test_consistency.py",),
    "geometry/path": ("tests/geometry/test_path.py", "tests/geometry/test_sweep.py", "tests/geometry/test_meetings.py"),
    "geometry/offset": ("tests/geometry/test_path.py", "tests/geometry/test_shapes.py"),
    "flow/network": ("tests/flow/test_network.py", "tests/flow/test_ducts.py", "tests/published/test_flow_networks.py"),
    "store/plates": ("tests/store",),
    "export/cuts": ("tests/export/test_test_piece.py", "tests/export/test_final.py"),
    "export/test_piece": ("tests/export/test_test_piece.py",),
    "checks/walls": ("tests/checks/test_limits.py", "tests/checks/test_rules.py"),
    "strength/groove": ("tests/strength/test_groove.py",),
    "survey/adjustment": (
        "tests/published/test_survey_examples.py",
        "tests/published/test_survey_independent.py",
        "tests/survey",
    ),
    "trial/registration": ("tests/trial", "tests/published/test_registration.py"),
}
#: Longer than this and the change has made something run for ever, s.
PATIENCE = 300

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


def mutant(tree: ast.Module, place: tuple[int, int]) -> tuple[int, str, ast.Module]:
    """One change: its line, what it is in words, and the changed module."""
    changed = copy.deepcopy(tree)
    node = next(node for at, node in enumerate(ast.walk(changed)) if at == place[0])
    return getattr(node, "lineno", 0), _change(node, changed, place[1]), changed


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


def run(module: str, sample: int, seed: int) -> tuple[int, list[tuple[int, str]]]:
    """How many changes a module's tests were asked about, and those that none of them noticed."""
    with tempfile.TemporaryDirectory() as held:
        tree = Path(held) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".venv", ".git", "__pycache__", "node_modules", ".*"))
        path = tree / "sketcher" / f"{module}.py"
        text = path.read_text(encoding="utf-8")
        plain = ast.parse(text)
        drawn = places(plain)
        if sample and sample < len(drawn):
            drawn = random.Random(seed).sample(drawn, sample)
        found = sorted((mutant(plain, place) for place in drawn), key=lambda entry: entry[0])
        if not passes(tree, TESTS[module]):
            raise SystemExit(f"{module}: its tests fail as it is")
        left = []
        for number, (line, words, changed) in enumerate(found, 1):
            path.write_text(ast.unparse(changed), encoding="utf-8")
            alive = passes(tree, TESTS[module])
            path.write_text(text, encoding="utf-8")
            if alive:
                left.append((line, words))
                print(f"  {module}.py:{line}  {words}", flush=True)
            print(f"\r{number}/{len(found)}", end="", file=sys.stderr, flush=True)
        return len(found), left


def passes(tree: Path, tests: tuple[str, ...]) -> bool:
    """Whether the tests pass on a tree, in a process of its own that has the large libraries already."""
    child = os.fork()
    if not child:
        os.setsid()
        os.chdir(tree)
        # What the parent runs from is not to be found: the copy is.
        sys.path[:] = [str(tree), *(entry for entry in sys.path if entry not in ("", str(ROOT)))]
        for name in [name for name in sys.modules if name.split(".")[0] == "tests"]:
            del sys.modules[name]
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        import pytest

        options = ["-x", "-q", "-p", "no:cacheprovider", "--hypothesis-profile=mutation", "--rootdir", str(tree)]
        try:
            os._exit(int(pytest.main([*options, *tests])))
        finally:
            os._exit(70)
    for _ in range(PATIENCE * 20):
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return status == 0
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def main() -> None:
    """Runs what the command line asks for, and prints a row of the table for each module."""
    asked = argparse.ArgumentParser(description="Mutation testing of one module, or of all that are listed.")
    asked.add_argument("modules", nargs="*", help="such as geometry/path")
    asked.add_argument("--sample", type=int, default=0, help="so many changes, drawn by the seed; all when not given")
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    sys.dont_write_bytecode = True
    # Imported once, before the forks: they take longer than many a test.
    import fluids  # noqa: F401
    import pydantic  # noqa: F401
    import scipy.optimize  # noqa: F401
    import shapely  # noqa: F401

    for module in options.modules or TESTS:
        count, left = run(module, options.sample, options.seed)
        print(f"| `{module}` | {count} | {count - len(left)} | {len(left)} |", flush=True)


if __name__ == "__main__":
    main()
