"""A plate of one's own from "new" to the shop's zip, by mouse, by keyboard alone and by finger, its actions counted.

Every day a small one by keyboard alone; with ``--long`` the whole way of the job in all three, each in one go: survey,
floor, board, devices, ports under the tubes, channels, a drain, screws, what the findings ask for, test piece,
correction, package. The scenarios are invented; the readings are distances by Pythagoras between places that are
known here.
"""

from __future__ import annotations

import io
import itertools
import math
import re
import zipfile
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.conftest import Bench, Server
from tests.browser.hands import Hand

pytestmark = pytest.mark.browser

#: More actions than these are too many; docs/page.md has the counts.
MOST_FOR_TWO_PORTS, MOST_FOR_SEVEN_PORTS = 24, 95
SHOP_FILES = {"body-above.dxf", "lid.dxf", "drawing.pdf", "holes.csv", "plate.html", "plate.json"}


def hand_of(browser: Browser, server: Server, way: str) -> Iterator[Hand]:
    """A hand at the page, with some other plate open."""
    context = browser.new_context(
        viewport={"width": 1280, "height": 800}, has_touch=way == "finger", accept_downloads=True
    )
    start = {"width_mm": 100, "depth_mm": 100, "body_thickness_mm": 20}
    bench = Bench(context.new_page(), server, server.post("/api/plates", {"start": start})["id"], beside=False)
    bench.open()
    yield Hand(bench, way)
    assert bench.faults == []
    context.close()


@pytest.fixture
def keys(browser: Browser, server: Server) -> Iterator[Hand]:
    """The keyboard alone."""
    yield from hand_of(browser, server, "keyboard")


@pytest.fixture(params=["mouse", "keyboard", "finger"])
def hand(request: pytest.FixtureRequest, browser: Browser, server: Server) -> Iterator[Hand]:
    """One of the three ways."""
    yield from hand_of(browser, server, request.param)


def test_a_small_plate_to_the_shops_package_by_keyboard_alone(keys: Hand) -> None:
    page, bench = keys.page, keys.bench
    begin(keys, "220", "160")
    expect(page.get_by_role("region", name="First steps")).to_be_visible()
    keys.step("Lay out")
    for x in (60, 160):
        keys.tool("port")
        keys.place(x, 80)
    expect(page.get_by_role("region", name="First steps")).to_have_count(0)
    keys.step("Run channels")
    keys.channel((60, 80), (160, 80))
    keys.step("Hand off")
    keys.press(page.get_by_role("button", name="Place the screws"))
    expect(page.get_by_text(re.compile(r"^\d+ screws hold the lid"))).to_be_visible(timeout=30_000)
    bench.settled()
    keys.step("Check")
    expect(page.locator('[data-question="made"]')).to_contain_text("Yes", timeout=30_000)
    package(keys, "bench-supply-hand-off.zip")
    document = bench.document()
    assert [(p["x_mm"], p["y_mm"]) for p in document["ports"]] == [(60, 80), (160, 80)]
    assert (document["channels"][0]["start"], document["channels"][0]["end"]) == ("P1", "P2")
    # Nobody has placed mounting screws yet, and that is told.
    told = page.locator("#findings .found.error, #findings .found.warning")
    assert [row.get_attribute("data-rule") for row in told.all()] == ["mount-none"]
    assert keys.count <= MOST_FOR_TWO_PORTS


@pytest.mark.long
def test_the_whole_way_of_the_job_in_one_go(hand: Hand) -> None:
    begin(hand, "360", "24 cm")
    measure(hand)
    hardware(hand)
    run_channels(hand)
    place_screws(hand)
    try_and_correct(hand)
    hand.step("Hand off")
    hand.task("Re-place all screws")
    nothing_left(hand)
    package(hand, "bench-supply-hand-off.zip")
    nothing_left(hand)
    assert len(hand.bench.document()["ports"]) == 7
    assert hand.count <= MOST_FOR_SEVEN_PORTS, "\n".join(hand.log)


def begin(hand: Hand, wide: str, deep: str) -> None:
    """A name and the floor's size."""
    page = hand.page
    hand.press(page.get_by_role("button", name="Plates"))
    hand.press(page.get_by_role("button", name="A new plate"))
    dialog = page.get_by_role("dialog", name="A new plate")
    hand.write(dialog.get_by_label("Name", exact=True), "Bench supply")
    hand.write(dialog.get_by_label("Width inside", exact=True), wide)
    hand.write(dialog.get_by_label("Depth inside", exact=True), deep)
    hand.press(dialog.get_by_role("button", name="Begin this plate"))
    expect(page.get_by_label("Name of the plate")).to_have_value("Bench supply")
    hand.bench.plate = int(page.evaluate("() => location.hash.split('=')[1]"))


#: Where the points of the floor truly are, mm: its corners and the middle of a cable hole.
POINTS = {"A": (0, 0), "B": (360, 0), "C": (360, 240), "D": (0, 240), "S": (300, 60)}
PAIRS = list(itertools.combinations(POINTS, 2))


