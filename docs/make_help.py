"""Writes the page's help from the docs: ``python docs/make_help.py`` makes ``static/helptexts.js``.

The tutorial (first-plate.md) and the glossary stand in the docs; the page shows the same words beside the work.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
#: The page's steps by the tutorial's headings.
STEPS = {
    "Measure": "measure",
    "Lay out": "lay-out",
    "Run channels": "channels",
    "Check": "check",
    "Test piece": "test-piece",
    "Hand off": "hand-off",
}


def plain(text: str) -> str:
    """Markdown as plain words."""
    text = re.sub(r"!?\[([^\]]*)\]\([^)]*\)", r"\1", text)
    return re.sub(r"[*`]", "", " ".join(text.split()))


def tutorial() -> dict[str, list[str]]:
    """The paragraphs of each step, without pictures."""
    text = (ROOT / "docs" / "first-plate.md").read_text("utf-8")
    found: dict[str, list[str]] = {}
    for title, body in re.findall(r"^## \d\. ([^\n]+)\n(.*?)(?=^## |\Z)", text, re.M | re.S):
        if title in STEPS:
            parts = [part for part in body.split("\n\n") if part.strip() and not part.strip().startswith("![")]
            found[STEPS[title]] = [plain(part) for part in parts]
    return found


def glossary() -> list[tuple[str, str]]:
    """The words and their meanings."""
    rows = re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", (ROOT / "docs" / "glossary.md").read_text("utf-8"), re.M)
    return [(plain(word), plain(meaning)) for word, meaning in rows if word != "word" and not word.startswith("---")]


def written() -> str:
    """The module."""

    def constant(name: str, kind: str, value: object) -> str:
        return f"/** @type {{{kind}}} */\nexport const {name} = {json.dumps(value, ensure_ascii=False, indent=2)};\n"

    head = "/** The page's help, written from docs/first-plate.md and docs/glossary.md by docs/make_help.py. */\n\n"
    how = constant("HOW", "Record<string, string[]>", tutorial())
    return head + how + "\n" + constant("WORDS", "[string, string][]", glossary())


if __name__ == "__main__":
    (ROOT / "static" / "helptexts.js").write_text(written(), encoding="utf-8")
