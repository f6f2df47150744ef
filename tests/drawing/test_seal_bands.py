"""The room of the seal as it is drawn: sums by hand, and what the rules say just inside and just outside of it."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from sketcher.drawing.plan import Further, plan
from sketcher.geometry import build
from sketcher.strength.needs import room_beyond
from tests.checks.plates import channel, found, plate, rectangle

SVG = "{http://www.w3.org/2000/svg}"
C1 = channel("C1", (100, 150), (200, 150), width_mm=10)


def rooms(document, *, room=True):
    root = ET.fromstring(plan(build(document), Further(room=room)).svg(alone=False))
    (layer,) = [group for group in root.iter(f"{SVG}g") if group.get("data-layer") == "room"]
    return {(group.get("class") or "").split("-")[-1]: group for group in layer}


def test_bands_are_as_wide_as_wall_groove_wall_and_head() -> None:
    """A 2 mm cord lies in a groove of 2.8 (supplier's table, ISO 3601-2 style); walls of 2; an M4's clearance hole of
    4.5 (ISO 273) and head of 7 (ISO 4762) with 1 for the key: 2 + 2.8 + 2, and 2 + 2.8 + 2 + 4.5 / 2 + 8 / 2."""
    groove, screws = 6.8, 13.05
    document = plate(ports=[{"id": "P1", "x_mm": 250, "y_mm": 100}], channels=[C1])
    assert room_beyond(document) == pytest.approx((groove, screws))
    drawn = rooms(document)
    assert list(drawn) == ["screws", "groove"]
    for name, far in (("groove", groove), ("screws", screws)):
        band = next(group for group in drawn[name] if group.get("data-around") == "C1")
        assert float(band[0].get("stroke-width")) == pytest.approx(10 + 2 * far)
        assert float(drawn[name].get("data-beyond")) == pytest.approx(far)
    # Its items are found by another name than the plate's own, so that nothing is taken for the other.
    assert not [group for group in drawn["groove"].iter() if group.get("data-id")]


def test_nothing_is_drawn_for_print_or_without_a_seal() -> None:
    assert rooms(plate(channels=[C1]), room=False) == {}
    assert rooms(plate(channels=[C1], seal={"cord_mm": 50})) == {}
    assert list(rooms(plate(channels=[C1], seal={"kind": "bonded"}))) == ["groove"]


@pytest.mark.parametrize(("apart", "errors"), [(6.85, 0), (6.7, 1)])
def test_the_rules_ask_for_the_room_that_is_drawn(apart: float, errors: int) -> None:
    """A cutout beside the middle of a channel whose edge is at y = 155."""
    cutout = {"id": "K1", "outline": rectangle(150, 155 + apart + 5, 20, 10)}
    assert len(found(plate(channels=[C1], cutouts=[cutout]), "seal-wall")) == errors