def measure(hand: Hand) -> None:
    """Ten readings by a caliper that types; floor and cable hole drawn from them."""
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
    hand.write(page.get_by_label("Corners in order"), "A B C D")
    hand.press(page.get_by_role("button", name="Add outline"))
    hand.choose(page.get_by_label("What is outlined"), value="opening")
    hand.choose(page.get_by_label("Shape of the outline"), value="round")
    hand.choose(page.get_by_label("Centre of the round outline"), value="S")
    hand.press(page.get_by_role("button", name="Add outline"))
    hand.write(page.get_by_label("Diameter of W1"), "16")
    hand.press(page.get_by_role("button", name="Draw the floor from these readings"))
    expect(page.locator("#notice")).to_contain_text("The floor is drawn")
    floor = hand.bench.document()["floor"]
    for vertex, point in zip(floor["outline"]["vertices"], "ABCD", strict=True):
        assert math.dist((vertex["x_mm"], vertex["y_mm"]), POINTS[point]) < 0.2
    hole = floor["openings"][0]["outline"]
    assert math.dist((hole["x_mm"], hole["y_mm"]), POINTS["S"]) < 0.2


def hardware(hand: Hand) -> None:
    """A board on edge with a block, a radiator, a pump with reservoir; ports under all tubes."""
    hand.step("Lay out")
    hand.add("Ready set", "Board, on edge")
    hand.number("From the left", "30")
    hand.number("From the front", "200")
    hand.add("Part", "Block for a board")
    hand.number("Heat into the coolant", "120")
    hand.add("Part", "Radiator, 1 × 120 mm")
    hand.number("From the left", "170")
    hand.number("From the front", "60")
    hand.number("Above the floor", "205")
    hand.option("Orientation", "standing")
    hand.number("Rotation in its own plane", "90")
    hand.add("Part", "Pump with reservoir")
    hand.number("From the left", "60")
    hand.number("From the front", "120")
    hand.task("Place the ports")
    assert len(hand.bench.document()["ports"]) == 6


def run_channels(hand: Hand) -> None:
    """The loop from port to port, and a drain that a branch joins to it."""
    page = hand.page
    document = hand.bench.document()
    place = {port["serves"]: (port["x_mm"], port["y_mm"]) for port in document["ports"]}
    block, radiator, pump = [device["id"] for device in document["devices"]]
    hand.step("Run channels")
    # What is selected opened the part beside the drawing: all is brought into what is left.
    hand.press(page.get_by_role("button", name="Fit", exact=True))
    out, into = place[f"{pump}.out"], place[f"{block}.in"]
    hand.channel(out, (out[0], into[1]), into)
    hand.channel(place[f"{block}.out"], place[f"{radiator}.in"])
    out, into = place[f"{radiator}.out"], place[f"{pump}.in"]
    hand.channel(out, (into[0], out[1]), into)
    hand.tool("port")
    hand.place(115, 95)
    hand.option("Used for", "drain")
    hand.tool("branch")
    hand.place(115, out[1])
    hand.channel((115, 95), (115, out[1]))
    joined = {frozenset((channel["start"], channel["end"])) for channel in hand.bench.document()["channels"]}
    # Three of the loop, one of them parted by the branch, and the drain.
    assert len(joined) == 5


def place_screws(hand: Hand) -> None:
    """Screws by rule; sheets may be thinner than their names say, and the findings lead to where that is answered."""
    page = hand.page
    hand.step("Hand off")
    hand.task("Place the screws")
    hand.press(page.get_by_role("button", name=re.compile("^Findings: ")))
    for name in ("lid", "body"):
        hand.press(page.locator("#findings .found").get_by_role("button", name=f"{name} thickness is").first)
        field = page.get_by_label(f"{name.capitalize()} thickness is", exact=True)
        expect(field).to_be_focused()
        hand.choose(field, value="measured")
        hand.bench.settled()
    nothing_left(hand)


def try_and_correct(hand: Hand) -> None:
    """The test piece lands but for one tube, 1.5 mm to the left of its hole; the channel goes with its port."""
    page = hand.page
    hand.step("Test piece")
    with page.expect_download(timeout=120_000) as piece:
        hand.press(page.get_by_role("link", name="DXF for the cutter"))
    assert "CUT_OUTER" in piece.value.path().read_text("utf-8")
    (port,) = [one for one in hand.bench.document()["ports"] if one.get("serves") == "D2.in"]
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


def package(hand: Hand, name: str) -> None:
    """A revision is kept first, as the page says; then the shop's package comes."""
    page = hand.page
    hand.step("Hand off")
    hand.press(page.get_by_role("button", name="Download shop package"))
    keep = page.get_by_role("button", name="Keep “hand-off 1” now")
    expect(keep).to_be_visible(timeout=60_000)
    hand.press(keep)
    # All files are made, solids too.
    expect(page.get_by_role("listitem").filter(has_text="hand-off 1")).to_be_visible(timeout=300_000)
    with page.expect_download(timeout=300_000) as pack:
        hand.press(page.get_by_role("button", name="Download shop package"))
    assert pack.value.suggested_filename == name
    assert set(zipfile.ZipFile(io.BytesIO(pack.value.path().read_bytes())).namelist()) >= SHOP_FILES


def nothing_left(hand: Hand) -> None:
    """No error and no warning, by an answer about the plate as it is; notes only say what was assumed, or how it is."""
    hand.bench.settled()
    for level in ("error", "warning"):
        # So that a failure says which. Nobody places mounting screws on this way, and that is told.
        expect(hand.page.locator(f'#findings .found.{level}:not([data-rule="mount-none"]) .found-words')).to_have_text(
            [], timeout=60_000
        )
    notes = set(hand.page.locator("#findings .found.note").evaluate_all("(all) => all.map((one) => one.dataset.rule)"))
    assert notes <= {"assumed", "air-lying", "dead-end", "landing-chance", "outside-range", "survey-chance"}
