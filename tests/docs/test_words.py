"""Every sentence that a user reads, held against words and patterns that are retired; and the glossary.

Read are the texts in the code (messages, titles, help), the page's texts, the tables' notes, README and docs. A line
that has to keep a word (a key of the format, a command) has it in code quotes; only texts with a space are sentences.
"""

from __future__ import annotations

import ast
import re
import runpy
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]

#: What is retired, as a pattern, and what is said instead.
RETIRED: dict[str, str] = {
    r"\bmends?\b|\bmended\b|\bmending\b": "fix, remedy",
    r"\breckon": "calculate",
    r"\bput(s|ting)? away\b|\btake(s|n)? back\b|\btook back\b": "delete, archive, restore",
    r"\bpicked\b": "selected",
    r"\banew\b": "again, new",
    r"\bseldom\b": "rarely",
    r"\bshall\b": "must, is to",
    r"\bwhoever\b": "anyone who, who",
    r"\bgo(es)? before\b": "takes precedence over",
    r"\bthere are (\S+ mm\b|…;)": "has n mm, needs m",
    r"\bis the (least|most)\b": "minimum, maximum",
    r"\b(at least|at most) \d+(\.\d+)? is wanted\b": "needs at least",
    r"\bdissolve": "ungroup",
    r"\bdo(ne)? again\b": "redo, redone",
    r"\bget on as a rule\b": "is usually compatible with",
    r"\bhand-off is packed\b": "package",
    r"\bwater way\b": "channel, passage",
    r"\bcut (\S+ )?loose\b": "stop following",
    r"\bscrew pitch\b": "screw spacing",
    r"\bmiddle line\b": "centreline",
    r"\bset aside\b": "excluded",
    r"\bto the water\b": "to the coolant",
    r"\bset down on the plate\b": "add to the plate",
    r"\bin itself\b": "by itself, on its own",
    r"\bmade tight by\b": "sealed by",
    r"\bstands? or lies\b": "orientation",
    r"\b(the|this|a|its) pack\b|\bpack (all|the)\b": "package",
    r", that counts\b": "use, applies",
    r"\bdraw (the|its) outline in\b": "make the plate smaller here",
    r"\bcut the plate out\b": "add a cutout",
    r"\blead the flow\b": "connect it into the loop",
    r"\bchange its two\b": "swap",
    r"\bmade tight\b(?! enough)": "sealed",
    r"\bcame back from the shop\b|\bnot as it was\b": "returned, differences",
    r"\bover the tolerances\b": "worst case",
    r"\bseal's pitch\b|\bthe pitch is\b": "screw spacing",
    r"\bnothing needs doing\b|\bdoings\b": "no action needed, actions",
    r"\bways meet\b": "passages meet",
    r"\btake in hand\b|\b(tool|hole|port) in hand\b": "use, tools",
    r"\bas a rule\b": "usually",
    r"\bof 0 (mm|W)\b": "no gauge where the limit is 0",
    r"\bserver away\b": "offline",
    r"\bmove the pen\b|\bmachine is set$": "cursor, match system",
    r"\bbox around the plate\b": "bounding box",
    r"\blength of the middle\b": "centreline length",
    r"\bto the right of its place\b": "offset in X",
    r"\bmore would buy\b|\bis and costs\b|\bin figures$": "gain, size and loss, details",
    r"\bmiddles, left\b|^row…$": "align centres, repeat in a row",
    r"\bhas no curve\b|\bstands? in, which\b": "no pressure-drop data for",
}
#: Texts that people read, by kind of file.
PROSE = (
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    *sorted(str(p.relative_to(ROOT)) for p in ROOT.glob("docs/*.md")),
)


def code_texts(path: Path) -> Iterator[tuple[int, str]]:
    """Texts in a Python file that have a space: messages, titles, help; … for each value put in. Docstrings are for
    contributors."""
    tree = ast.parse(path.read_text("utf-8"))
    quiet = {
        id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = (str(part.value) if isinstance(part, ast.Constant) else "…" for part in node.values)
            yield node.lineno, "".join(parts)
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in quiet
            and " " in node.value
        ):
            yield node.lineno, node.value


def page_texts(path: Path) -> Iterator[tuple[int, str]]:
    """Texts in a file of the page that have a space; comments are for contributors."""
    text = path.read_text("utf-8")
    if path.suffix == ".js":
        text = re.sub(r"/\*.*?\*/", lambda m: "\n" * m[0].count("\n"), text, flags=re.S)
        text = re.sub(r"(^|\s)//[^\n]*", r"\1", text)
        text = re.sub(r"\$\{[^{}]*\}", "…", text)
        found = re.finditer(r'"((?:[^"\\\n]|\\.)*)"|`((?:[^`\\]|\\.)*)`', text)
    else:
        found = re.finditer(r'>([^<>]+)<|(?:title|label|placeholder|content)="([^"]+)"', text)
    for match in found:
        said = match[1] or match[2] or ""
        if " " in said.strip():
            yield text.count("\n", 0, match.start()) + 1, said


