"""What lies between items, as the page states it: centres and gaps from the true shapes."""

from __future__ import annotations

from pathlib import Path

import pytest
from flask.testing import FlaskClient

from sketcher.server.app import create_app

RECTANGLE = {"shape": "rectangle", "x_mm": 150, "y_mm": 150, "width_mm": 280, "depth_mm": 280}
DOCUMENT = {
    "floor": {"outline": {**RECTANGLE, "width_mm": 300, "depth_mm": 300}},
    "plate": {"outline": RECTANGLE, "body_thickness_mm": 20, "lid_thickness_mm": 6},
    # Flat, its origin at 100, 40 and turned by a quarter: it reaches from 60 to 100 in x and from 40 to 100 in y.
    "boards": [
        {"id": "B1", "x_mm": 100, "y_mm": 40, "z_mm": 60, "width_mm": 60, "depth_mm": 40, "turn_deg": 90},
    ],
    "devices": [
        {
            "id": "D1", "kind": "block", "x_mm": 200, "y_mm": 100, "z_mm": 60, "height_mm": 10,
            "outline": {"shape": "rectangle", "x_mm": 10, "y_mm": 5, "width_mm": 20, "depth_mm": 10},
            "ports": [{"id": "in"}],
        },
    ],
    "ports": [{"id": "P1", "x_mm": 200, "y_mm": 30}],
    "cutouts": [
        {"id": "K1", "outline": {"shape": "polygon", "vertices": [
            {"x_mm": 200, "y_mm": 200}, {"x_mm": 240, "y_mm": 200}, {"x_mm": 200, "y_mm": 230}]}},
    ],
}  # fmt: skip


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    return create_app(tmp_path).test_client()


def test_centres_are_those_of_what_is_seen_from_above(client: FlaskClient) -> None:
    """A quarter turn about the origin: the board's middle (30, 20) comes to (-20, 30), so to 80, 70. The device's
    footprint lies 10, 5 beside its own origin."""
    found = client.post("/api/measure", json={"document": DOCUMENT, "items": ["B1", "P1", "K1", "D1"]}).get_json()
    assert found["centres"]["B1"] == pytest.approx([80, 70])
    assert found["centres"]["P1"] == pytest.approx([200, 30])
    assert found["centres"]["K1"] == pytest.approx([220, 215])  # of the box around it
    assert found["centres"]["D1"] == pytest.approx([210, 105])


def test_what_has_no_centre_and_what_is_no_name_are_told_without_one(client: FlaskClient) -> None:
    found = client.post("/api/measure", json={"document": DOCUMENT, "items": ["no such thing", "P1"]}).get_json()
    assert found["centres"] == {"no such thing": None, "P1": [200.0, 30.0]}
    assert found["gap_mm"] is None
