"""The document's format as the page knows it: kinds, defaults, labels and types, written from the JSON Schema.

``python -m sketcher.server.page_format static`` brings ``format.js``, ``format_parts.js`` and ``format_types.d.ts`` up
to date.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from sketcher.document import schema
from sketcher.document.base import FARTHEST_MM
from sketcher.document.kinds import SURVEY_KINDS, kind
from sketcher.document.labels import choice, label
from sketcher.document.moved_items import ITEM_LISTS
from sketcher.reference import boards, screws, threads, tube_sizes

DATA, PARTS, TYPES = "format.js", "format_parts.js", "format_types.d.ts"

#: What the page calls a quantity by the unit that ends its key.
_QUANTITIES = {
    "_mm": "length", "_deg": "angle", "_percent": "percent", "_c": "temperature", "_kpa": "pressure", "_w": "heat",
    "": "number", "_l_min": "flow", "_ml": "volume", "_w_k": "conductance", "_n": "force", "_um": "roughness",
}  # fmt: skip
#: Bounds of the schema and what the page calls them.
_BOUNDS = {"minimum": "least", "maximum": "most", "exclusiveMinimum": "above", "maxLength": "most"}
#: The kinds of item that the page lists, in its order.
_LISTED = (
    "port", "branch", "channel", "cutout", "pocket", "hole", "keep-out", "obstacle", "opening", "board", "device",
    "tube", "dimension", "group",
)  # fmt: skip
#: No bounds of their own: these only keep out overflows and slips of the unit.
_PLAUSIBLE = {FARTHEST_MM, -FARTHEST_MM, 1e9}

_HEAD = (
    "Written by `python -m sketcher.server.page_format static` from the document's JSON Schema: change the models or\n"
    " * `sketcher/document/labels.py` instead, and run it again."
)


def written() -> dict[str, str]:
    """Text of each file by its name."""
    described = schema()
    parts = {"Document": described, **described["$defs"]}
    return {DATA: _data(parts), PARTS: _held(parts), TYPES: _types(parts)}


def _data(parts: dict[str, Any]) -> str:
    kinds = [
        {
            "kind": name, "part": _part_at(parts, found.path), "path": list(found.path), "letter": found.letter,
            "title": found.title, "plural": found.plural,
        }
        for name in _LISTED
        for found in [kind(name)]
    ]  # fmt: skip
    defaults = {name: _defaults(part) for name, part in parts.items()}
    fields = {name: _fields(name, part) for name, part in parts.items()}
    named = {"threads": threads.names(), "screws": screws.names(), "patterns": boards.names()}
    named |= {"tube_sizes": tube_sizes.size_names()}
    return "\n".join(
        [
            f"/**\n * {_HEAD}\n */\n",
            '/** @typedef {import("./format_types.js").Kind} Kind */',
            '/** @typedef {import("./format_types.js").FieldFormat} FieldFormat */',
            '/** @typedef {import("./format_types.js").KindInfo} KindInfo */\n',
            "/** Every kind of item: its model, where its list stands, the letter of its ids, what people call it. */",
            "/** @type {readonly KindInfo[]} */",
            f"export const KINDS = {_list(kinds)};\n",
            "/** The lists of items that have a place of their own. */",
            f"export const ITEM_LISTS = {_line(list(ITEM_LISTS))};\n",
            "/** What the format has for a key that a document leaves out, by model. */",
            f"export const DEFAULTS = {_table(defaults)};\n",
            "/** What people call each key, what it holds, and its bounds, by model. */",
            "/** @satisfies {Record<string, Record<string, FieldFormat>>} */",
            f"export const FIELDS = {_table(fields, nested=True)};\n",
            "/** The letter of new ids of what the survey names. */",
            f"export const SURVEY_LETTERS = {_line({found.name: found.letter for found in SURVEY_KINDS})};\n",
            "/** Names of the rows of the published tables. */",
            f"export const TABLES = {_line(named)};",
            "/** Clearance holes of the medium series, mm, by screw. @type {Record<string, number>} */",
            f"export const CLEARANCE_MM = {_line({name: screws.screw(name).clearance_mm for name in screws.names()})};",
            "/** Published boards: along and off the rear edge, mm. @type {Record<string, [number, number]>} */",
            f"export const BOARD_MM = {_line(_board_sizes())};",
            "",
        ]
    )


def _board_sizes() -> dict[str, list[float]]:
    return {name: [boards.board(name).width_mm, boards.board(name).depth_mm] for name in boards.names()}


def _held(parts: dict[str, Any]) -> str:
    """What holds what, and what has to be there."""
    inner = {name: held for name, part in parts.items() if (held := _parts(name, part))}
    required = {name: part["required"] for name, part in parts.items() if part.get("required")}
    return "\n".join(
        [
            f"/**\n * {_HEAD}\n */\n",
            "/** Keys that hold parts with keys of their own: one, one or none, a list, an outline, lists of ids. */",
            '/** @typedef {"one"|"maybe"|"many"|"outline"|"maybe-outline"|"lists"|"map"} Held */',
            "/** @type {Record<string, Record<string, {model: string, held: Held, label: string, help: string}>>} */",
            f"export const PARTS = {_table(inner, nested=True)};\n",
            "/** Keys without a default, by model. @type {Record<string, string[]>} */",
            f"export const REQUIRED = {_table(required)};",
            "",
        ]
    )


def _part_at(parts: dict[str, Any], path: tuple[str, ...]) -> str:
    """The model of the items in a list: through references from the document down."""
    name = "Document"
    for key in path:
        held = parts[name]["properties"][key]
        held = held.get("items", held)
        name = _named(held) or name
    return name


def _named(value: dict[str, Any]) -> str:
    """The model that a key refers to, the one beside ``null`` too; empty when none or several."""
    choices = [member for member in value.get("anyOf", [value]) if member.get("type") != "null"]
    return str(choices[0].get("$ref", "")).rpartition("/")[2] if len(choices) == 1 else ""


def _defaults(part: dict[str, Any]) -> dict[str, Any]:
    """Defaults that are values: parts of a document have their own, and what may be absent has none."""
    return {
        key: value["default"]
        for key, value in part.get("properties", {}).items()
        if value.get("default") is not None and not isinstance(value["default"], dict)
    }


def _fields(name: str, part: dict[str, Any]) -> dict[str, Any]:
    found = {}
    for key, value in part.get("properties", {}).items():
        choices = [member for member in value.get("anyOf", [value]) if member.get("type") != "null"]
        held = choices[0] if len(choices) == 1 else {}
        kind = _field_kind(key, held)
        if not kind:
            continue
        field: dict[str, Any] = {"label": label(name, key), "type": kind}
        for bound, called in _BOUNDS.items():
            if bound in held and held[bound] not in _PLAUSIBLE:
                field[called] = _short(held[bound])
        if kind == "choice":
            field["options"] = [[word, choice(name, key, word)] for word in held["enum"]]
        if kind == "several":
            field["options"] = [[word, choice(name, key, word)] for word in held["items"]["enum"]]
        if held.get("type") == "integer":
            field["whole"] = True
        if len(value.get("anyOf", [])) > 1:
            field["optional"] = True
        if value.get("description"):
            field["help"] = value["description"]
        found[key] = field
    return found


def _parts(name: str, part: dict[str, Any]) -> dict[str, Any]:
    """Keys whose values have keys of their own, with the model each leads to."""
    found = {}
    for key, value in part.get("properties", {}).items():
        choices = [member for member in value.get("anyOf", [value]) if member.get("type") != "null"]
        held = choices[0] if len(choices) == 1 else {}
        perhaps = len(value.get("anyOf", [])) > 1
        inside = held.get("items", {})
        if "oneOf" in held:
            model, how = "Outline", "maybe-outline" if perhaps else "outline"
        elif "$ref" in held:
            model, how = _named(held), "maybe" if perhaps else "one"
        elif "$ref" in inside:
            model, how = _named(inside), "many"
        elif inside.get("type") == "array":
            model, how = "", "lists"
        elif held.get("type") == "object":
            model, how = "", "map"
        else:
            continue
        found[key] = {"model": model, "held": how, "label": label(name, key), "help": value.get("description", "")}
    return found


def _field_kind(key: str, held: dict[str, Any]) -> str:
    """How the page asks for a value; empty for a part with fields of its own."""
    held_type = held.get("type", "")
    if "const" in held:
        return ""
    if "enum" in held:
        return "choice"
    if held_type == "array":
        if "enum" in held["items"]:
            return "several"
        return {"string": "ids", "number": "numbers"}.get(held["items"].get("type", ""), "")
    if held_type == "number":
        return _QUANTITIES[max((end for end in _QUANTITIES if key.endswith(end)), key=len, default="")]
    return {"integer": "number", "boolean": "yes", "string": "text"}.get(held_type, "")


def _types(parts: dict[str, Any]) -> str:
    kinds = {name: _part_at(parts, kind(name).path) for name in _LISTED}
    models = [_interface("PlateDocument" if name == "Document" else name, part) for name, part in parts.items()]
    everything: dict[str, set[str]] = {}
    for model in dict.fromkeys(kinds.values()):
        for key, value in parts[model]["properties"].items():
            everything.setdefault(key, set()).update(_alternatives(value))
    loose = "".join(
        f"  {key}{'' if key == 'id' else '?'}: {' | '.join(sorted(words))};\n" for key, words in everything.items()
    )
    return "\n".join(
        [
            f"/**\n * {_HEAD}\n */\n",
            *models,
            "export type Outline = Circle | Slot | Rectangle | Polygon;\n",
            "export interface Kinds {",
            *(f"  {json.dumps(name)}: {model};" for name, model in kinds.items()),
            "}\n",
            "export type Kind = keyof Kinds;\n",
            "/** An item whose kind nobody has asked for yet: every key of every kind. */",
            f"export interface Item {{\n{loose}}}\n",
            "export interface KindInfo {",
            "  kind: Kind;",
            f"  part: {' | '.join(json.dumps(model) for model in dict.fromkeys(kinds.values()))};",
            "  path: string[];",
            "  letter: string;",
            "  title: string;",
            "  plural: string;",
            "}\n",
            "/** How the page asks for a value. */",
            "export interface FieldFormat {",
            "  label: string;",
            f"  type: {' | '.join(json.dumps(word) for word in _kinds_of_field())};",
            "  least?: number;",
            "  most?: number;",
            "  above?: number;",
            "  optional?: boolean;",
            "  whole?: boolean;",
            "  options?: string[][];",
            "  help?: string;",
            "}",
            "",
        ]
    )


def _kinds_of_field() -> list[str]:
    return [*_QUANTITIES.values(), "text", "choice", "several", "yes", "ids", "numbers"]


def _interface(name: str, part: dict[str, Any]) -> str:
    required = {*part.get("required", []), "shape"}
    rows = "".join(
        f"  {key}{'' if key in required else '?'}: {_type(value)};\n"
        for key, value in part.get("properties", {}).items()
    )
    return f"export interface {name} {{\n{rows}}}\n"


def _type(value: dict[str, Any]) -> str:
    return " | ".join(_alternatives(value))


def _alternatives(value: dict[str, Any]) -> list[str]:
    """What a value may be, each as TypeScript says it."""
    if "enum" in value:
        return [json.dumps(member) for member in value["enum"]]
    for several in ("anyOf", "oneOf"):
        if several in value:
            return [word for member in value[several] for word in _alternatives(member)]
    return [_plain_type(value)]


def _plain_type(value: dict[str, Any]) -> str:
    if "$ref" in value:
        return str(value["$ref"]).rpartition("/")[2]
    if "const" in value:
        return json.dumps(value["const"])
    if value.get("type") == "array":
        inner = _type(value["items"])
        return f"({inner})[]" if "|" in inner else f"{inner}[]"
    if value.get("type") == "object":
        return f"Record<string, {_type(value.get('additionalProperties', {'type': 'number'}))}>"
    return {"integer": "number", "number": "number", "string": "string", "boolean": "boolean", "null": "null"}[
        value["type"]
    ]


def _short(value: Any) -> Any:
    """A whole number without its decimal point, as the page writes it."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, list):
        return [_short(member) for member in value]
    if isinstance(value, dict):
        return {key: _short(member) for key, member in value.items()}
    return value


def _line(value: Any) -> str:
    return json.dumps(_short(value), ensure_ascii=False)


def _list(rows: list[Any]) -> str:
    return "[\n" + "".join(f"  {_line(row)},\n" for row in rows) + "]"


def _table(rows: dict[str, Any], nested: bool = False) -> str:
    if not nested:
        return "{\n" + "".join(f"  {name}: {_line(row)},\n" for name, row in rows.items()) + "}"
    inner = "".join(
        f"  {name}: {{\n" + "".join(f"    {key}: {_line(field)},\n" for key, field in row.items()) + "  },\n"
        for name, row in rows.items()
    )
    return f"{{\n{inner}}}"


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    for name, text in written().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