def prose_texts(path: Path) -> Iterator[tuple[int, str]]:
    """Lines of a text without code: what stands in code quotes or between fences, or is set in by four spaces."""
    fenced = False
    for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
        fenced ^= line.startswith("```")
        if not fenced and not line.startswith("    "):
            yield number, re.sub(r"`[^`]*`", "", line)


def table_texts(path: Path) -> Iterator[tuple[int, str]]:
    """Texts in a table's file."""

    def inside(part: Any) -> Iterator[str]:
        if isinstance(part, str):
            yield part
        elif isinstance(part, (dict, list)):
            for value in part.values() if isinstance(part, dict) else part:
                yield from inside(value)

    for said in inside(tomllib.loads(path.read_text("utf-8"))):
        yield 0, said


def everything() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "sketcher").rglob("*.py")):
        yield from ((f"{path.relative_to(ROOT)}:{line}", said) for line, said in code_texts(path))
    for path in sorted([*(ROOT / "static").rglob("*.js"), *(ROOT / "static").rglob("*.html")]):
        yield from ((f"{path.relative_to(ROOT)}:{line}", said) for line, said in page_texts(path))
    for path in sorted((ROOT / "sketcher").rglob("*.toml")):
        yield from ((f"{path.relative_to(ROOT)}", said) for line, said in table_texts(path))
    for name in PROSE:
        yield from ((f"{name}:{line}", said) for line, said in prose_texts(ROOT / name))


@pytest.fixture(scope="module")
def texts() -> list[tuple[str, str]]:
    return list(everything())


def test_the_texts_are_found(texts: list[tuple[str, str]]) -> None:
    folders = {where.split("/")[0].split(":")[0] for where, _ in texts}
    assert {"sketcher", "static", "README.md", "docs"} <= folders
    assert len(texts) > 3000


@pytest.mark.parametrize("pattern", RETIRED)
def test_no_sentence_has_a_retired_word(texts: list[tuple[str, str]], pattern: str) -> None:
    found = [f"{where}: {said.strip()[:90]}" for where, said in texts if re.search(pattern, said, re.I)]
    assert not found, f"say {RETIRED[pattern]!r}:\n" + "\n".join(found)


#: Labels of one word, or that are a bare preposition: nobody knows what belongs there.
BARE = {
    "picked": "Selected", "whole": "Fit", "larger": "Zoom in", "smaller": "Zoom out", "rolled": "Rotation",
    "turned": "Rotation", "dissolve": "Ungroup", "mend": "Fix", "pen": "Cursor", "doings": "Actions", "old": "Outdated",
    "in all": "Count", "loose": "Undetermined", "dry": "unconnected",
    "from": "First point", "to": "Second point", "over": "Place", "on": "a noun", "by": "a noun", "opens to": "Face",
    "lid on the": "Lid side", "floor is of": "Floor material", "begin it": "Add", "what they say": "Survey result",
}  # fmt: skip


def test_no_label_is_a_retired_word_or_a_bare_preposition() -> None:
    labels = [
        (path.name, said)
        for path in sorted((ROOT / "static").rglob("*.js"))
        for said in re.findall(r'[,(?:] "([A-Z][\w ]*)"', path.read_text("utf-8"))
    ]
    assert len(labels) > 500
    assert [(name, said, BARE[said.lower()]) for name, said in labels if said.lower() in BARE] == []


GLOSSARY = ROOT / "docs" / "glossary.md"


def glossary() -> list[tuple[str, str]]:
    rows = re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", GLOSSARY.read_text("utf-8"), re.M)
    return [(word, meaning) for word, meaning in rows if word != "word" and not word.startswith("---")]


def test_every_word_of_the_glossary_is_used(texts: list[tuple[str, str]]) -> None:
    said = " ".join(text for where, text in texts if not where.startswith("docs/glossary.md")).lower()
    words = [word for word, _ in glossary()]
    assert len(words) == len(set(words)) > 30
    assert [word for word in words if not re.search(rf"\b{re.escape(word)}s?\b", said)] == []


def test_a_meaning_is_one_short_sentence() -> None:
    assert [word for word, meaning in glossary() if len(meaning.split()) > 25 or meaning.endswith(".")] == []


def test_the_pages_help_is_what_the_docs_say() -> None:
    """``python docs/make_help.py`` writes it again."""
    text = (ROOT / "static" / "helptexts.js").read_text("utf-8")
    made = runpy.run_path(str(ROOT / "docs" / "make_help.py"))["written"]()
    assert text == made
    assert {"measure", "lay-out", "channels", "check", "test-piece", "hand-off"} == set(
        re.findall(r'^  "([a-z-]+)": \[', made, re.M)
    )


def test_what_the_tutorial_tells_to_choose_is_on_the_page() -> None:
    """Names of steps, buttons and folds stand in bold in the tutorial; what is renamed is renamed there, too."""
    pages = [*(ROOT / "static").rglob("*.js"), *(ROOT / "static").rglob("*.html")]
    page = "\n".join(path.read_text("utf-8") for path in pages if path.name != "helptexts.js")
    told = re.findall(r"\*\*([^*]+)\*\*", (ROOT / "docs" / "first-plate.md").read_text("utf-8"))
    assert len(told) >= 8
    assert [name for name in told if f'"{name}"' not in page and f">{name}<" not in page] == []
