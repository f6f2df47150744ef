"""Connections, and channels that the program lays out, by mouse and by role and label."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.browser.conftest import Bench, Server, place_of
from tests.browser.test_access import faults

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
    # What is drawn can be laid again without saying what it joins.
    search = page.get_by_role("button", name="Search for channels")
    expect(search).to_be_disabled()
    page.get_by_label("Lay drawn channels again", exact=True).check()
    expect(search).to_be_enabled()
    page.get_by_role("button", name="From the order of devices").click()
    expect(page.get_by_text("RES to PUMP: joined by a tube.")).to_be_visible()
    connections = bench.document()["loop"]["connections"]
    assert connections == [["P1", "P2"], ["P3", "P4"], ["P5", "P6"], ["P7", "P8"], ["P9", "P10"]]
    expect(page.get_by_text("joined by channels")).to_have_count(5)
    # Dragged by the pointer, then back by the keys: the words follow, and the connections with them.
    chips = page.get_by_role("list", name="Devices, to drag").get_by_role("button")
    bench.settled()
    chips.last.scroll_into_view_if_needed()
    boxes = [place_of(chips.nth(k)) for k in (1, 3)]
    page.mouse.move(boxes[0]["x"] + 8, boxes[0]["y"] + 10)
    page.mouse.down()
    page.mouse.move(boxes[1]["x"] + boxes[1]["width"] - 3, boxes[1]["y"] + 10, steps=8)
    page.mouse.up()
    expect(page.get_by_label("Order of devices")).to_have_value("PUMP, TOP, GPU, CPU, FRONT, RES")
    for _ in range(2):
        page.keyboard.press("ArrowLeft")
    expect(page.get_by_label("Order of devices")).to_have_value("PUMP, CPU, TOP, GPU, FRONT, RES")
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="From the order of devices").click()
    bench.settled()
    assert bench.document()["loop"]["connections"] != connections
    page.get_by_label("Order of devices").fill("PUMP, NOBODY")
    page.get_by_label("Order of devices").press("Enter")
    expect(page.get_by_text("There is no device NOBODY")).to_be_visible()


@pytest.mark.parametrize("four", [[["P1", "P3"], ["P2", "P4"]]], indirect=True, ids=["two open"])
def test_a_proposal_is_looked_at_taken_in_part_and_whole_and_undone(four: Bench) -> None:
    page = four.page
    page.get_by_label("Style", exact=True).select_option("square")
    line = page.get_by_label("Mirror line, from the left", exact=True)
    expect(line).to_have_count(0)
    page.get_by_role("combobox", name="Look", exact=True).select_option("symmetry")
    line.fill("200")
    line.press("Enter")
    page.get_by_label("Width", exact=True).fill("8")
    page.get_by_label("Width", exact=True).press("Enter")
    page.get_by_label("Weight of few bends").fill("0.6")
    page.get_by_label("Time, seconds", exact=True).fill("5")
    page.get_by_label("Time, seconds", exact=True).press("Enter")
    search = page.get_by_role("button", name="Search for channels")
    with page.expect_request("**/api/proposals") as asked:
        search.click()
    wishes = asked.value.post_data_json
    keys = ("style", "look", "line_x_mm", "line_y_mm", "width_mm", "bends", "seconds")
    assert [wishes[key] for key in keys] == ["square", "symmetry", 200, None, 8, 0.6, 5]
    expect(page.get_by_role("button", name="Searching…")).to_be_disabled()

    one = page.get_by_role("group", name="Alternatives").get_by_role("radio").first
    expect(one).to_be_visible(timeout=60_000)
    # The best is chosen, shown and said why: one press would use it.
    expect(one).to_be_checked()
    why = "Alternative 1 is chosen: the best by the weights above"
    expect(page.locator("#chosen-why")).to_contain_text(why)
    expect(page.locator("#say")).to_contain_text(why)
    expect(page.get_by_role("button", name="Use this")).to_be_enabled()
    page.get_by_role("button", name="Hide preview").click()
    expect(page.locator("#overlay [data-proposed]")).to_have_count(0)
    page.get_by_role("button", name="Show preview").click()
    expect(page.locator("#overlay [data-proposed]")).not_to_have_count(0)
    expect(page.get_by_role("row").filter(has_text="Lower bound, kPa")).to_be_visible()
    row = page.get_by_role("table").get_by_role("row").filter(has_text="Mirrored")
    expect(row).to_contain_text("100 %")
    assert "channels" not in four.document()
    assert faults(four) == []

    # In part: what is not ticked is not on the plan, and not taken.
    page.get_by_role("checkbox", name="P2 – P4").uncheck()  # one for each channel
    expect(page.locator("#overlay [data-proposed]")).to_have_count(1)
    page.get_by_role("button", name="Use this").click()
    four.settled()
    (channel,) = four.document()["channels"]
    assert {channel["start"], channel["end"]} == {"P1", "P3"}
    expect(page.locator("#overlay .open-join")).to_have_count(1)
    page.locator("#undo").click()
    four.settled()
    assert "channels" not in four.document()

    # The search is about this very plate again, so that it can be taken whole; what was chosen still is.
    page.get_by_role("button", name="Use this").click()
    four.settled()
    ends = [{channel["start"], channel["end"]} for channel in four.document()["channels"]]
    assert {"P1", "P3"} in ends
    assert {"P2", "P4"} in ends
    expect(page.locator("#overlay .open-join")).to_have_count(0)
    expect(page.locator("#overlay [data-proposed]")).to_have_count(0)
    expect(page.get_by_role("list", name="Connections")).to_contain_text("joined by channels")
    page.locator("#undo").click()
    four.settled()
    assert "channels" not in four.document()
    expect(one).to_be_visible()


@pytest.mark.parametrize("four", [[["P1", "P3"]]], indirect=True, ids=["one open"])
def test_a_search_is_cancelled_and_a_move_that_makes_room_is_made(four: Bench) -> None:
    """The search is the server's own; that it names a draft or a move is laid in its mouth: finding one takes long."""
    page = four.page
    page.get_by_label("Time, seconds", exact=True).fill("600")
    page.get_by_label("Time, seconds", exact=True).press("Enter")
    page.get_by_role("button", name="Search for channels").click()
    expect(page.locator("#search-progress")).to_contain_text("attempt")
    with page.expect_response(lambda answer: answer.request.method == "DELETE") as ended:
        page.get_by_role("button", name="Cancel", exact=True).click()
    assert ended.value.json()["state"] == "cancelled"
    expect(page.get_by_text("Cancelled after")).to_be_visible()

    answer: dict[str, Any] = {"channels": [], "connected": [], "alternatives": [], "passes": False}
    answer |= {"drafts": [], "failures": [], "tried": [], "short": [], "few": ""}
    answer["unconnected"] = [
        {"ports": ["P1", "P3"], "why": "A wall is in the way.", "move": {"item": "P3", "dx_mm": 2, "dy_mm": -4}}
    ]
    # A draft that does not pass: said plainly, with the reason and what was tried, and never taken unawares.
    drawn = {**four.document(), "channels": [{"id": "C1", "start": "P1", "end": "P3", "width_mm": 8, "depth_mm": 8}]}
    error = {"rule": "screw-load", "items": ["H1"], "message": "H1 pulls too much.", "remedy": "Use a softer cord."}
    figures = ("width_mm", "depth_mm", "loss_kpa", "least_loss_kpa", "flow_l_min", "length_mm", "bends", "milling_mm3")
    shares = ("tidiness", "parallel", "along_edges", "mirrored", "changed_mm", "lid_screws")
    draft = {
        **dict.fromkeys((*figures, *shares), 1),
        "connected": [["P1", "P3"]],
        "channels": ["C1"],
        "screw": "M5",
        "style": "square",
        "look": None,
        "best_at": [],
        "good": False,
        "document": drawn,
        "counts": {"error": 1, "warning": 0, "note": 0},
        "changes": [{"pointer": "/seal/screw", "words": "M5 lid screws instead of M4"}],
    }
    failing = {**answer, "drafts": [draft], "failures": [{**error, "stood_before": False}]}
    failing["tried"] = [{"words": "a lid of 12 mm instead of 10 mm", "left": "H1 still pulls too much."}]
    failing["short"] = ["The channel from P1 to P3 and K1 are 10 mm apart; a groove with lid screws takes 13 mm."]
    failing["late"] = True
    told = {"answer": failing}
    state = {"state": "done", "attempts": 1}
    page.route("**/api/proposals/*", lambda route: route.fulfill(json={**state, **told}))
    page.get_by_role("button", name="Search for channels").click()
    why = page.get_by_role("group", name="Why nothing passes")
    expect(why).to_contain_text("Nothing found that passes every rule.")
    expect(why).to_contain_text("H1 pulls too much. Use a softer cord.")
    expect(why).to_contain_text("Too little room for groove and lid screws:")
    expect(why).to_contain_text("The channel from P1 to P3 and K1 are 10 mm apart")
    expect(page.get_by_text("too slow for the whole search")).to_be_visible()
    expect(why).to_contain_text("A lid of 12 mm instead of 10 mm. H1 still pulls too much.")
    expect(page.get_by_role("group", name="Alternatives")).to_have_count(0)
    drafts = page.get_by_role("group", name="Drafts that do not pass")
    expect(drafts).to_contain_text("1 also changes the plate: M5 lid screws instead of M4")
    expect(drafts).to_contain_text("1 × M5 (changed)")
    drafts.get_by_role("radio", name="Draft 1").check()
    expect(page.get_by_role("button", name="Use this", exact=True)).to_have_count(0)
    page.get_by_role("button", name="Use this draft, with its 1 error").click()
    four.settled()
    expect(page.get_by_text("It is a draft that does not pass: 1 error.")).to_be_visible()
    page.locator("#undo").click()
    four.settled()
    assert faults(four) == []

    told["answer"] = answer
    page.get_by_role("button", name="Search for channels").click()
    row = page.get_by_role("group", name="P1 – P3 not joined")
    expect(row).to_contain_text("A wall is in the way.")
    row.get_by_role("button", name="Move P3 2 mm to the right and 4 mm to the front").click()
    four.settled()
    assert (four.item("ports", "P3")["x_mm"], four.item("ports", "P3")["y_mm"]) == (82, 216)
    expect(page.get_by_text("P3 moved. Search again.")).to_be_visible()


