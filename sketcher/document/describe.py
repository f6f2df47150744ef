"""The tables of keys in ``docs/format.md``, written from the models so that the two never part.

``python -m sketcher.document.describe docs/format.md`` brings the file up to date.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from sketcher.document.files import schema
from sketcher.document.kinds import KINDS, SURVEY_KINDS

BEGIN, END = "<!-- keys: begin -->", "<!-- keys: end -->"


def tables() -> str:
    """A table of keys for each part of a document, in the order in which they are first used."""
    described = schema()
    parts = [("Document", described)]
    order = _used(described, described["$defs"], [])
    parts += [(name, described["$defs"][name]) for name in order]
    return "\n\n".join([*(_table(name, part) for name, part in parts), _letters()])


def _letters() -> str:
    """The letter that a new id of each kind begins with."""
    rows = [f"| `{kind.letter}` | {kind.title} | `{'.'.join(kind.path)}` |" for kind in (*KINDS, *SURVEY_KINDS)]
    about = "What a new id begins with. One letter, one kind; a document that exists keeps the ids it has."
    return f"### Letters of ids\n\n{about}\n\n| letter | kind | key |\n| --- | --- | --- |\n" + "\n".join(rows)


def _used(part: Any, definitions: dict[str, Any], found: list[str]) -> list[str]:
    """Names of the definitions that a part refers to, itself first, then what they refer to."""
    if isinstance(part, dict):
        name = str(part.get("$ref", "")).rpartition("/")[2]
        if name and name not in found:
            found.append(name)
            _used(definitions[name], definitions, found)
        for key, value in part.items():
            if key != "$defs":
                _used(value, definitions, found)
    elif isinstance(part, list):
        for value in part:
            _used(value, definitions, found)
    return found


def _table(name: str, part: dict[str, Any]) -> str:
    about = part.get("description", "").split("\n\n")[0].replace("\n", " ").replace("``", "`")
    required = set(part.get("required", []))
    rows = [
        f"| `{key}` | {_kind(value)} | {_default(key, value, required)} | {value.get('description', '')} |"
        for key, value in part.get("properties", {}).items()
    ]
    head = "| key | holds | when left out | |\n| --- | --- | --- | --- |\n"
    return f"### {name}\n\n{about}\n\n{head}" + "\n".join(rows)


def _kind(value: dict[str, Any]) -> str:
    if "$ref" in value:
        return str(value["$ref"]).rpartition("/")[2]
    if "const" in value:
        return f"`{value['const']}`"
    if "enum" in value:
        return ", ".join(f"`{member}`" for member in value["enum"])
    for choice in ("anyOf", "oneOf"):
        if choice in value:
            return " or ".join(_kind(member) for member in value[choice] if member.get("type") != "null")
    if value.get("type") == "array":
        return f"list of {_kind(value['items'])}"
    kind = {"string": "text", "boolean": "true or false", "integer": "whole number", "object": "numbers by name"}
    return str(kind.get(value.get("type", ""), value.get("type", ""))) + _range(value)


def _range(value: dict[str, Any]) -> str:
    signs = {"minimum": "≥", "exclusiveMinimum": ">", "maximum": "≤", "exclusiveMaximum": "<"}
    bounds = [f"{sign} {value[key]:g}" for key, sign in signs.items() if key in value]
    return f" {', '.join(bounds)}" if bounds else ""


def _default(key: str, value: dict[str, Any], required: set[str]) -> str:
    if key in required:
        return "needed"
    default = value.get("default")
    if default is None:
        return "none"
    if default in ("", [], {}):
        return "empty"
    if isinstance(default, dict):
        return "its defaults"
    if isinstance(default, list):
        plain = all(isinstance(member, str | float | int) for member in default)
        return (
            ", ".join(str(member) for member in default) if default and plain else ("as below" if default else "empty")
        )
    if isinstance(default, bool):
        return str(default).lower()
    return f"{default:g}" if isinstance(default, float) else str(default)


def renewed(text: str) -> str:
    """The document with its tables written anew."""
    before, rest = text.split(BEGIN)
    return f"{before}{BEGIN}\n\n{tables()}\n\n{END}{rest.split(END)[1]}"


if __name__ == "__main__":
    path = Path(sys.argv[1])
    path.write_text(renewed(path.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
