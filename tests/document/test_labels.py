"""Labels: every key and choice of the format has one that a reader understands."""

from __future__ import annotations

import re

from sketcher.document import schema
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
