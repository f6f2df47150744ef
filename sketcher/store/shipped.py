"""What travels with the program: the page's files and the example documents."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]

#: The example that is shown when the program starts without a document.
DEMO = "riser-bench"


def folder(name: str) -> Path:
    """``static`` or ``examples``: within the installed package, or beside it in a checkout."""
    inside = _PACKAGE / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


def examples() -> dict[str, Path]:
    """The example documents by name."""
    return {path.stem: path for path in sorted(folder("examples").glob("*.json"))}
