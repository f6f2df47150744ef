"""What JSON is (RFC 8259) and what every program can exchange of it (I-JSON, RFC 7493), refused by file and by HTTP in
the same words and with the same place. And outlines round nothing, which the fields of a document cannot see."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from sketcher.cli import main
from sketcher.document import DocumentError, from_plain, loads, strict_json
from sketcher.document.problem import nearest
from sketcher.server import create_app
from tests.document.test_files import BARE

BARE_TEXT = json.dumps(BARE)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    return create_app(tmp_path_factory.mktemp("data")).test_client()


def with_(part: str) -> str:
    return BARE_TEXT[:-1] + "," + part + "}"


WRONG = [
    (with_('"grid": {"pitch_mm": NaN}'), "/grid/pitch_mm", "NaN is no number"),
    (with_('"grid": {"x_mm": -Infinity}'), "/grid/x_mm", "-Infinity is no number"),
    (with_('"ports": [{"id": "P1", "x_mm": 1e999, "y_mm": 1}]'), "/ports/0/x_mm", "1e999 is too large"),
    (with_('"grid": {"pitch_mm": ' + "9" * 5000 + "}"), "/grid/pitch_mm", "too large"),
    (with_('"grid": {"pitch_mm": 12345678901234567890}'), "/grid/pitch_mm", "2^53"),
    (with_('"note": "\\ud800"'), "/note", "half of a character"),
    (with_('"loop": {"\\udfff": 1}'), "/loop", "half of a character"),
    (with_('"version": 1, "name": "x"'), "/version", "stands twice"),
    (with_('"grid": {"pitch_mm": 5, "pitch_mm": 6}'), "/grid/pitch_mm", "stands twice"),
    (with_('"note": ' + "[" * 101 + "]" * 101), "", "nested more than 100 deep"),
    (with_('"note": ' + "[" * 60_000 + "]" * 60_000), "", "nested more than 100 deep"),
    (
        with_('"photo": {"file": "a.png", "width_px": 9, "height_px": 9, '
              '"marks": [{"x_px": NaN, "y_px": 0, "x_mm": 0, "y_mm": 0}]}'),
        "/photo/marks/0/x_px", "NaN is no number",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "pointer", "words"), WRONG)
def test_by_file_and_by_http_it_is_the_same_refusal(text: str, pointer: str, words: str, client: FlaskClient) -> None:
    with pytest.raises(DocumentError) as caught:
        loads(text)
    by_file = [(fault.pointer, fault.message) for fault in caught.value.faults]
    assert pointer in dict(by_file)
    assert words in dict(by_file)[pointer]
    for path in ("/api/look", "/api/plates"):
        answer = client.post(path, data=f'{{"document": {text}}}', content_type="application/json")
        error = answer.get_json()["error"]
        assert answer.status_code == (422 if pointer else 400)
        assert [(fault["pointer"], fault["message"]) for fault in error["faults"]] == by_file
    assert client.get("/api/plates").get_json()["plates"] == []


def test_by_the_command_line_it_is_the_same_refusal_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "plate.json"
    for text, pointer, words in WRONG:
        path.write_text(text)
        assert main(["check", str(path)]) == 2
        said = capsys.readouterr().err
        assert f"{pointer or '/'}: " in said
        assert words in said
        assert "Traceback" not in said


@pytest.mark.parametrize(
    "text",
    ["", "{", '{"a"}', '{"a": }', "[1,]", '{"a": 1,}', '"a', '"\n"', r'"\x"', r'"\u12"', "1 2", "nul", b"\xff\xfe"],
)
def test_what_is_no_json_is_said_in_our_words(text: str | bytes) -> None:
    with pytest.raises(DocumentError) as caught:
        strict_json.parse(text)
    words = str(caught.value)
    assert not any(theirs in words for theirs in ("Expecting", "delimiter", "decode", "codec", "Invalid", "char "))
    assert len(words.split()) > 5


plain = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda part: st.lists(part, max_size=4) | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), part),
    max_leaves=20,
)  # fmt: skip


@given(value=plain)
def test_all_other_json_is_read_as_pythons_own_reader_does(value: Any) -> None:
    for text in (json.dumps(value), json.dumps(value, ensure_ascii=False)):
        assert strict_json.parse(text) == value
        assert strict_json.parse(text.encode()) == value


def polygon(*corners: tuple[float, ...]) -> dict[str, Any]:
    keys = ("x_mm", "y_mm", "bulge")
    return {"shape": "polygon", "vertices": [dict(zip(keys, corner, strict=False)) for corner in corners]}


NOTHING = {
    "a line": polygon((0, 0), (10, 0), (20, 0)),
    "there and back": polygon((0, 0), (10, 5), (0, 0), (10, 5)),
    "one place": polygon((3, 3), (3, 3), (3, 3)),
    "two of three corners equal": polygon((0, 0), (0, 0), (10, 0)),
    "an arc and its own way back": polygon((0, 0, 0.5), (10, 0, -0.5)),
    "a sliver": polygon((0, 0), (10, 0), (10, 1e-9)),
}


@pytest.mark.parametrize("outline", NOTHING.values(), ids=NOTHING.keys())
@pytest.mark.parametrize("place", ["plate", "floor", "cutouts", "pockets", "keep_outs"])
def test_an_outline_round_nothing_is_refused_by_name_and_place(outline: dict[str, Any], place: str) -> None:
    if place in ("plate", "floor"):
        document: dict[str, Any] = {**BARE, place: {**BARE[place], "outline": outline}}
        pointer = f"/{place}/outline/vertices"
    else:
        document = {
            **BARE,
            place: [{"id": "K1", "outline": outline, **({"depth_mm": 3} if place == "pockets" else {})}],
        }
        pointer = f"/{place}/0/outline/vertices"
    with pytest.raises(DocumentError) as caught:
        from_plain(document)
    assert {fault.pointer for fault in caught.value.faults} == {pointer}
    assert "encloses no area" in str(caught.value)


def test_an_outline_like_an_eight_and_one_with_a_doubled_corner_enclose_something() -> None:
    eight, doubled = polygon((0, 0), (10, 10), (10, 0), (0, 10)), polygon((0, 0), (0, 0), (9, 0), (9, 9))
    crescent = polygon((0, 0, 0.5), (10, 0, -0.4))
    for outline in (eight, doubled, crescent):
        from_plain({**BARE, "cutouts": [{"id": "K1", "outline": outline}]})


@pytest.mark.parametrize(
    ("part", "pointer"),
    [
        ({"channels": [{"id": "C1", "points": [{"x_mm": 0, "y_mm": 0}, {"x_mm": 9, "y_mm": 9}], "width_mm": 1e-6,
                        "depth_mm": 5}]}, "/channels/0/width_mm"),
        ({"seal": {"cord_mm": 1e-300}}, "/seal/cord_mm"),
        ({"loop": {"test_pressure_kpa": 1e-300}}, "/loop/test_pressure_kpa"),
    ],
)  # fmt: skip
def test_what_is_nearly_zero_is_refused_by_name_and_place(part: dict[str, Any], pointer: str) -> None:
    with pytest.raises(DocumentError) as caught:
        from_plain({**BARE, **part})
    assert {fault.pointer for fault in caught.value.faults} == {pointer}
    assert "at least" in str(caught.value)


def test_what_is_left_of_a_subtraction_is_zero() -> None:
    document = from_plain({**BARE, "plate": {**BARE["plate"], "z_mm": 0.1 + 0.2 - 0.3}})
    assert document.plate.z_mm == 0.0


def test_thousands_of_wrong_references_are_refused_without_looking_for_thousands_of_suggestions() -> None:
    ports = [{"id": f"P{k}", "x_mm": 1, "y_mm": 1} for k in range(6000)]
    channels = [{"id": f"C{k}", "start": f"PP{k}", "end": f"P{k}x", "width_mm": 8, "depth_mm": 8} for k in range(6000)]
    with pytest.raises(DocumentError) as caught:
        from_plain({**BARE, "ports": ports, "channels": channels})
    assert len(caught.value.faults) == 50
    assert "did you mean 'P0'" in caught.value.faults[0].message


def test_one_slip_among_thousands_is_still_recognised() -> None:
    known = [f"GPU{k}.in" for k in range(1000)]
    for slip in ("GPU77.on", "GPU77.inn", "GPU77i.n", "GPU77in"):
        assert "'GPU77.in'" in nearest(slip, [*known])
    assert nearest("nothing-like-it", known) == ""


def test_a_text_that_is_wrong_throughout_is_refused_in_time() -> None:
    """Ten megabytes of zeros in one list held the program for 107 s: every one of five million was worded first."""
    begun = time.process_time()
    with pytest.raises(DocumentError, match="more than 500,000 values"):
        loads('{"ports": [' + "0," * 5_000_000 + "0]}")
    assert time.process_time() - begun < 5  # hundreds in all before; a tenth of a second now
    named: list[list[str]] = []
    right = [{"id": f"H{n}", "x_mm": 150 + n, "y_mm": 150} for n in range(60)]
    for heads in ([], right):  # also where the first of the wrong ones is far behind
        plain = {**BARE, "holes": [*heads, *[0] * 3_000]}
        with pytest.raises(DocumentError) as few:
            from_plain(plain)
        named.append([fault.pointer for fault in few.value.faults])
    assert named == [[f"/holes/{n}" for n in range(50)], [f"/holes/{n}" for n in range(60, 110)]]
