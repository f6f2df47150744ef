"""The words about the project are true: links lead somewhere, commands exist, every page can be found."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sketcher.cli import _parser

ROOT = Path(__file__).parents[2]
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md"), *(ROOT / "examples").glob("*.md")])
#: The commands as the design has them.
COMMANDS = ("serve", "check", "flow", "survey", "export", "fit", "handoff", "schema")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", page.read_text(encoding="utf-8")):
        if not target.startswith(("http://", "https://", "mailto:")):
            assert (page.parent / target).exists(), target


def test_every_page_of_the_docs_can_be_reached_from_the_top() -> None:
    reached = "".join((ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md"))
    for page in (ROOT / "docs").glob("*.md"):
        assert f"docs/{page.name}" in reached, page.name


def test_the_readme_has_every_command_and_the_program_too() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    known = _parser().format_help()
    for command in COMMANDS:
        assert f"plate-sketcher {command}" in text
        assert command in known


def test_the_readme_begins_with_the_job_in_one_paragraph() -> None:
    title, job, *_ = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")
    assert title.startswith("# ")
    assert len(job.split()) > 60
    assert not job.startswith(("#", "-", "|"))


def test_nothing_names_a_place_of_one_machine() -> None:
    for path in [*PAGES, *ROOT.glob("sketcher/**/*.py"), *ROOT.glob("static/**/*.js"), *ROOT.glob("tests/**/*.py")]:
        if path != Path(__file__):
            assert not re.search(r"/work/|/root/|C:\\Users", path.read_text(encoding="utf-8")), path


def test_every_command_says_what_it_does() -> None:
    for name in ("check", "export", "fit"):
        with pytest.raises(SystemExit) as stopped:
            _parser().parse_args([name, "--help"])
        assert stopped.value.code == 0
