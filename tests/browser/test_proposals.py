"""Connections, and channels that the program lays out, by mouse and by role and label."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.browser.conftest import Bench, Server

pytestmark = pytest.mark.browser

RECTANGLE = {"shape": "rectangle", "x_mm": 200, "y_mm": 150}
PLACES = {"P1": (80, 80), "P2": (320, 220), "P3": (80, 220), "P4": (320, 80)}


def document(**loop: Any) -> dict[str, Any]:
    """Four ports at the corners of a plate, nothing between them."""
    return {
        "version": 1,
        "floor": {"outline": {**RECTANGLE, "width_mm": 400, "depth_mm": 300}},
        "plate": {
            "outline": {**RECTANGLE, "width_mm": 300, "depth_mm": 200},
            "body_thickness_mm": 20,
            "lid_thickness_mm": 10,
            "z_mm": 10,
        },
        "ports": [{"id": id_, "x_mm": x, "y_mm": y} for id_, (x, y) in PLACES.items()],
        "loop": loop,
    }


@pytest.fixture
def four(context: BrowserContext, server: Server, request: pytest.FixtureRequest) -> Iterator[Bench]:
    """The four ports, open on the page at the step that runs channels."""
    plate = server.post("/api/plates", {"document": document(connections=request.param)})["id"]
    opened = Bench(context.new_page(), server, plate)
    opened.open()
    opened.step("Run channels")
    yield opened
    assert opened.faults == []


@pytest.mark.parametrize("four", [[]], indirect=True, ids=["none yet"])
def test_ports_are_joined_and_parted(four: Bench) -> None:
    page = four.page
    join = page.get_by_role("button", name="Join selected ports")
    join.click()
    expect(page.get_by_text("Select two or more ports first")).to_be_visible()
    four.click(*PLACES["P1"])
    page.keyboard.down("Shift")
    four.click(*PLACES["P3"])
    page.keyboard.up("Shift")
    join.click()
    four.settled()
    assert four.document()["loop"]["connections"] == [["P1", "P3"]]
    row = page.get_by_role("list", name="Connections").get_by_role("listitem")
    expect(row).to_contain_text("not joined yet")
    expect(page.locator("#overlay .open-join")).to_have_count(1)
    join.click()
    expect(page.get_by_text("P1 is in a connection already")).to_be_visible()

    page.get_by_role("button", name="Remove connection P1 – P3").click()
    four.settled()
    assert not four.document().get("loop", {}).get("connections")
    expect(page.locator("#overlay .open-join")).to_have_count(0)
    page.get_by_role("button", name="Undo").first.click()
    expect(row).to_have_count(1)
    four.click(*PLACES["P1"])
    page.keyboard.press("Delete")
    four.settled()
    assert not four.document().get("loop", {}).get("connections")


def test_the_order_of_the_devices_makes_the_demos_connections(bench: Bench) -> None:
    """The demo is drawn: its own order is what its ports and channels say."""
    page = bench.page
    bench.step("Run channels")
    expect(page.get_by_label("Order of devices")).to_have_value("PUMP, CPU, TOP, GPU, FRONT, RES")
    page.get_by_role("button", name="From the order of devices").click()
    expect(page.get_by_text("RES to PUMP: joined by a tube.")).to_be_visible()
    connections = bench.document()["loop"]["connections"]
    assert connections == [["P1", "P2"], ["P3", "P4"], ["P5", "P6"], ["P7", "P8"], ["P9", "P10"]]
    expect(page.get_by_text("joined by channels")).to_have_count(5)
    page.get_by_label("Order of devices").fill("PUMP, NOBODY")
    page.get_by_label("Order of devices").press("Enter")
    expect(page.get_by_text("There is no device NOBODY")).to_be_visible()
