"""An own plate of 13 ports in each of the three ways, from "A new plate" to the shop's zip, every action counted.

The scenario is invented: a desk machine with a floor of 460 by 380 mm, a bracket in its corner and a cable hole; a
board on edge, a card on a riser, three blocks, two radiators, and a pump with reservoir. The readings are distances by
Pythagoras between places that are known here, to 0.1 mm; the floor must come out at those places.

One action is a press, a choice, a field typed, a place on the plan, or a reading.
"""

from __future__ import annotations

import io
import itertools
import json
import math
import re
import zipfile
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.conftest import Server
from tests.browser.hands import Hand
from tests.browser.test_whole_job import hand_of

pytestmark = [pytest.mark.browser, pytest.mark.long]

#: docs/page.md has the count.
MOST_ACTIONS = 180

#: Where the points of the floor truly are, mm.
POINTS = {
    "A": (0, 0), "B": (460, 0), "C": (460, 380), "D": (0, 380), "E": (400, 300), "F": (460, 300), "G": (400, 380),
    "S": (260, 110), "U": (120, 320),
}  # fmt: skip
#: 34 of the 36 pairs of them.
PAIRS = [pair for pair in itertools.combinations(POINTS, 2) if pair not in (("F", "G"), ("E", "U"))]


@pytest.fixture(params=["mouse", "keyboard", "finger"])
def hand(request: pytest.FixtureRequest, browser: Browser, server: Server) -> Iterator[Hand]:
    """A hand at the page, with some other plate open."""
    for one in hand_of(browser, server, request.param):
        one.page.set_default_timeout(30_000)
        yield one


def test_thirteen_ports_with_the_actions_counted(hand: Hand) -> None:
    counts = []
    for part in (begin, measure, hardware, run_channels, place_screws, try_and_correct, hand_off):
        before = hand.count
        part(hand)
        counts.append(f"{part.__name__} {hand.count - before}")
    # With -rA: what docs/page.md says of each part.
    print(f"{hand.count} actions: {', '.join(counts)}")
    document = hand.bench.document()
    assert len(document["ports"]) == 13
    assert len(document["survey"]["readings"]) == 34 + 1  # and the hole's diameter
    assert hand.count < MOST_ACTIONS


def begin(hand: Hand) -> None:
    """A name and three numbers."""
    page = hand.page
    hand.press(page.get_by_role("button", name="Plates"))
    hand.press(page.get_by_role("button", name="A new plate"))
    dialog = page.get_by_role("dialog", name="A new plate")
    hand.write(dialog.get_by_label("Name", exact=True), "Weather desk")
    hand.write(dialog.get_by_label("Width inside", exact=True), "460")
    hand.write(dialog.get_by_label("Depth inside", exact=True), "38 cm")
    hand.press(dialog.get_by_role("button", name="Begin this plate"))
    expect(page.get_by_label("Name of the plate")).to_have_value("Weather desk")
    hand.bench.plate = int(page.evaluate("() => location.hash.split('=')[1]"))
    # The way of the job begins at its first step.
    expect(page.get_by_role("heading", name="Measure", exact=True, level=2)).to_be_visible()


