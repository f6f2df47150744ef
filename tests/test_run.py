"""``run.py``: what it installs and when, what it starts, and what it says when it cannot."""

from __future__ import annotations

import ast
import importlib.util
import os
import subprocess
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture
def run(tmp_path: Path) -> ModuleType:
    """``run.py`` as it would be in a fresh clone."""
    (tmp_path / "run.py").write_bytes((ROOT / "run.py").read_bytes())
    (tmp_path / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    spec = importlib.util.spec_from_file_location("run_in_a_clone", tmp_path / "run.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def commands(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """What would have been run; making ``.venv`` leaves a Python there, as it does in earnest."""
    seen: list[list[str]] = []

    def pretend(command: list[Any], **options: Any) -> subprocess.CompletedProcess[str]:
        seen.append([str(part) for part in command])
        if "venv" in seen[-1]:
            run.PYTHON.parent.mkdir(parents=True, exist_ok=True)
            run.PYTHON.touch()
        return subprocess.CompletedProcess(command, 0)

    def call(command: list[Any], **options: Any) -> int:
        seen.append([str(part) for part in command])
        return 0

    monkeypatch.setattr(run.subprocess, "run", pretend)
    monkeypatch.setattr(run.subprocess, "call", call)
    return seen


def test_only_the_standard_library_is_used() -> None:
    for node in ast.walk(ast.parse((ROOT / "run.py").read_text(encoding="utf-8"))):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        assert all(name.split(".")[0] in sys.stdlib_module_names for name in names), names


def test_an_old_python_can_read_it_far_enough_to_say_so() -> None:
    ast.parse((ROOT / "run.py").read_text(encoding="utf-8"), feature_version=(3, 7))


def test_a_fresh_clone_is_set_up_once_and_started(run: ModuleType, commands: list[list[str]]) -> None:
    assert run.main(["serve", "--no-browser"]) == 0
    made, installed, solid, started = commands
    assert made[1:3] == ["-m", "venv"]
    assert installed[1:4] == ["-m", "pip", "install"]
    assert installed[-1] == str(run.HERE)
    # The solid modeller is asked for by itself: where it has no wheel, the set-up goes on.
    assert solid[-1] == f"{run.HERE}[solid]"
    assert "--only-binary" in solid
    assert started == [str(run.PYTHON), "-m", "sketcher", "serve", "--no-browser"]
    commands.clear()
    run.main([])
    assert commands == [[str(run.PYTHON), "-m", "sketcher"]]


def test_the_tests_bring_what_they_need_and_take_arguments(run: ModuleType, commands: list[list[str]]) -> None:
    run.main(["test", "-k", "store"])
    assert commands[1][-1] == f"{run.HERE}[test]"
    assert commands[2] == [str(run.PYTHON), "-m", "pytest", "-k", "store"]
    commands.clear()
    run.main([])  # the tests' set-up is enough to start
    assert len(commands) == 1


def test_it_installs_again_when_the_project_changed(run: ModuleType, commands: list[list[str]]) -> None:
    run.main([])
    commands.clear()
    (run.HERE / "pyproject.toml").write_text("[project]\nname = 'more'\n", encoding="utf-8")
    run.main([])
    steps = [command[1:3] for command in commands]
    assert steps == [["-c", "import pip"], ["-m", "pip"], ["-m", "pip"], ["-m", "sketcher"]]


def test_without_a_wheel_of_the_solid_modeller_the_set_up_goes_on(
    run: ModuleType, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = run.subprocess.run

    def no_wheel(command: list[Any], **options: Any) -> subprocess.CompletedProcess[str]:
        done: subprocess.CompletedProcess[str] = before(command, **options)
        return subprocess.CompletedProcess(command, 1) if str(command[-1]).endswith("[solid]") else done

    monkeypatch.setattr(run.subprocess, "run", no_wheel)
    assert run.main(["check"]) == 0
    assert commands[-1] == [str(run.PYTHON), "-m", "sketcher", "check"]
    assert "STEP and STL files are left out; all else works" in capsys.readouterr().out


def test_a_venv_that_was_stopped_half_way_is_completed(
    run: ModuleType, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    run.PYTHON.parent.mkdir(parents=True)
    run.PYTHON.touch()
    pretend = run.subprocess.run

    def no_pip(command: list[Any], **options: Any) -> subprocess.CompletedProcess[str]:
        done = pretend(command, **options)
        return subprocess.CompletedProcess(command, 1) if "import pip" in command else done

    monkeypatch.setattr(run.subprocess, "run", no_pip)
    run.main([])
    assert ["-m", "venv"] in [command[1:3] for command in commands]


def test_what_stops_it_is_said(run: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    monkeypatch.setattr(run.subprocess, "run", lambda command, **options: subprocess.CompletedProcess(command, 1))
    assert run.main([]) == 2
    assert "python3-venv" in capsys.readouterr().err
    monkeypatch.setattr(run, "LEAST", (99, 0))
    assert run.main([]) == 2
    assert "99.0 or later" in capsys.readouterr().err


def test_the_paths_are_the_systems(run: ModuleType) -> None:
    inside = run.PYTHON.relative_to(run.VENV).as_posix()
    assert inside == ("Scripts/python.exe" if os.name == "nt" else "bin/python")
