"""WCAG 2.2 AA as far as axe can tell, on every step, light and dark, at five sizes; nothing is cut off or overlaps."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, expect

from tests.browser.conftest import Bench, Server, place_of

pytestmark = pytest.mark.browser

STEPS = ("Measure", "Lay out", "Run channels", "Check", "Test piece", "Hand off")
SIZES = {
    "desk": (1280, 800),
    "large desk": (1920, 1080),
    "tablet on end": (820, 1180),
    "small desk": (1024, 640),
    "phone": (360, 740),
}
#: The usual size in everyday tests (cards and dialogs in the dark theme); every size in both themes where the long ones
#: run.
GRID = [("light", "desk")]
LONG_GRID = [(scheme, size) for scheme in ("light", "dark") for size in SIZES if (scheme, size) not in GRID]
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
#: What passes is not told node by node: on a long panel the telling takes longer than the looking.
RULES = {"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]}


def faults(bench: Bench, part: str | None = None) -> list[str]:
    """What axe finds on the page, or in a part of it, each in a line that says where."""
    answer = Axe().run(bench.page, context=part, options=RULES).response
    return [
        f"{entry['impact']}: {entry['id']}: {node['target']} {node.get('failureSummary', '')[:200]}"
        for entry in answer["violations"]
        for node in entry["nodes"][:4]
    ]


@pytest.fixture
def made(browser: Browser, context: BrowserContext, server: Server, request: pytest.FixtureRequest) -> Iterator[Bench]:
    """The plate that is wrong on purpose, so that findings of every level are there, in the colours asked for."""
    scheme, size, example = request.param
    width, height = SIZES[size]
    touched = browser.new_context(has_touch=True) if size in ("tablet on end", "phone") else None
    page = (touched or context).new_page()
    page.set_viewport_size({"width": width, "height": height})
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    plate = server.post("/api/plates", {"example": example})["id"]
    # On a phone the findings are a rail beside the step, as they first are.
    bench = Bench(page, server, plate, beside=size != "phone")
    bench.open()
    yield bench
    if touched:
        touched.close()


@pytest.mark.parametrize(
    "made",
    [
        *((*case, "wrong-on-purpose") for case in GRID),
        *(
            pytest.param((*case, example), marks=pytest.mark.long)
            for case in LONG_GRID
            for example in ("wrong-on-purpose", "riser-bench")
        ),
    ],
    indirect=True,
    ids=lambda value: " ".join(value),
)
def test_axe_finds_nothing_on_any_step(made: Bench) -> None:
    found = []
    for step in STEPS:
        made.step(step)
        made.settled()
        # What stands around the step and the words beneath it are the same on all: they are looked at once.
        made.page.evaluate(
            """(words) => document.querySelectorAll('#step-panel details').forEach((fold) => {
                fold.open = words || !fold.querySelector('.glossary');
            })""",
            step == STEPS[0],
        )
        found += [f"{step}: {fault}" for fault in faults(made, "#step-panel" if step != STEPS[0] else None)]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("made", [("dark", "desk", "riser-bench")], indirect=True, ids=["dark"])
def test_axe_finds_nothing_in_card_list_dialogs_and_layers(made: Bench) -> None:
    page = made.page
    found = []
    for id_ in ("P1", "C1", "PUMP"):
        page.get_by_role("tab", name="All items").click()
        page.locator(f'#items [data-item="{id_}"]').click()
        expect(page.locator("#item-panel h3 .id")).to_have_text(id_)
        # What stands around the card is the same for all: it is looked at once.
        found += [f"{id_}: {fault}" for fault in faults(made, "#item-panel" if id_ != "P1" else None)]
    page.get_by_role("tab", name="All items").click()
    found += [f"list: {fault}" for fault in faults(made, "#item-part")]
    page.get_by_role("button", name="Layers").click()
    found += [f"layers: {fault}" for fault in faults(made, "#board")]
    page.get_by_role("button", name="Layers").click()
    for button in ("Shortcuts", "Settings", "Plates"):
        page.get_by_role("button", name=button, exact=True).click()
        expect(page.get_by_role("dialog")).to_be_visible()
        found += [f"{button}: {fault}" for fault in faults(made, "dialog[open]")]
        page.keyboard.press("Escape")
    assert not found, "\n".join(found)


@pytest.mark.long
@pytest.mark.parametrize(
    "made",
    [(scheme, size, "riser-bench") for scheme in ("light", "dark") for size in SIZES],
    indirect=True,
    ids=lambda value: " ".join(value),
)
def test_axe_finds_nothing_in_any_card_dialog_or_layer(made: Bench) -> None:
    """A card of each kind with its folds open, the rail's parts, every dialog, the menu and the elevations."""
    page = made.page
    page.evaluate("localStorage.setItem('margin', '\"open\"')")
    page.reload()
    made.settled()
    found = []
    for id_ in ("plate", "floor", "P1", "J1", "C1", "K1", "R1", "H1", "Z1", "O1", "MB", "PUMP", "TOP", "T1", "G1"):
        page.get_by_role("tab", name="All items").click()
        page.locator(f'#items [data-item="{id_}"]').click()
        for _ in range(8):
            shut = page.locator("#item-panel details:not([open]) > summary")
            if not shut.count():
                break
            shut.first.click()
        found += [f"{id_}: {fault}" for fault in faults(made, "#item-panel")]
    page.locator("#stage").focus()
    page.keyboard.press("Shift+F10")
    found += [f"menu: {fault}" for fault in faults(made)]
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Elevations").click()
    expect(page.locator("#elevations svg").first).to_be_visible()
    found += [f"elevations: {fault}" for fault in faults(made, "#board")]
    page.get_by_role("button", name="Elevations").click()
    made.step("Lay out")
    page.locator("#step-panel summary", has_text="Boards, cards and devices").click()
    for button in ("History", "Library of parts…", "Plates", "A new plate"):
        page.get_by_role("button", name=button, exact=True).click()
        expect(page.get_by_role("dialog")).to_be_visible()
        found += [f"{button}: {fault}" for fault in faults(made, "dialog[open]")]
        if button != "Plates":
            page.keyboard.press("Escape")
    assert not found, "\n".join(found)


