"""A document is frozen all the way down, so that what was worked out from it can be remembered by it."""

import copy
import pickle
from pathlib import Path
from typing import Any, get_args, get_origin

import pytest
from pydantic import BaseModel

from sketcher.document import Document, dumps, read, with_changes
from sketcher.document.base import FrozenDict
from sketcher.document.outlines import Polygon, Vertex

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.json"))
#: What can be changed in place.
LOOSE = (list, dict, set, bytearray)


def models_of(kind: Any, found: dict[str, type[BaseModel]]) -> dict[str, type[BaseModel]]:
    """Every model that a type is made of, by name."""
    if isinstance(kind, type) and issubclass(kind, BaseModel) and kind.__name__ not in found:
        found[kind.__name__] = kind
        for field in kind.model_fields.values():
            models_of(field.annotation, found)
    for part in get_args(kind):
        models_of(part, found)
    return found


def loose_in(kind: Any) -> list[Any]:
    return [part for part in (kind, get_origin(kind)) if part in LOOSE] + [
        inner for part in get_args(kind) for inner in loose_in(part)
    ]


MODELS = models_of(Document, {})


@pytest.mark.parametrize("name", sorted(MODELS))
def test_no_field_can_be_changed_in_place(name: str) -> None:
    model = MODELS[name]
    assert model.model_config["frozen"]
    for key, field in model.model_fields.items():
        assert not loose_in(field.annotation), key
        assert not isinstance(field.default, (list, set)), key
        assert not isinstance(field.default, dict) or isinstance(field.default, FrozenDict), key


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_document_is_its_own_key(path: Path) -> None:
    document, again = read(path), read(path)
    assert hash(document) == hash(again)
    assert {document: "remembered"}[again] == "remembered"
    renamed = with_changes(document, name="Another")
    assert renamed not in {document: "remembered"}
    # Parts that did not change are the same objects, so that what hangs on them is not worked out twice.
    assert renamed.survey is document.survey
    assert all(a is b for a, b in zip(renamed.ports, document.ports, strict=True))
    assert pickle.loads(pickle.dumps(document)) == document
    assert copy.deepcopy(document) == document


def test_a_copy_with_changes_is_frozen_too() -> None:
    document = read(EXAMPLES[0])
    changed = document.model_copy(update={"ports": list(document.ports), "limits": {"wall-channel": 2.0}})
    assert changed.ports == document.ports
    assert hash(changed) == hash(read(EXAMPLES[0]).model_copy(update={"limits": FrozenDict({"wall-channel": 2.0})}))
    assert '"wall-channel": 2' in dumps(changed)


@pytest.mark.parametrize(
    "change",
    [
        lambda limits: limits.update({"a": 2.0}),
        lambda limits: limits.pop("a"),
        lambda limits: limits.popitem(),
        lambda limits: limits.clear(),
        lambda limits: limits.setdefault("b", 2.0),
        lambda limits: limits.__setitem__("a", 2.0),
        lambda limits: limits.__delitem__("a"),
        lambda limits: limits.__ior__({"b": 2.0}),
    ],
)
def test_a_frozen_dictionary_refuses(change: Any) -> None:
    limits = FrozenDict({"a": 1.0})
    with pytest.raises(TypeError, match="frozen"):
        change(limits)
    assert limits == {"a": 1.0}


def test_lists_are_taken_and_become_tuples() -> None:
    polygon = Polygon(vertices=[Vertex(x_mm=0, y_mm=0), Vertex(x_mm=1, y_mm=0, bulge=1)])
    assert isinstance(polygon.vertices, tuple)
