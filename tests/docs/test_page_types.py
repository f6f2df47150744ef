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


def test_the_page_keeps_no_default_of_the_format_a_second_time() -> None:
    """``item.bend_radius_mm ?? 10`` would go on saying 10 when the format says something else."""
    text = (ROOT / "static" / "format.js").read_text("utf-8")
    table = re.search(r"export const DEFAULTS = [^{]*\{\n(.*?)\n\}", text, re.S)
    assert table
    known = set(re.findall(r'"(\w+)": -?\d*\.?\d*[1-9]', table[1]))
    assert {"bend_radius_mm", "offset_mm"} <= known
    again = []
    for path in sorted(ROOT.glob("static/**/*.js")):
        for key, value in re.findall(r"\.(\w+) \?\? (-?\d+(?:\.\d+)?)\b", path.read_text("utf-8")):
            if key in known and float(value):
                again.append(f"{path.relative_to(ROOT)}: {key} ?? {value}")
    assert again == []
