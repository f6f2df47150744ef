"""Labels: every key and choice of the format has one that a reader understands."""

from __future__ import annotations

import re

from sketcher.document import Document, schema
from sketcher.document.helps import _HELPS, help_on
from sketcher.document.labels import _CHOICES, _LABELS, choice, label


def test_labels_are_words_without_units() -> None:
    described = schema()
    for name, part in {"Document": described, **described["$defs"]}.items():
        for key, value in part.get("properties", {}).items():
            assert re.fullmatch(r"[A-Z][A-Za-z0-9σ ,.'-]*", label(name, key)), (name, key)
            for member in value.get("enum", []):
                if key == "unit":
                    continue  # a unit is its own name, and small where the SI has it small
                assert choice(name, key, member)[0].isupper() or choice(name, key, member)[0].isdigit(), (name, member)


def test_the_schema_has_them_as_titles() -> None:
    properties = schema()["$defs"]["Seal"]["properties"]
    assert properties["screw_pitch_mm"]["title"] == "Screw spacing"
    assert properties["hardness_shore_a"]["title"] == "Hardness"


def test_no_label_is_left_over() -> None:
    """A label of a key or a choice that the format no longer has says nothing to anybody."""
    described = schema()
    parts = {"Document": described, **described["$defs"]}
    keys = {(name, key) for name, part in parts.items() for key in part.get("properties", {})}
    known = {f"{name}.{key}" for name, key in keys} | {key for _, key in keys}
    assert not set(_LABELS) - known
    assert not set(_CHOICES) - known


def test_every_key_with_a_value_of_its_own_is_described() -> None:
    """What stands behind the question mark of a field; parts and lists of parts explain themselves by their fields."""
    described = schema()
    for name, part in {"Document": described, **described["$defs"]}.items():
        for key, value in part.get("properties", {}).items():
            held = [v for v in value.get("anyOf", [value]) if v.get("type") != "null"]
            inner = [v.get("items", v) for v in held]
            if "const" in value or any(
                "$ref" in v or "oneOf" in v or v.get("type") in ("object", "array") for v in inner
            ):
                continue
            words = value.get("description", "")
            assert len(words) > 8, (name, key)
            assert words[0].isupper() or words[0].isdigit(), (name, key)
            assert words.endswith((".", "…")), (name, key)


def test_no_description_is_left_over_or_said_twice() -> None:
    """The model's own words come first: what stands beside them in the table would never be read."""
    plain = Document.model_json_schema()
    parts = {"Document": plain, **plain["$defs"]}
    read: set[str] = set()
    for name, part in parts.items():
        for key, value in part.get("properties", {}).items():
            if not value.get("description") and help_on(name, key):
                read.add(f"{name}.{key}" if f"{name}.{key}" in _HELPS else key)
    assert not set(_HELPS) - read
