"""A module is one idea: none is longer than 500 lines, in the program as in the page."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parents[2]
MOST = 500


def test_no_module_is_longer_than_500_lines() -> None:
    modules = [*ROOT.glob("sketcher/**/*.py"), *ROOT.glob("static/**/*.js")]
    assert len(modules) > 200
    # What is generated is as long as the format.
    modules = [p for p in modules if p.name != "format.js"]
    lengths = {str(p.relative_to(ROOT)): len(p.read_text("utf-8").splitlines()) for p in modules}
    assert {name: n for name, n in lengths.items() if n > MOST} == {}
