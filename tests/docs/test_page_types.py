"""The page is typed: where it says ``any``, it says why."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from sketcher.server.page_format import DATA, written

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


def defaults_of_the_page() -> dict[str, dict[str, object]]:
    """By model and key, as the page's generated file has them."""
    text = (ROOT / "static" / "format.js").read_text("utf-8")
    table = re.search(r"export const DEFAULTS = [^{]*\{\n(.*?)\n\}", text, re.S)
    assert table
    rows = re.findall(r"^  (\w+): (\{.*\}),$", table[1], re.M)
    return {model: json.loads(row) for model, row in rows}


def written_by_hand(defaults: dict[str, dict[str, object]]) -> list[str]:
    """Where the page would go on saying what the format said once: ``item.bend_radius_mm ?? 10``.

    0 and no may stand for a key that is left out as long as the format says the same of it everywhere. Words are a
    default's when the format has the same for the key; others are said where something is not there.
    """
    known: dict[str, list[object]] = {}
    for model in defaults.values():
        for key, value in model.items():
            known.setdefault(key, []).append(value)
    again = []
    for path in sorted(ROOT.glob("static/**/*.js")):
        for key, value in LEFT_OUT.findall(path.read_text("utf-8")):
            said, meant = json.loads(value), known.get(key, [])
            if isinstance(said, str):
                told = said != "" and said in meant
            else:
                told = bool(meant) and (bool(said) or any(said != one for one in meant))
            if told:
                again.append(f"{path.relative_to(ROOT)}: {key} ?? {value}")
    return again


#: ``.key ?? 10``, and the same with words or yes and no.
LEFT_OUT = re.compile(r'\.(\w+) (?:\?\?|\|\|) (-?\d+(?:\.\d+)?|"[^"]*"|true|false)(?![\w.])')


def test_the_page_keeps_no_default_of_the_format_a_second_time() -> None:
    defaults = defaults_of_the_page()
    assert defaults["Channel"]["bend_radius_mm"]
    assert written_by_hand(defaults) == []


@pytest.mark.parametrize(
    ("model", "key", "other"),
    [
        ("Rectangle", "corner_radius_mm", 2),
        ("Vertex", "bulge", 0.5),
        ("Board", "turn_deg", 90),
        ("Board", "z_mm", 60),
        ("Board", "x_mm", 5),
    ],
)
def test_a_default_that_the_format_changes_is_missed_where_the_page_writes_nothing_for_it(
    model: str, key: str, other: object
) -> None:
    defaults = defaults_of_the_page()
    assert key in defaults[model]
    defaults[model][key] = other
    assert any(f": {key} ??" in line for line in written_by_hand(defaults))


def test_no_default_of_the_format_can_be_changed_in_the_page_alone() -> None:
    """Five of them, the bend radius among them: the generated file is no longer what the schema gives."""
    fresh = written()[DATA]
    for model, key in (
        ("Channel", "bend_radius_mm"),
        ("Port", "fitting_diameter_mm"),
        ("Seal", "squeeze_percent"),
        ("Loop", "room_c"),
        ("Reading", "kind"),
    ):
        (line,) = re.findall(rf"^  {model}: \{{.*\}},$", fresh.split("export const DEFAULTS")[1].split("\n}")[0], re.M)
        value = json.dumps(defaults_of_the_page()[model][key])
        changed = line.replace(f'"{key}": {value}', f'"{key}": "other"')
        assert changed != line, (model, key)
        assert fresh.replace(line, changed) != (ROOT / "static" / DATA).read_text("utf-8")
    assert fresh == (ROOT / "static" / DATA).read_text("utf-8")
