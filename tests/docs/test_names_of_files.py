"""One file name, one idea: whoever reads ``orders`` in an import knows which orders are meant."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[2]
#: Names that stand in more than one folder, each with the one idea that it stands for everywhere.
SHARED = {
    "__init__.py": "Python's own name",
    "describe.py": "writes a folder's tables into its page of the docs",
    "wording.py": "a folder's results as sentences",
}


def test_no_file_name_stands_for_two_ideas() -> None:
    found = defaultdict(list)
    for pattern in ("sketcher/**/*.py", "static/**/*.js"):
        for path in ROOT.glob(pattern):
            found[path.name].append(path.relative_to(ROOT).as_posix())
    assert len(found) > 400
    assert {name: sorted(paths) for name, paths in found.items() if len(paths) > 1 and name not in SHARED} == {}
    assert [name for name in SHARED if len(found[name]) < 2] == [], "no longer shared: take it out"
