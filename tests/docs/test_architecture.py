"""The picture of the architecture, the table of folders and the order that is enforced say the same."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]


def layers() -> list[str]:
    contract = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]["contracts"][0]
    return [str(layer) for layer in contract["layers"]]


def test_every_folder_is_a_layer() -> None:
    folders = {f"sketcher.{path.parent.name}" for path in ROOT.glob("sketcher/*/__init__.py")}
    assert folders | {"sketcher.cli"} == set(layers())


def test_the_picture_shows_every_layer() -> None:
    picture = (ROOT / "docs/architecture.md").read_text("utf-8").split("```mermaid")[1].split("```")[0]
    assert set(re.findall(r'"(sketcher\.\w+):', picture)) == set(layers())
    ends = set(re.findall(r"^  (\w+)", picture, re.M)) | set(re.findall(r"--> (\w+)", picture))
    assert ends == {layer.rpartition(".")[2] for layer in layers()} | {"page"}


def test_the_table_of_folders_is_in_the_order_of_the_layers() -> None:
    table = re.findall(r"^\| `sketcher/(\w+)(?:\.py|/)` \|", (ROOT / "DEVELOPERS.md").read_text("utf-8"), re.M)
    assert [f"sketcher.{name}" for name in table] == layers()
