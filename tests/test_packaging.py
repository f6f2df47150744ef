"""What is installed is whole: the wheel carries the page and the examples."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def test_the_wheel_carries_the_page_and_the_examples(tmp_path: Path) -> None:
    pytest.importorskip("hatchling", reason="hatchling builds the wheel; without it pip would need the network")
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    subprocess.run([*command, "--disable-pip-version-check", "--wheel-dir", tmp_path, ROOT], check=True)
    (wheel,) = tmp_path.glob("*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder, inside in (("static", "sketcher/static"), ("examples", "sketcher/examples")):
        for path in (ROOT / folder).rglob("*"):
            if path.is_file():
                assert f"{inside}/{path.relative_to(ROOT / folder).as_posix()}" in names
    assert {name for name in names if name.startswith("sketcher/reference/data/")}
    assert not any(name.startswith("tests/") for name in names)