@pytest.mark.parametrize("four", [[]], indirect=True, ids=["none"])
def test_channels_follow_what_is_dragged_as_one_step(four: Bench) -> None:
    """P1 is dragged to the rear: its channel to P4 goes round K1, and one undo takes port and channel back. The lid's
    screws stay where they stood; that is told, and one press places them again."""
    page = four.page
    plain = four.document()
    plain["channels"] = [{"id": "C1", "start": "P1", "end": "P4", "width_mm": 8, "depth_mm": 8}]
    plain["cutouts"] = [{"id": "K1", "outline": {**RECTANGLE, "y_mm": 150, "width_mm": 40, "depth_mm": 40}}]
    screws = four.server.post("/api/screws", {"document": plain, "anew": True})["holes"]
    plain["holes"] = [{**hole, "id": f"S{number}"} for number, hole in enumerate(screws, start=1)]
    other = Bench(page, four.server, four.server.post("/api/plates", {"document": plain})["id"])
    other.open()
    other.step("Lay out")
    page.get_by_text("Snapping", exact=True).first.click()
    page.get_by_label("Lay channels again around what is dragged").check()
    before = other.document()
    undo = page.locator("#undo")
    expect(undo).to_be_disabled()
    other.press(80, 80)
    with page.expect_response("**/api/reroute") as answered:
        other.drag_to(80, 150)
    assert answered.value.ok
    page.mouse.up()
    expect(undo).to_be_enabled()
    other.settled()
    assert other.item("ports", "P1")["y_mm"] == pytest.approx(150, abs=8)
    (channel,) = other.document()["channels"]
    # Straight from there to P4 it would run through K1.
    assert channel["points"]
    words = re.compile(r"^Lid screws? S\d+.* in the way of .*C1")
    expect(page.locator("#notice")).to_contain_text(words)
    expect(page.locator(".screw-offer")).to_contain_text(words)
    # What stands in the way is no longer there, and the lid is held by others: by the rules.
    page.get_by_role("button", name="Place the lid screws again").click()
    expect(page.locator(".screw-offer")).to_have_count(0)
    other.settled()
    expect(other.rule("seal-wall")).to_have_count(0)
    after = [hole["id"] for hole in other.document()["holes"]]
    assert not {hole["id"] for hole in plain["holes"]} & set(after)
    undo.click()
    other.settled()
    undo.click()
    other.settled()
    assert other.document() == before
    # With Alt held it stays as it is drawn.
    page.keyboard.down("Alt")
    other.press(80, 80)
    other.drag_to(80, 150)
    other.drop()
    page.keyboard.up("Alt")
    assert not other.document()["channels"][0].get("points")


