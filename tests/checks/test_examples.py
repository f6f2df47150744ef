"""The examples: the sound ones have no errors, the wrong one has just what its comment file says."""

import re
from pathlib import Path

import pytest

from sketcher.checks import all_rules, counts, describe, run
from sketcher.document import dumps, read

EXAMPLES = Path(__file__).parents[2] / "examples"
DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.json")), ids=lambda path: path.stem)
def test_an_example_is_written_as_the_program_writes_it(path: Path) -> None:
    assert dumps(read(path)) == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["riser-bench", "small-board"])
def test_the_sound_examples_have_no_errors(name: str) -> None:
    assert counts(run(read(EXAMPLES / f"{name}.json")))["error"] == 0


def test_the_wrong_example_has_every_finding_that_its_comment_file_lists() -> None:
    rows = re.findall(r"^\| `([a-z-]+)` \| ([^|]+) \|", (EXAMPLES / "wrong-on-purpose.md").read_text("utf-8"), re.M)
    listed = {(rule, frozenset(items.replace(" ", "").split(","))) for rule, items in rows}
    seen = {(f.rule, frozenset(f.items)) for f in run(read(EXAMPLES / "wrong-on-purpose.json"))}
    assert len({rule for rule, _ in listed}) >= 10
    assert listed <= seen


def test_the_docs_have_every_rule_as_the_registry_has_it() -> None:
    text = (DOCS / "checks.md").read_text(encoding="utf-8")
    assert describe.renewed(text) == text, "run: python -m sketcher.checks.describe docs/checks.md"


def test_every_rule_gives_its_reason_and_its_source() -> None:
    for rule in all_rules():
        assert rule.reason, rule.name
        assert rule.source, rule.name
        assert re.fullmatch(r"[a-z0-9-]+", rule.name)