def measure(hand: Hand) -> None:
    """34 readings by a caliper that types, faster than any hand; floor, bracket and hole drawn from them."""
    page = hand.page
    hand.write(page.get_by_label("New points"), " ".join(POINTS))
    hand.press(page.get_by_text("One after the other, or with a caliper that types"))
    hand.write(page.get_by_label("Pairs of points"), ", ".join("-".join(pair) for pair in PAIRS))
    hand.press(page.get_by_role("button", name="Begin", exact=True))
    expect(page.locator('[data-keep="sequence-value"]')).to_be_focused()
    for first, second in PAIRS:
        hand.did(f"reading {first}-{second}")
        page.keyboard.type(f"{math.dist(POINTS[first], POINTS[second]):.1f}")
        page.keyboard.press("Enter")
    expect(page.get_by_text("The readings agree, and every point is determined.")).to_be_visible(timeout=60_000)
    readings = hand.bench.document()["survey"]["readings"]
    assert [tuple(reading["points"]) for reading in readings] == PAIRS
    for corners, height in (("A B C D", ""), ("E F C G", "45")):
        hand.write(page.get_by_label("Corners in order"), corners)
        if height:
            hand.write(page.locator('[data-keep="outline-height"]'), height)
        hand.press(page.get_by_role("button", name="Add outline"))
        expect(page.get_by_label(re.compile(r"Corners of .*in order")).last).to_have_value(corners)
    hand.choose(page.get_by_label("What is outlined"), value="opening")
    hand.choose(page.get_by_label("Shape of the outline"), value="round")
    hand.choose(page.get_by_label("Centre of the round outline"), value="S")
    hand.press(page.get_by_role("button", name="Add outline"))
    # Its diameter was forgotten: the page says so, and goes to the field.
    draw = page.get_by_role("button", name="Draw the floor from these readings")
    hand.press(draw)
    expect(page.locator("#notice")).to_contain_text("type its diameter")
    expect(page.get_by_label("Diameter of W1")).to_be_focused()
    hand.write(page.get_by_label("Diameter of W1"), "16")
    hand.press(draw)
    expect(page.locator("#notice")).to_contain_text("The floor is drawn")
    document = hand.bench.document()
    for vertex, point in zip(document["floor"]["outline"]["vertices"], "ABCD", strict=True):
        assert math.dist((vertex["x_mm"], vertex["y_mm"]), POINTS[point]) < 0.2
    hole = document["floor"]["openings"][0]["outline"]
    assert math.dist((hole["x_mm"], hole["y_mm"]), POINTS["S"]) < 0.2
    # The bracket stands in the plate: the plate is cut back there, 3 mm off it.
    hand.item("plate")
    hand.press(page.get_by_text("From another shape…"))
    hand.choose(page.get_by_label("Other shape"), value="O1")
    hand.choose(page.get_by_label("What to do with it"), value="minus")
    hand.write(page.get_by_label("By how much"), "3")
    hand.press(page.get_by_role("button", name="Make the outline"))
    expect(page.locator("#notice")).to_contain_text("The plate has its new outline")
    hand.bench.settled()


def hardware(hand: Hand) -> None:
    """Boards and devices from ready sets and the library, ports under all tubes."""
    hand.step("Lay out")
    hand.add("Ready set", "Board, on edge")
    hand.number("From the left", "60")
    hand.number("From the front", "340")
    for along, heat in (("60", "15"), ("", "120")):
        hand.add("Part", "Block for a board")
        if along:
            hand.number("Along the holder, u", along)
        hand.number("Heat into the coolant", heat)
        hand.item("B1")
    hand.add("Ready set", "Card on riser, on edge")
    hand.number("From the left", "350")
    hand.number("From the front", "60")
    hand.item("B3")
    hand.add("Part", "Block for a card")
    hand.number("Heat into the coolant", "220")
    hand.add("Part", "Pump with reservoir")
    hand.number("From the left", "115")
    hand.number("From the front", "190")
    hand.add("Part", "Radiator, 2 × 120 mm")
    hand.number("From the left", "200")
    hand.number("From the front", "65")
    hand.number("Above the floor", "205")
    hand.option("Orientation", "standing")
    hand.number("Rotation in its own plane", "90")
    hand.add("Part", "Radiator, 3 × 120 mm")
    hand.number("From the front", "250")
    hand.number("Above the floor", "320")
    hand.bench.settled()
    hand.task("Place the ports")
    assert len(hand.bench.document()["ports"]) == 12
    hand.tool("port")
    hand.place(100, 74)
    hand.option("Used for", "drain")
    hand.bench.settled()
    assert [port.get("use") for port in hand.bench.document()["ports"]].count("drain") == 1


def run_channels(hand: Hand) -> None:
    """The loop drawn from port to port."""
    page = hand.page
    place = {port.get("serves") or "drain": (port["x_mm"], port["y_mm"]) for port in hand.bench.document()["ports"]}
    devices = {device["id"]: device["name"] for device in hand.bench.document()["devices"]}
    small, main, card, pump, front, top = devices
    assert devices[pump] == "Pump with reservoir"
    hand.step("Run channels")
    # What is selected opened the part beside the drawing: all is brought into what is left.
    hand.press(page.get_by_role("button", name="Fit", exact=True))
    bottom = place[f"{front}.out"][1]
    right = place[f"{card}.out"][0] + 40
    across = place[f"{main}.out"][1]
    hand.channel(place[f"{pump}.out"], place[f"{small}.in"])
    hand.channel(place[f"{small}.out"], place[f"{main}.in"])
    hand.channel(place[f"{main}.out"], (310, across), (310, place[f"{card}.in"][1]), place[f"{card}.in"])
    hand.channel(place[f"{card}.out"], (right, place[f"{card}.out"][1]), (right, bottom), place[f"{front}.in"])
    hand.channel(place[f"{front}.out"], (place[f"{top}.in"][0], bottom), place[f"{top}.in"])
    hand.channel(place[f"{top}.out"], place[f"{pump}.in"])
    hand.tool("branch")
    hand.place(100, bottom)
    hand.channel(place["drain"], (100, bottom))
    hand.bench.settled()
    joined = {frozenset((channel["start"], channel["end"])) for channel in hand.bench.document()["channels"]}
    # Six of the loop, one of them parted by the branch, and the drain.
    assert len(joined) == 8