@pytest.mark.parametrize("four", [[["P1", "P3"]]], indirect=True, ids=["one open"])
def test_a_server_that_is_away_is_said(four: Bench) -> None:
    page = four.page
    page.route("**/api/proposals", lambda route: route.abort())
    page.get_by_role("button", name="Search for channels").click()
    expect(page.get_by_text("The server does not answer.")).to_be_visible()
    expect(page.get_by_role("button", name="Search for channels")).to_be_enabled()


def test_ports_come_under_their_tubes_and_orders_are_suggested(bench: Bench) -> None:
    page = bench.page
    before = bench.item("ports", "P2")
    page.get_by_role("tab", name="All items").click()
    page.locator('#items [data-item="P2"]').click()
    field = bench.field("From the left")
    field.fill("197")
    field.press("Enter")
    bench.settled()
    assert bench.item("ports", "P2")["x_mm"] == 197
    bench.step("Lay out")
    page.get_by_role("button", name="Place the ports").click()
    expect(page.locator("#notice")).to_contain_text("1 port moved or added")
    after = bench.item("ports", "P2")
    assert (after["x_mm"], after["y_mm"]) == (before["x_mm"], before["y_mm"])
    page.get_by_role("button", name="Place the ports").click()
    expect(page.locator("#notice")).to_contain_text("Every port stands under its tube already")

    page.get_by_text("The plate", exact=True).first.click()
    page.get_by_label("Smallest plate: shape", exact=True).select_option("notched")
    clearance = page.get_by_label("Clearance to the floor's edge", exact=True)
    clearance.fill("1")
    clearance.press("Enter")
    drawn = bench.document()["plate"]["outline"]
    with page.expect_response("**/api/smallest-plate", timeout=120_000) as found:
        page.get_by_role("button", name="Smallest plate", exact=True).click()
    asked = found.value.request.post_data_json
    assert (asked["shape"], asked["clear_mm"]) == ("notched", 1)
    answer = found.value.json()
    if answer["why"]:
        expect(page.get_by_text(answer["why"])).to_be_visible()
    else:
        expect(page.get_by_text("less area. Undo brings the old plate back.")).to_be_visible()
        bench.settled()
        assert bench.document()["plate"]["outline"] == answer["document"]["plate"]["outline"]
        page.locator("#undo").click()
        bench.settled()
    assert bench.document()["plate"]["outline"] == drawn

    bench.step("Run channels")
    with page.expect_response("**/api/orders") as suggested:
        page.get_by_role("button", name="Suggest orders").click()
    rows = page.get_by_role("list", name="Orders of devices").get_by_role("listitem")
    expect(rows.filter(has_text="as it is")).to_have_count(1)
    expect(rows.first).to_contain_text("mm in straight lines")
    # What each costs in the coolant's temperature stands beside it, as the difference from the present order.
    orders = suggested.value.json()["orders"]
    (now,) = (one["warmest_block_c"] for one in orders if one["present"])
    for row, one in enumerate(orders):
        costs = one["warmest_block_c"] - now
        words = f" ({'+' if costs > 0 else '−'}{abs(costs):.2f} °C)" if abs(costs) >= 0.005 else ""
        expect(rows.nth(row)).to_contain_text(f"coolant at the warmest block {one['warmest_block_c']:.1f} °C{words}")
    assert faults(bench) == []
    use = rows.get_by_role("button").first
    use.click()
    bench.settled()
    assert bench.document()["loop"]["connections"]
    # They were of the plate before the change.
    expect(rows).to_have_count(0)
