"""What is installed is whole: the wheel carries the page and the examples."""

from __future__ import annotations

import os
import subprocess
import sys
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
client = sketcher.server.create_app(Path("data")).test_client()
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
