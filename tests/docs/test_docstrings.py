"""Every public thing says what it is, and names no argument that it does not have."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = [*sorted((ROOT / "sketcher").rglob("*.py")), ROOT / "run.py"]
Thing = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef


def public(node: ast.Module | ast.ClassDef, inside: str = "") -> Iterator[tuple[str, Thing]]:
    """Classes, functions and methods whose names do not begin with an underscore, not those within functions."""
    for child in node.body:
        if isinstance(child, Thing) and not child.name.startswith("_"):
            yield f"{inside}{child.name}", child
            if isinstance(child, ast.ClassDef):
                yield from public(child, f"{child.name}.")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_every_public_thing_has_a_docstring(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    if tree.body:
        assert ast.get_docstring(tree), "the module says nothing about itself"
    assert [name for name, thing in public(tree) if not ast.get_docstring(thing)] == []


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_arguments_that_are_described_exist(path: Path) -> None:
    for name, thing in public(ast.parse(path.read_text(encoding="utf-8"))):
        described = re.search(r"^Args:\n((?:    .*\n?|\n)+)", ast.get_docstring(thing) or "", re.M)
        if not described or isinstance(thing, ast.ClassDef):
            continue
        args = thing.args
        known = {arg.arg for arg in [*args.posonlyargs, *args.args, *args.kwonlyargs, args.vararg, args.kwarg] if arg}
        for names in re.findall(r"^    ([\w, *`]+):", described[1], re.M):
            for argument in re.split(r"[,\s]+", names.replace("*", "").replace("`", "")):
                assert argument in known, f"{name}: {argument}"


def test_modules_are_one_idea_long() -> None:
    """At 600 lines a module is two."""
    for path in [*MODULES, *(ROOT / "static").rglob("*.js")]:
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 600, path
