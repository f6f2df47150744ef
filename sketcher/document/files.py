"""Text to document and back: clear errors on the way in, the same bytes on the way out."""

from __future__ import annotations

import difflib
import functools
import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from sketcher.document.bounded_reading import TooLarge, read_bounded
from sketcher.document.labels import titled
from sketcher.document.many_faults import first_errors
from sketcher.document.models import Document
from sketcher.document.problem import pointer
from sketcher.document.remembered import KnownParts
from sketcher.document.safe_files import write_whole
from sketcher.document.strict_json import DocumentError, Fault, parse
from sketcher.document.upgrades import VersionError, upgrade

#: A document of six thousand items is about 2 MB; more than this is no plate.
LARGEST_BYTES = 16_000_000
#: Longer lists of errors help nobody.
MOST_ERRORS = 50


def read(path: Path) -> Document:
    """The document in a file.

    Raises:
        DocumentError: the content is no plate document.
        OSError: the file cannot be read.
    """
    try:
        return loads(read_bounded(path, LARGEST_BYTES))
    except TooLarge:
        raise DocumentError(
            [Fault("", f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; it is no plate document")]
        ) from None


def loads(text: str | bytes) -> Document:
    """The document that a JSON text holds. Raises ``DocumentError``."""
    return from_plain(parse(text))


def from_plain(plain: Any) -> Document:
    """The document that plain dicts and lists hold. Raises ``DocumentError``."""
    if not isinstance(plain, dict):
        raise DocumentError([Fault("", f"a plate document is a JSON object, not {_called(plain)}")])
    try:
        parts = KnownParts(upgrade(plain))
        document = Document.model_validate(parts.plain)
        parts.learn(document)
        return document
    except VersionError as error:
        raise DocumentError([Fault("/version", str(error))]) from None
    except ValidationError as error:
        found = first_errors(error, plain, lambda heads: Document.model_validate(upgrade(heads)))
        raise DocumentError(faults_of(error, found=found)) from None


def with_changes(document: Document, **changes: Any) -> Document:
    """A new, validated document with some of its parts replaced. Raises ``DocumentError``."""
    try:
        return Document.model_validate({**dict(document), **changes})
    except ValidationError as error:
        raise DocumentError(faults_of(error)) from None


def to_plain(document: Document) -> dict[str, Any]:
    """Plain dicts and lists; what is as the format has it by default is left out."""
    plain = document.model_dump(mode="json", exclude_defaults=True)
    return {"version": document.version, **_with_shapes(document, plain)}


def part_to_plain(part: BaseModel) -> dict[str, Any]:
    """A part of a document, or one of the library, in the same way."""
    plain: dict[str, Any] = _with_shapes(part, part.model_dump(mode="json", exclude_defaults=True))
    return plain


def _with_shapes(value: Any, plain: Any) -> Any:
    """Puts back the ``shape`` of each outline: it tells outlines apart, and equals its model's default."""
    if isinstance(value, BaseModel):
        tag = {"shape": value.shape} if "shape" in type(value).model_fields else {}  # type: ignore[attr-defined]
        return {
            **tag,
            **{key: _with_shapes(getattr(value, key), part) for key, part in plain.items() if key != "shape"},
        }
    if isinstance(value, list | tuple) and isinstance(plain, list):
        return [_with_shapes(member, part) for member, part in zip(value, plain, strict=True)]
    return plain


def dumps(document: Document) -> str:
    """The document as JSON text, always the same for the same document: one line for each small part."""
    return _text(to_plain(document), 0) + "\n"


def write(document: Document, path: Path, inputs: Iterable[Path] = ()) -> None:
    """Writes the document to a file, wholly or not at all.

    Raises:
        OSError: it cannot be written, or something else stands there, or it is one of the ``inputs``.
    """
    write_whole(path, dumps(document).encode(), inputs)


def schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of a document."""
    described = titled(Document.model_json_schema())
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **described, "title": "Plate document"}


_LINE = 110


def _text(value: Any, depth: int) -> str:
    flat = json.dumps(_short_numbers(value), ensure_ascii=False)
    if not isinstance(value, dict | list) or not value or (len(flat) + 2 * depth <= _LINE and _is_leaf(value)):
        return flat
    inner = "  " * (depth + 1)
    if isinstance(value, dict):
        rows = [f"{json.dumps(key, ensure_ascii=False)}: {_text(part, depth + 1)}" for key, part in value.items()]
        opening, closing = "{", "}"
    else:
        rows = [_text(part, depth + 1) for part in value]
        opening, closing = "[", "]"
    return f"{opening}\n{inner}" + f",\n{inner}".join(rows) + f"\n{'  ' * depth}{closing}"


def _is_leaf(value: Any) -> bool:
    """Whether a part is small enough in kind to stand on one line: plain values, or one list or dict of them."""
    parts = value.values() if isinstance(value, dict) else value
    return all(not isinstance(part, dict | list) or _is_flat(part) for part in parts)


def _is_flat(value: Any) -> bool:
    parts = value.values() if isinstance(value, dict) else value
    return not any(isinstance(part, dict | list) for part in parts)


def _short_numbers(value: Any) -> Any:
    """Whole numbers without their ``.0``: the same value, easier to read and to compare."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {key: _short_numbers(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_short_numbers(part) for part in value]
    return value


def faults_of(
    error: ValidationError, within: tuple[str | int, ...] = (), found: Sequence[Any] | None = None
) -> list[Fault]:
    """What pydantic found, in our words, each with its place; what was checked stands ``within`` the document.

    ``found`` are the errors to word, where they are not all of them.
    """
    faults = []
    for entry in (error.errors(include_url=False) if found is None else found)[:MOST_ERRORS]:
        faults.append(Fault(pointer((*within, *_in_the_file(entry["loc"]))), worded(entry)))
    return faults


def _in_the_file(location: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Pydantic puts an outline's tag behind ``outline``; in the file there is no such step."""
    before = ("", *location)
    return tuple(
        part for part, last in zip(location, before, strict=False) if not (last == "outline" and part in _TAGS)
    )


_TAGS = {"circle", "slot", "rectangle", "polygon"}


def worded(entry: Mapping[str, Any]) -> str:
    """What one of pydantic's errors says, in our words: what is wrong, and what belongs there."""
    kind, context = entry["type"], entry.get("ctx", {})
    given = entry.get("input")
    match kind:
        case "missing":
            return "this is missing; add it"
        case "extra_forbidden":
            key = str(entry["loc"][-1])
            if key in _known_keys():
                return "no such key is known here, though elsewhere; remove it"
            near = difflib.get_close_matches(key, _known_keys(), n=1)
            return "no such key is known here" + (f"; did you mean {near[0]!r}?" if near else "; remove it")
        case "union_tag_invalid" | "union_tag_not_found":
            if "kind" in str(entry.get("ctx", {}).get("discriminator", "")):
                return "a part has a kind: device, board, fitting or tube"
            return "an outline has a shape: circle, slot, rectangle or polygon"
        case "inconsistent":
            return str(entry["msg"])
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal":
            words = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
            sign, bound = next(iter(context.items()))
            return f"it must be {words[sign]} {bound:g}, not {_called(given)}"
        case "float_type" | "float_parsing" | "finite_number":
            return f"a number belongs here, not {_called(given)}"
        case "int_type" | "int_parsing" | "int_parsing_size":
            return f"a whole number belongs here, not {_called(given)}"
        case "literal_error" | "enum":
            return f"one of {context.get('expected')} belongs here, not {_called(given)}"
        case "string_pattern_mismatch":
            return f"{_called(given)} does not fit the form {context.get('pattern')}"
        case "string_type" | "string_sub_type":
            return f"a text belongs here, not {_called(given)}"
        case "string_too_long":
            return f"a text of at most {context['max_length']} characters belongs here; this has {len(str(given))}"
        case "string_too_short":
            return f"a text of at least {context['min_length']} character(s) belongs here"
        case "too_long":
            return f"at most {context['max_length']} entries belong here; there are {context['actual_length']}"
        case "too_short":
            return f"at least {context['min_length']} entries belong here; there are {context['actual_length']}"
        case "bool_type" | "bool_parsing":
            return f"true or false belongs here, not {_called(given)}"
        case "int_from_float":
            return f"a whole number belongs here, not {_called(given)}"
        case "list_type" | "tuple_type":
            return f"a list belongs here, not {_called(given)}"
        case "model_type" | "dict_type" | "model_attributes_type":
            return f"an object belongs here, not {_called(given)}"
        case "value_error":
            return str(context.get("error", entry["msg"]))
        case _:
            # What is not foreseen names no library: what was given, and that it does not belong here.
            return f"{_called(given)} does not belong here"


def _called(value: Any) -> str:
    if value is None:
        return "null"
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, tuple):
        return "a list"
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 40 else text[:37] + "…"


@functools.cache
def _known_keys() -> list[str]:
    keys: set[str] = set()
    for definition in [*Document.model_json_schema().get("$defs", {}).values(), Document.model_json_schema()]:
        keys.update(definition.get("properties", {}))
    return sorted(keys)
