"""The page is typed: where it says ``any``, it says why."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
#: ``any`` as a type, alone or within one: {any}, Record<string, any>, any[].
ANY = re.compile(r"[{<,|(:]\s*any\s*[}>|\[,;]")


def test_every_any_has_its_reason_in_the_same_comment_or_line() -> None:
    silent = []
    paths = [*ROOT.glob("static/**/*.js"), ROOT / "static" / "types.d.ts"]
    for path in sorted(paths):
        text = path.read_text("utf-8")
        for match in ANY.finditer(text):
            # A type stands in a comment of its own, in one that goes on below it, or under one.
            start = text.rfind("\n", 0, text.rfind("\n", 0, match.start()))
            about = text[start : text.find("\n", text.find("*/", match.end()))]
            if "any: " not in about:
                silent.append(f"{path.relative_to(ROOT)}:{text.count(chr(10), 0, match.start()) + 1}")
    assert silent == []


def test_an_any_is_seen() -> None:
    for text in ("/** @param {any} a */", "/** @type {Record<string, any>} */", "export type A = Record<string, any>;"):
        assert ANY.search(text)
    assert not ANY.search("/** What any of them says, any time. */")
