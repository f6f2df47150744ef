"""What is installed is whole: the wheel carries the page and the examples."""

from __future__ import annotations

import ast
import importlib.metadata
import os
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The project's wheel, built once."""
    pytest.importorskip("hatchling", reason="hatchling builds the wheel; without it pip would need the network")
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    subprocess.run([*command, "--disable-pip-version-check", "--wheel-dir", folder, ROOT], check=True)
    (built,) = folder.glob("*.whl")
    return built


def test_the_wheel_carries_the_page_and_the_examples(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder, inside in (("static", "sketcher/static"), ("examples", "sketcher/examples")):
        for path in (ROOT / folder).rglob("*"):
            if path.is_file():
                assert f"{inside}/{path.relative_to(ROOT / folder).as_posix()}" in names
    assert {name for name in names if name.startswith("sketcher/reference/data/")}
    assert not any(name.startswith("tests/") for name in names)


def test_what_is_installed_serves_its_own_page_and_demo(wheel: Path, tmp_path: Path) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path)
    program = """
from pathlib import Path
import sketcher, sketcher.server
from sketcher.store import shipped
home = Path(sketcher.__file__).parent
app = sketcher.server.create_app(Path("data"))
client = app.test_client()
client.environ_base["HTTP_AUTHORIZATION"] = "Bearer " + app.extensions["keys"].token
assert shipped.folder("static") == home / "static" and shipped.folder("examples") == home / "examples"
assert client.get("/").status_code == 200 and client.get("/static/main.js").status_code == 200
assert client.post("/api/plates", json={"example": shipped.DEMO}).status_code == 201
print(home)
"""
    told = subprocess.run(
        [sys.executable, "-c", program],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stderr
    assert Path(told.stdout.strip()) == tmp_path / "sketcher"


def test_every_module_of_the_wheel_can_be_imported(wheel: Path, tmp_path: Path) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path)
    program = """
import importlib, pkgutil, sys, sketcher
names = [module.name for module in pkgutil.walk_packages(sketcher.__path__, "sketcher.")]
for name in names:
    if not name.endswith((".__main__", ".describe", ".make_coolants")):  # those are run, not imported
        importlib.import_module(name)
assert len(names) > 80, names
heavy = {"CoolProp", "iapws", "wntr", "skfem", "hypothesis", "pytest"} & set(sys.modules)
assert not heavy, heavy  # what only the tests need is not needed by the program
"""
    environment = {**os.environ, "PYTHONPATH": str(tmp_path)}
    subprocess.run([sys.executable, "-c", program], cwd=tmp_path, env=environment, check=True)


def test_the_wheel_declares_its_command(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as opened:
        (points,) = [name for name in opened.namelist() if name.endswith("entry_points.txt")]
        assert "plate-sketcher = sketcher.cli:main" in opened.read(points).decode("utf-8")
        assert any(name.endswith("licenses/LICENSE") for name in opened.namelist())


def _declared() -> tuple[set[str], set[str]]:
    """What running needs, the extras that it uses where they are there included, and what the tests need."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]

    def names(requirements: list[str]) -> set[str]:
        return {re.split(r"[<>=!~; \[]", requirement)[0].lower() for requirement in requirements}

    extras = project["optional-dependencies"]
    return names(project["dependencies"]) | names(extras["solid"]), names(extras["test"])


def _imported(folder: str) -> dict[str, Path]:
    """Every top-level module that is imported from outside, with a file that does it."""
    found: dict[str, Path] = {}
    for path in (ROOT / folder).rglob("*.py"):
        if path.name.startswith("make_"):
            continue  # makes a table that is shipped, with what the tests have
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0]: path for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                found[str(node.module).split(".")[0]] = path
    return {
        module: path
        for module, path in found.items()
        if module not in sys.stdlib_module_names and module not in ("sketcher", "tests")
    }


@pytest.mark.parametrize("folder", ["sketcher", "tests"])
def test_everything_that_is_imported_is_declared(folder: str) -> None:
    needed, for_tests = _declared()
    allowed = needed if folder == "sketcher" else needed | for_tests
    homes = importlib.metadata.packages_distributions()
    for module, path in _imported(folder).items():
        distributions = {name.lower() for name in homes.get(module, [module])}
        # Two halves of declared ones: Flask's errors are Werkzeug's, pydantic's are pydantic-core's.
        assert distributions & (allowed | {"werkzeug", "pydantic_core"}), (module, path)


def test_everything_that_is_declared_is_accounted_for() -> None:
    needed, for_tests = _declared()
    words = (ROOT / "docs" / "decisions.md").read_text(encoding="utf-8").lower()
    for name in sorted(needed | for_tests):
        assert name.removeprefix("types-") in words, name
