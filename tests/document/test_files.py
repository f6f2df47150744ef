"""Reading and writing documents: clear errors with a pointer, the same bytes each time."""

import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.document import DocumentError, describe, dumps, from_plain, loads, read, schema, write
from sketcher.document.upgrades import VersionError, upgrade

BARE = {
    "version": 1,
    "floor": {"outline": {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 400, "depth_mm": 300}},
    "plate": {
        "outline": {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 200, "depth_mm": 100},
        "body_thickness_mm": 15,
        "lid_thickness_mm": 5,
    },
}


def faults_of(plain: object) -> dict[str, str]:
    with pytest.raises(DocumentError) as caught:
        from_plain(plain)
    return {fault.pointer: fault.message for fault in caught.value.faults}


def test_an_error_names_the_place_and_the_mend() -> None:
    plain = {**BARE, "ports": [{"id": "P1", "x_mm": "left", "y_mm": 3, "thraed": "G1/4"}]}
    faults = faults_of(plain)
    assert "number" in faults["/ports/0/x_mm"]
    assert "'thread'" in faults["/ports/0/thraed"]


def test_a_missing_part_is_named() -> None:
    assert set(faults_of({"version": 1})) == {"/floor", "/plate"}


def test_an_outline_of_unknown_shape_says_which_there_are() -> None:
    plain = {**BARE, "cutouts": [{"id": "K1", "outline": {"shape": "star", "x_mm": 1, "y_mm": 1}}]}
    assert "circle, slot, rectangle or polygon" in faults_of(plain)["/cutouts/0/outline"]


@pytest.mark.parametrize(
    ("part", "pointer", "word"),
    [
        ({"ports": [{"id": "P1", "x_mm": 1, "y_mm": 1}, {"id": "P1", "x_mm": 9, "y_mm": 9}]}, "/ports/1/id", "taken"),
        ({"ports": [{"id": "P1", "x_mm": 1, "y_mm": 1}], "retired_ids": ["P1"]}, "/ports/0/id", "deleted"),
        ({"channels": [{"id": "C1", "start": "P7", "width_mm": 8, "depth_mm": 8}]}, "/channels/0/start", "P7"),
        ({"channels": [{"id": "C1", "width_mm": 8, "depth_mm": 8}]}, "/channels/0", "two places"),
        ({"ports": [{"id": "P1", "x_mm": 1, "y_mm": 1, "serves": "GPU.in"}]}, "/ports/0/serves", "GPU.in"),
        ({"boards": [{"id": "B1", "held_by": "B2"}, {"id": "B2", "held_by": "B1"}]}, "/boards/0/held_by", "itself"),
        ({"boards": [{"id": "B1", "slots": 1}, {"id": "B2", "held_by": "B1", "slot": 2}]}, "/boards/1/slot", "slot 2"),
        ({"groups": [{"id": "G1", "members": ["P3"]}]}, "/groups/0/members/0", "P3"),
        (
            {
                "cutouts": [
                    {"id": "K1", "outline": {"shape": "slot", "x_mm": 1, "y_mm": 1, "length_mm": 4, "width_mm": 9}}
                ]
            },
            "/cutouts/0/outline/length_mm",
            "as long as",
        ),
        ({"survey": {"points": [{"id": "A"}, {"id": "A"}]}}, "/survey/points/1/id", "twice"),
    ],
)
def test_what_does_not_fit_together_is_named(part: dict[str, object], pointer: str, word: str) -> None:
    assert word in faults_of({**BARE, **part})[pointer]


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("{", "line 1"),
        ("[]", "object"),
        ('{"version": 1, "version": 1}', "twice"),
        ('{"version": NaN}', "finite"),
        ('{"version": 99}', "newer"),
        ('{"version": "one"}', "whole number"),
        ("[" * 100_000, "nested"),
        (b"\xff\xfe{}", "UTF-8"),
    ],
)
def test_text_that_is_no_document_is_refused_in_words(text: str | bytes, word: str) -> None:
    with pytest.raises(DocumentError, match=word):
        loads(text)


def test_a_file_is_written_whole_and_read_back(tmp_path) -> None:
    document = from_plain(BARE)
    path = tmp_path / "plate.json"
    write(document, path)
    assert read(path) == document
    assert [entry.name for entry in tmp_path.iterdir()] == ["plate.json"]


names = st.text(max_size=30)  # what no drawing can hold is left out as it is read
lengths = st.floats(min_value=0.1, max_value=400, allow_nan=False)


@given(name=names, x=lengths, y=lengths, size=lengths, note=names)
def test_written_twice_is_the_same_bytes(name: str, x: float, y: float, size: float, note: str) -> None:
    plain = {
        **BARE,
        "name": name,
        "ports": [{"id": "P1", "x_mm": x, "y_mm": y, "fitting_diameter_mm": size, "note": note}],
        "cutouts": [{"id": "K1", "outline": {"shape": "circle", "x_mm": x, "y_mm": y, "diameter_mm": size}}],
    }
    document = from_plain(plain)
    text = dumps(document)
    assert loads(text) == document
    assert dumps(loads(text)) == text


def test_what_is_written_fits_the_published_schema() -> None:
    document = from_plain({**BARE, "holes": [{"id": "H1", "x_mm": 1, "y_mm": 2}]})
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(json.loads(dumps(document)), schema())


def test_older_files_are_lifted_step_by_step() -> None:
    steps = {1: lambda old: {"version": 1, "title": old["name"]}, 2: lambda old: {**old, "colour": "none"}}
    old = {"version": 1, "name": "bench"}
    assert upgrade(old, steps, newest=3) == {"version": 3, "title": "bench", "colour": "none"}
    assert old == {"version": 1, "name": "bench"}
    with pytest.raises(VersionError, match="can no longer be read"):
        upgrade({"version": 1}, {2: lambda old: old}, newest=3)


def test_the_docs_have_every_key_as_the_models_have_it() -> None:
    text = (Path(__file__).parents[2] / "docs" / "format.md").read_text(encoding="utf-8")
    assert describe.renewed(text) == text, "run: python -m sketcher.document.describe docs/format.md"


def test_a_key_of_another_kind_is_not_offered_in_its_own_place() -> None:
    holes = [{"id": "H1", "x_mm": 1, "y_mm": 1, "serves": "D1.in"}]
    with pytest.raises(DocumentError, match=r"/holes/0/serves: no such key is known here, though elsewhere; remove it"):
        from_plain({**BARE, "holes": holes})
