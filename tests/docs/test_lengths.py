"""A module is one idea: none is longer than 500 lines, and no function than 60. The page counts as the program does."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MOST = 500
#: Of a function, its docstring not counted.
MOST_OF_A_FUNCTION = 60
#: Those that are longer, each with its reason. Take out what is no longer so.
LONGER: dict[str, str] = {}


def test_no_module_is_longer_than_500_lines() -> None:
    modules = [*ROOT.glob("sketcher/**/*.py"), *ROOT.glob("static/**/*.js")]
    assert len(modules) > 200
    # What is generated is as long as the format.
    modules = [p for p in modules if p.name != "format.js"]
    lengths = {str(p.relative_to(ROOT)): len(p.read_text("utf-8").splitlines()) for p in modules}
    assert {name: n for name, n in lengths.items() if n > MOST} == {}


def test_no_function_is_longer_than_60_lines_without_a_reason() -> None:
    found = {}
    for path in sorted([*ROOT.glob("sketcher/**/*.py"), *ROOT.glob("static/**/*.js")]):
        lengths = python_functions if path.suffix == ".py" else page_functions
        for name, length in lengths(path.read_text("utf-8")):
            if length > MOST_OF_A_FUNCTION:
                found[f"{path.relative_to(ROOT).as_posix()} {name}"] = length
    assert {name: length for name, length in found.items() if name not in LONGER} == {}
    assert set(LONGER) == set(found), "a reason for what is not long any more"


def python_functions(text: str) -> Iterator[tuple[str, int]]:
    """Names of the functions, and how many lines each has from its name to its end, without its docstring."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            first = node.body[0]
            said = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
            docstring = (first.end_lineno or 0) - first.lineno + 1 if said else 0
            yield node.name, (node.end_lineno or 0) - node.lineno + 1 - docstring


#: What looks like a function's parameters with a body behind them, and is none.
NO_NAME = {"if", "for", "while", "switch", "catch", "with"}


def page_functions(text: str) -> Iterator[tuple[str, int]]:
    """The same for a module of the page: functions, methods and arrow functions."""
    code = code_alone(text)
    partner = brackets(code)
    line = [0]
    for sign in code:
        line.append(line[-1] + (sign == "\n"))
    for match in re.finditer(r"\)\s*\{|=>\s*", code):
        if match[0].startswith(")"):
            before = code[: partner[match.start()]].rstrip()
            name = re.search(r"[\w$#]*$", before)
            assert name
            if name[0] in NO_NAME:
                continue
            start, end = name.start(), partner[match.end() - 1]
        else:
            start = code.rfind("\n", 0, match.start()) + 1
            end = end_of_arrow(code, partner, match.end())
            name = re.search(r"([\w$#]+)\s*[:=]\s*(?:async\s*)?(?:\([^=]*|[\w$]+\s*)$", code[start : match.start()])
        yield (name[name.lastindex or 0] if name else "") or "=>", line[end] - line[start] + 1


def end_of_arrow(code: str, partner: dict[int, int], at: int) -> int:
    """Where an arrow function's body ends that begins at a place."""
    if code[at] == "{":
        return partner[at]
    while code[at] not in ",;)]}":
        at = partner[at] + 1 if code[at] in "([{" else at + 1
    return at


def brackets(code: str) -> dict[int, int]:
    """The place of each bracket's partner."""
    partner, waiting = {}, []
    for at, sign in enumerate(code):
        if sign in "([{":
            waiting.append(at)
        elif sign in ")]}":
            start = waiting.pop()
            assert code[start] + sign in ("()", "[]", "{}"), code[start : at + 1][:200]
            partner[at], partner[start] = start, at
    assert not waiting
    return partner


TOKENS = re.compile(r'//[^\n]*|/\*.*?\*/|"(?:[^"\\\n]|\\.)*"|\'(?:[^\'\\\n]|\\.)*\'|`|/', re.S)
#: A slash behind one of these begins a pattern, behind anything else it divides.
PATTERN = re.compile(r"/(?:[^/\\\[\n]|\\.|\[(?:[^\]\\\n]|\\.)*\])+/[a-z]*")


def code_alone(text: str) -> str:
    """A module of the page, as long as it was, with blanks for comments, texts and patterns."""
    signs = list(text)

    def blank(start: int, end: int) -> None:
        signs[start:end] = ("\n" if sign == "\n" else " " for sign in text[start:end])

    at = 0
    while match := TOKENS.search(text, at):
        start, at = match.span()
        if match[0] == "`":
            at = end_of_template(text, start)
        elif match[0] == "/":
            before = "".join(signs[max(0, start - 200) : start]).rstrip()
            pattern = PATTERN.match(text, start) if not before or before[-1] in "(,=:[!&|?{};+>" else None
            if not pattern:
                continue
            at = pattern.end()
        blank(start, at)
    return "".join(signs)


def end_of_template(text: str, at: int) -> int:
    """Behind the template that begins at a place; what is put into it may hold templates and brackets itself."""
    at += 1
    while text[at] != "`":
        if text.startswith("${", at):
            depth, at = 1, at + 2
            while depth:
                depth += (text[at] == "{") - (text[at] == "}")
                at = end_of_template(text, at) if text[at] == "`" else at + 1
        else:
            at += 2 if text[at] == "\\" else 1
    return at + 1


LONG = "".join(f"  line({n});\n" for n in range(70))


@pytest.mark.parametrize(
    ("text", "name"),
    [
        (f"export async function longOne(a = {{}}) {{\n{LONG}}}\n", "longOne"),
        (f"class A {{\n  #hidden(a, b) {{\n{LONG}  }}\n}}\n", "#hidden"),
        (f"const quick = (a, {{ b }}) => {{\n{LONG}}};\n", "quick"),
        (f"const made = (a) =>\n  h('div', {{}}, [\n{LONG.replace(';', ',')}  ]);\n", "made"),
        (f"const one = {{\n  async remove(a) {{\n    // {{ \n{LONG}  }},\n}};\n", "remove"),
    ],
)
def test_a_long_function_of_the_page_is_seen(text: str, name: str) -> None:
    assert [found for found, length in page_functions(text) if length > 60] == [name]


@pytest.mark.parametrize(
    "text",
    [
        f"if (a) {{\n{LONG}}}\n",
        f"const a = `${{b.map((c) => `{{${{c}}`)}}\n{LONG}`;\nconst f = (x) => x / 2; /* {{ */\n",
        f"const r = /[{{/`]\\/(/g;\n{LONG}const f = () => {{}};\n",
    ],
)
def test_what_is_no_long_function_is_not_taken_for_one(text: str) -> None:
    assert [found for found, length in page_functions(text) if length > 60] == []


def test_a_long_function_of_the_program_is_seen() -> None:
    body = "".join(f"    line({n})\n" for n in range(70))
    assert list(python_functions(f'def long():\n    """{body}"""\n')) == [("long", 1)]
    assert list(python_functions(f'def long():\n    """."""\n{body}')) == [("long", 71)]