def place_screws(hand: Hand) -> None:
    """Screws by rule; two findings lead to the fields that say whether the sheets have been measured."""
    page = hand.page
    hand.step("Hand off")
    hand.task("Place the screws")
    hand.bench.tried()
    # How a hand lays the channels may leave a screw that pulls too hard: the finding's own button is the way out.
    way_out = page.locator("#findings .found.error button.do")
    if way_out.count():
        hand.press(way_out.first)
        hand.bench.settled()
        hand.task("Re-place all screws")
    settled_without(hand, "error")
    for what in ("Lid thickness is", "Body thickness is"):
        found = page.locator('#findings .found.warning[data-rule="sheet-thickness"]')
        if not found.count():
            break  # with a softer cord the sheets may be as thin as they come
        hand.press(found.get_by_role("button", name=what.lower(), exact=True).first)
        field = page.get_by_label(what, exact=True)
        expect(field).to_be_focused()
        hand.choose(field, value="measured")
        hand.bench.settled()
    hand.step("Hand off")
    hand.task("Re-place all screws")
    settled_without(hand, "error", "warning")


def try_and_correct(hand: Hand) -> None:
    """The test piece lands but for one tube, 1.5 mm to the left of its hole; the channel goes with its port."""
    page = hand.page
    hand.step("Test piece")
    with page.expect_download(timeout=120_000) as piece:
        hand.press(page.get_by_role("link", name="DXF for the cutter"))
    assert "CUT_OUTER" in piece.value.path().read_text("utf-8")
    top = hand.bench.document()["devices"][-1]["id"]
    (port,) = [one for one in hand.bench.document()["ports"] if one.get("serves") == f"{top}.in"]
    hand.write(page.get_by_label(f"{port['id']} to the right", exact=True), "-1.5")
    hand.press(page.get_by_role("button", name="The other ports fit"))
    hand.press(page.get_by_role("button", name="Analyse fit"))
    expect(page.get_by_text(f"{port['id']}: 1.5 mm to the left")).to_be_visible(timeout=120_000)
    make = page.get_by_role("button", name="Make the chosen moves")
    expect(make).to_be_enabled(timeout=120_000)
    hand.press(make)
    assert hand.bench.item("ports", port["id"])["x_mm"] == pytest.approx(port["x_mm"] - 1.5)
    hand.press(page.get_by_role("button", name="Keep as test piece"))
    expect(page.get_by_role("listitem").filter(has_text="test piece 1")).to_be_visible(timeout=120_000)


def hand_off(hand: Hand) -> None:
    """The screws follow the moved channel, and the shop gets its package."""
    page = hand.page
    hand.step("Hand off")
    hand.task("Re-place all screws")
    settled_without(hand, "error", "warning")
    hand.press(page.get_by_role("button", name="Download shop package"))
    keep = page.get_by_role("button", name="Keep “hand-off 1” now")
    expect(keep).to_be_visible(timeout=120_000)
    hand.press(keep)
    expect(page.get_by_role("listitem").filter(has_text="hand-off 1")).to_be_visible(timeout=300_000)
    with page.expect_download(timeout=300_000) as pack:
        hand.press(page.get_by_role("button", name="Download shop package"))
    package = zipfile.ZipFile(io.BytesIO(pack.value.path().read_bytes()))
    assert {"body-above.dxf", "lid.dxf", "drawing.pdf", "holes.csv", "plate.json"} <= set(package.namelist())
    assert len(json.loads(package.read("plate.json"))["ports"]) == 13


def settled_without(hand: Hand, *levels: str) -> None:
    """Nothing of these levels is found, by an answer about the plate as it is."""
    hand.bench.settled()
    for level in levels:
        # So that a failure says which. Nobody places mounting screws on this way, and that is told.
        expect(hand.page.locator(f'#findings .found.{level}:not([data-rule="mount-none"]) .found-words')).to_have_text(
            [], timeout=60_000
        )
    # What is left says what was assumed, or how it is; none of it asks for a change that the page could not make.
    notes = set(hand.page.locator("#findings .found.note").evaluate_all("(all) => all.map((one) => one.dataset.rule)"))
    assert notes <= {"assumed", "air-lying", "dead-end", "landing-chance", "outside-range", "survey-chance"}