@pytest.mark.parametrize("made", [("light", size, "riser-bench") for size in SIZES], indirect=True, ids=list(SIZES))
def test_nothing_runs_off_the_page_at_any_size(made: Bench) -> None:
    page = made.page
    width, height = page.viewport_size["width"], page.viewport_size["height"]  # type: ignore[index]
    for step in STEPS:
        made.step(step)
        assert page.evaluate("() => document.documentElement.scrollWidth") <= width
        for name in ("#head", "#step-panel", "#board", "#margin", "#foot"):
            box = place_of(page.locator(name))
            assert box["x"] >= -0.5, name
            assert box["y"] >= -0.5, name
            assert box["x"] + box["width"] <= width + 0.5, name
            assert box["y"] + box["height"] <= height + 0.5, name
        sheet_overflows = page.evaluate(
            """() => [...document.querySelectorAll('#step-panel *, #item-panel *')]
                .filter((e) => e.checkVisibility() && !e.closest('svg') && e.clientWidth > 0)
                .filter((e) => e.scrollWidth > e.clientWidth + 1)
                .filter((e) => getComputedStyle(e).overflowX === 'visible' && getComputedStyle(e).display !== 'inline')
                .map((e) => e.outerHTML.slice(0, 120))"""
        )
        assert sheet_overflows == [], step
    # The drawing keeps at least two fifths of the page's width, and the demo lies whole in it.
    box = place_of(page.locator("#board"))
    assert box["width"] >= 0.4 * width
    plate = place_of(page.locator(".plate-outline"))
    assert plate["x"] > box["x"]
    assert plate["x"] + plate["width"] < box["x"] + box["width"]


@pytest.mark.parametrize("made", [("light", "tablet on end", "riser-bench")], indirect=True, ids=["tablet"])
def test_a_finger_taps_and_two_fingers_zoom(made: Bench) -> None:
    page = made.page
    made.step("Lay out")
    page.touchscreen.tap(*made.screen(62, 150))
    expect(page.locator("#item-panel h3 .id")).to_have_text("P10")
    before = page.locator("#world").get_attribute("transform")
    session = page.context.new_cdp_session(page)
    x, y = made.screen(240, 200)

    def touch(kind: str, spread: float) -> None:
        points = [] if kind == "touchEnd" else [{"x": x - spread, "y": y, "id": 0}, {"x": x + spread, "y": y, "id": 1}]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", 40)
    for spread in (50, 60, 80):
        touch("touchMove", spread)
    touch("touchEnd", 0)
    expect(page.locator("#world")).not_to_have_attribute("transform", before or "")
    nx, ny = made.screen(240, 200)
    assert abs(nx - x) < 3
    assert abs(ny - y) < 3


@pytest.mark.parametrize("made", [("light", "desk", "riser-bench")], indirect=True, ids=["light"])
def test_what_is_found_is_said_politely(made: Bench) -> None:
    region = made.page.locator("#say-findings")
    expect(region).to_have_attribute("aria-live", "polite")
    made.page.get_by_role("tab", name="All items").click()
    made.page.locator('#items [data-item="P3"]').click()
    made.page.locator("#stage").focus()
    for _ in range(3):
        made.page.keyboard.press("Shift+ArrowLeft")
    expect(region).to_contain_text("error")
    expect(region).to_contain_text("First:")


@pytest.mark.parametrize(("size", "share"), [("desk", 0.55), ("small desk", 0.5)])
def test_the_drawing_has_the_room(context: BrowserContext, server: Server, size: str, share: float) -> None:
    """As it first comes, on every step; what is selected opens its panel, and the drawing stays where it is."""
    width, height = SIZES[size]
    page = context.new_page()
    page.set_viewport_size({"width": width, "height": height})
    bench = Bench(page, server, server.post("/api/plates", {"example": "small-board"})["id"], beside=False)
    bench.open()
    for step in STEPS:
        bench.step(step)
        box = place_of(bench.page.locator("#stage"))
        assert box["width"] * box["height"] >= share * width * height, step
        cut = bench.page.evaluate(
            """() => [...document.querySelectorAll('#steps .step-title, #strip button, #tools button')]
                .filter((e) => e.checkVisibility() && e.scrollWidth > e.clientWidth + 1).map((e) => e.textContent)"""
        )
        assert cut == [], step
    panel = bench.page.get_by_role("tabpanel", name="Selected")
    expect(panel).to_be_hidden()
    before = bench.page.locator("#world").get_attribute("transform")
    port = bench.document()["ports"][0]
    bench.click(port["x_mm"], port["y_mm"])
    expect(panel).to_be_visible()
    assert bench.page.locator("#world").get_attribute("transform") == before
    bench.page.get_by_role("button", name="Fold findings and items").click()
    expect(panel).to_be_hidden()
    bench.page.get_by_role("button", name="Findings:").click()
    expect(bench.page.locator("#findings")).to_be_visible()
