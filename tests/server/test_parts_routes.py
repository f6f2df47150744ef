"""The library of own parts over HTTP, its file, and what there is to start from."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from sketcher.document import Document, loads
from sketcher.document.files import part_to_plain
from sketcher.flow.curves import device_curve
from sketcher.reference import fans
from sketcher.reference.starters import starters
from sketcher.server.app import create_app
from sketcher.store.database import STEPS

PARTS: list[dict[str, Any]] = [
    {
        "kind": "device",
        "name": "Own block",
        "device": {
            "id": "D1",
            "kind": "block",
            "height_mm": 18.5,
            "outline": {"shape": "rectangle", "x_mm": 0, "y_mm": 0, "width_mm": 50, "depth_mm": 40},
        },
    },
    {"kind": "board", "name": "Short card", "assumed": "Read off with a rule.", "board": {"id": "B1", "role": "card"}},
    {"kind": "fitting", "name": "Low elbow", "fitting": {"kind": "elbow-90", "height_mm": 17}},
    {"kind": "tube", "name": "Thick tube", "tube": {"outer_diameter_mm": 16, "inner_diameter_mm": 12}},
]


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    return create_app(tmp_path).test_client()


def names(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return [part["name"] for part in answer.get_json()["parts"]]


def test_parts_are_kept_across_plates_and_programs(client: FlaskClient, tmp_path: Path) -> None:
    for part in PARTS:
        client.put("/api/parts", json=part)
    changed = {**PARTS[0], "device": {"id": "D1", "kind": "block", "height_mm": 21}}
    client.put("/api/parts", json=changed)
    again = create_app(tmp_path).test_client()
    assert sorted(names(again.get("/api/parts"))) == sorted(part["name"] for part in PARTS)
    kept = {part["name"]: part for part in again.get("/api/parts").get_json()["parts"]}
    assert kept["Own block"]["device"]["height_mm"] == 21
    assert kept["Short card"]["assumed"] == "Read off with a rule."
    assert names(again.delete("/api/parts/Own block")) == ["Low elbow", "Short card", "Thick tube"]
    assert again.delete("/api/parts/Own block").status_code == 404


def test_a_file_of_parts_opens_elsewhere_as_it_was_saved(client: FlaskClient, tmp_path: Path) -> None:
    for part in PARTS:
        client.put("/api/parts", json=part)
    saved = client.get("/api/parts/library.json").data
    other = create_app(tmp_path / "elsewhere").test_client()
    assert len(names(other.post("/api/parts/library", json=json.loads(saved)))) == 4
    assert other.get("/api/parts/library.json").data == saved


def test_a_file_takes_no_part_of_ones_own_away(client: FlaskClient) -> None:
    """Another part of the same name stands beside the own one; the same file again adds nothing."""
    client.put("/api/parts", json=PARTS[0])
    theirs = {**PARTS[0], "device": {"id": "D1", "kind": "block", "height_mm": 21}}
    long = {**theirs, "name": "x" * 120}
    client.put("/api/parts", json={**PARTS[0], "name": long["name"]})
    for _ in range(2):
        answer = client.post("/api/parts/library", json={"parts": [theirs, long]})
        assert sorted(names(answer)) == ["Own block", "Own block (2)", "x" * 116 + " (2)", "x" * 120]
    heights = {part["name"]: part["device"]["height_mm"] for part in answer.get_json()["parts"]}
    assert (heights["Own block"], heights["Own block (2)"]) == (18.5, 21)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ({"parts": [PARTS[0], PARTS[0]]}, "Two parts are called 'Own block'"),
        ({"parts": [{**PARTS[0], "kind": "cake"}]}, "kind"),
        ({"parts": [{"kind": "device", "name": "x"}]}, "device"),
        ({"parts": [{"kind": "device", "name": " ", "device": {"id": "D1", "kind": "pump"}}]}, "name"),
        (
            {"parts": [{"kind": "device", "name": "x", "device": {"id": "D1", "kind": "pump", "hight_mm": 3}}]},
            "hight_mm",
        ),
        (
            {"parts": [{"kind": "device", "name": "x", "device": {"id": "D1", "kind": "pump", "height_mm": -3}}]},
            "height_mm",
        ),
        ({"floor": {}, "plate": {}}, "floor"),
        ({"version": 2, "parts": []}, "version"),
    ],
)
def test_a_file_that_is_none_says_where_and_changes_nothing(client: FlaskClient, content: Any, said: str) -> None:
    client.put("/api/parts", json=PARTS[1])
    answer = client.post("/api/parts/library", json=content)
    assert answer.status_code == 422
    assert said in answer.get_json()["error"]["message"]
    assert names(client.get("/api/parts")) == ["Short card"]


def test_an_older_store_takes_the_library(tmp_path: Path) -> None:

    with sqlite3.connect(tmp_path / "plates.sqlite3") as older:
        older.executescript(STEPS[0])
        older.execute("PRAGMA user_version = 1")
    older.close()
    assert names(create_app(tmp_path).test_client().put("/api/parts", json=PARTS[0])) == ["Own block"]


def test_every_starter_says_what_it_assumes_and_stands_in_a_plate() -> None:
    example = json.loads(Path("examples/small-board.json").read_text("utf-8"))
    for part in starters():
        assert part.kind == "device"
        assert len(part.assumed) > 60, part.name
        assert part.device.invented, part.name
        device = {**part_to_plain(part.device), "id": "D99"}
        document: Document = loads(json.dumps({**example, "devices": [*example.get("devices", []), device]}))
        made = document.devices[-1]
        assert [port.flow for port in made.ports] == ["in", "out"]
        # A passive device's loss rises with the flow and nothing was done to its points (any textbook of hydraulics).
        if made.kind != "pump":
            assert device_curve(tuple((p.flow_l_min, p.pressure_kpa) for p in made.curve)).remarks == ()


def test_a_radiators_starter_has_the_published_fan_pattern() -> None:
    # n fans of size s are n·s long between fan frames; holes 105 mm apart on 120, 124.5 on 140: published fan patterns.
    for part in starters():
        if part.kind == "device" and part.device.kind == "radiator":
            outline = part.device.outline
            assert outline is not None
            assert outline.shape == "rectangle"
            count, size = part.device.fans, part.device.fan_size_mm or 0
            assert outline.depth_mm == size
            assert outline.width_mm >= count * size
            assert f"{ {120: '105', 140: '124.5'}[int(size)] } mm between the holes" in part.assumed
            assert fans.radiator(size, count).length_mm == count * size
