"""The first minute: three numbers make a plate, the demo is one click away, every field has its help; inches, print."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from sketcher.server.page_routes import modules
from sketcher.store import shipped
from tests.browser.conftest import Bench

pytestmark = pytest.mark.browser


def begin(bench: Bench) -> None:
    """Opens the dialog that asks for a first plate."""
    bench.page.get_by_role("button", name="Plates").click()
    bench.page.get_by_role("button", name="A new plate").click()
    expect(bench.page.get_by_role("dialog", name="A new plate")).to_be_visible()


def now(bench: Bench) -> None:
    """Follows the page to the plate it has opened."""
    bench.page.wait_for_function(f"() => !location.hash.endsWith('plate={bench.plate}')")
    bench.plate = int(bench.page.evaluate("() => location.hash.split('=')[1]"))
    bench.settled()


def test_three_numbers_make_a_plate(bench: Bench) -> None:
    begin(bench)
    dialog = bench.page.get_by_role("dialog")
    dialog.get_by_label("Width inside", exact=True).fill("16 in")
    dialog.get_by_label("Depth inside", exact=True).fill("310.5+20")
    dialog.get_by_label("Body thickness", exact=True).fill("no idea")
    dialog.get_by_role("button", name="Begin this plate").click()
    expect(dialog.get_by_role("alert")).to_contain_text("neither a number nor a unit")
    dialog.get_by_label("Body thickness", exact=True).fill("20")
    dialog.get_by_role("button", name="Begin this plate").click()
    now(bench)
    document = bench.document()
    assert document["floor"]["outline"]["width_mm"] == 406.4
    assert document["floor"]["outline"]["depth_mm"] == 330.5
    assert document["plate"]["body_thickness_mm"] == 20
    bench.step("Lay out")
    expect(bench.page.locator("#step-panel .missing")).to_contain_text("No port has been added yet")
    bench.page.locator('[data-tool="port"]').click()
    bench.click(100, 100)
    assert bench.item("ports", "P1")["x_mm"] == 100


def test_the_demo_is_one_click_away(bench: Bench) -> None:
    begin(bench)
    bench.page.get_by_role("button", name="Open the demo").click()
    now(bench)
    assert len(bench.document()["ports"]) == 11
    # The page names beforehand just those modules that it loads.
    loaded = bench.page.evaluate("() => performance.getEntriesByType('resource').map((e) => new URL(e.name).pathname)")
    named = {f"/static/{name}" for name in modules(shipped.folder("static"), "now")}
    assert named == {re.sub(r"/static/at-\w+/", "/static/", name) for name in loaded if name.endswith(".js")}


def test_every_field_of_every_card_says_what_it_is(bench: Bench) -> None:
    for id_ in ("P1", "J1", "C1", "K1", "R1", "H1", "Z1", "O1", "W1", "MB", "PUMP", "G1"):
        bench.page.get_by_role("tab", name="All items").click()
        bench.page.locator(f'#items [data-item="{id_}"]').click()
        fields = bench.page.locator("#item-panel .field")
        assert fields.count() > 0
        helps = fields.locator(".help").all_text_contents()
        assert len(helps) == fields.count()
        assert all(len(words) > 8 for words in helps), id_
    ask = bench.page.get_by_role("button", name="What is “Members”?")
    expect(ask).to_have_attribute("aria-expanded", "false")
    ask.click()
    expect(ask).to_have_attribute("aria-expanded", "true")
    expect(bench.page.locator("#item-panel .help:visible")).to_contain_text("move together")


def test_inches_are_shown_and_kept_exact(bench: Bench) -> None:
    bench.click(62, 150)
    bench.page.get_by_role("button", name="Settings", exact=True).click()
    bench.page.get_by_label("Inches").check()
    bench.page.keyboard.press("Escape")
    expect(bench.page.locator("#scale-bar")).to_contain_text("in")
    expect(bench.field("From the left")).to_have_value("2.44094")
    bench.field("From the left").fill("2.8")
    bench.field("From the left").press("Enter")
    assert bench.item("ports", "P10")["x_mm"] == 71.12
    expect(bench.field("From the left")).to_have_value("2.8")
    # Fields that were not touched keep their millimetres to the last digit.
    assert bench.item("ports", "P10")["y_mm"] == 150


def test_layers_are_hidden_and_heights_shown(bench: Bench) -> None:
    page = bench.page
    expect(page.locator('[data-layer="hardware"]')).to_be_visible()
    page.get_by_role("button", name="Layers").click()
    page.get_by_label("Boards and devices").select_option("hidden")
    expect(page.locator('[data-layer="hardware"]')).to_be_hidden()
    page.get_by_label("Ports", exact=True).select_option("hidden")
    page.get_by_role("button", name="Layers").click()
    # What is hidden cannot be selected by mistake.
    bench.click(62, 150)
    expect(page.locator("#item-panel h3 .id")).not_to_have_text("P10")
    expect(page.locator(".plan .height").first).to_be_hidden()
    page.get_by_role("button", name="Heights").click()
    expect(page.locator('[data-id="O1"] .height')).to_be_visible()


def test_a_distance_is_measured_and_a_section_cut(bench: Bench) -> None:
    page = bench.page
    page.locator("#measure-button").click()
    bench.click(190, 305)
    bench.click(230, 305)
    # P2 and P3 of the demo stand 40 mm apart.
    expect(page.locator("#overlay .over-measure .over-label")).to_contain_text("40 mm")
    page.keyboard.press("Escape")
    bench.step("Check")
    page.locator('[data-tool="section"]').click()
    bench.click(30, 215)
    bench.click(200, 215)
    section = page.locator("#section")
    expect(section).to_be_visible()
    expect(section.locator(".water").first).to_be_attached()
    expect(section).to_contain_text("P1")
    section.get_by_role("button", name="Close").click()
    expect(section).to_be_hidden()


def test_several_items_are_aligned_grouped_and_moved_together(bench: Bench) -> None:
    page = bench.page
    bench.click(62, 150)
    page.keyboard.down("Shift")
    bench.click(180, 60)
    page.keyboard.up("Shift")
    expect(page.locator("#item-panel h3")).to_have_text("2 items")
    # P10 at 62, 150 and P9 at 180, 60: √(118² + 90²) less both fittings' radii of 10 mm.
    expect(page.locator("#item-panel")).to_contain_text("Clear gap in plan128.4 mm")
    expect(page.locator("#item-panel")).to_contain_text("Centre to centre148.4 mm")
    page.get_by_role("button", name="Centres, front–rear").click()
    expect(page.locator("#item-panel")).to_contain_text("To the rear0 mm")
    assert bench.item("ports", "P9")["y_mm"] == 150
    page.get_by_role("button", name="Group", exact=True).click()
    assert bench.document()["groups"][-1]["members"] == ["P10", "P9"]
    page.get_by_role("tab", name="All items").click()
    page.locator('#items [data-item="P10"]').click()
    page.locator("#stage").focus()
    page.keyboard.press("ArrowRight")
    bench.settled()
    assert (bench.item("ports", "P10")["x_mm"], bench.item("ports", "P9")["x_mm"]) == (63, 181)
    page.get_by_text("Repeat in a row…").click()
    page.get_by_label("Spacing to the right").fill("0.8 in")
    page.get_by_label("Spacing to the rear").fill("0")
    page.get_by_role("button", name="Make the row").click()
    assert [p["x_mm"] for p in bench.document()["ports"][-2:]] == [83.32, 103.64]


def test_a_certain_fix_is_done_by_its_button(bench: Bench) -> None:
    bench.page.get_by_role("button", name="Plates").click()
    bench.page.get_by_role("button", name="A new plate").click()
    bench.page.get_by_role("button", name="One that is wrong on purpose").click()
    now(bench)
    bench.tried()
    before = bench.page.locator("#findings .found").count()
    remedy = bench.page.locator("#findings .found:has(button.do)").first
    rule, items = remedy.get_attribute("data-rule"), remedy.get_attribute("data-items")
    assert rule
    remedy.locator("button.do").click()
    here = bench.page.locator(f'#findings .found[data-rule="{rule}"][data-items="{items}"]')
    # The answer takes its time on a busy machine.
    expect(here).to_have_count(0, timeout=30_000)
    bench.settled()
    assert bench.page.locator("#findings .found").count() < before + 1
    bench.page.get_by_role("button", name="Undo").click()
    expect(here).to_have_count(1, timeout=30_000)
    bench.tried()
    # Notes that the reader has folded stay folded, whatever is among them.
    bench.page.locator('#findings [data-keep="level-note"]').click()
    bench.page.get_by_role("button", name="Redo").click()
    bench.tried()
    expect(bench.page.locator("#findings .found.note:has(button.do)").first).to_be_hidden()


def test_the_page_prints_the_drawing_and_the_findings_alone(bench: Bench) -> None:
    bench.page.emulate_media(media="print")
    for hidden in ("#step-panel", "#item-part", "#strip", "#tools"):
        expect(bench.page.locator(hidden)).to_be_hidden()
    for shown in ("#stage", "#findings", "#plate-name"):
        expect(bench.page.locator(shown)).to_be_visible()


def test_the_fields_that_remedies_speak_of_are_there(bench: Bench) -> None:
    """Of every rule whose finding leads to fields: each stands in the step it leads to, whatever the plate holds."""
    ways = bench.page.evaluate(
        """async () => {
            const { waysOut, WITH_WAYS } = await import("/static/panels/ways.js");
            return WITH_WAYS.flatMap(waysOut);
        }"""
    )
    assert len(ways) > 50
    for step in {way["step"] for way in ways}:
        bench.page.locator(f'[data-step="{step}"]').click()
        for way in ways:
            if way["step"] == step:
                expect(bench.page.locator(f'#step-panel [data-keep="{way["keep"]}"]').first).to_be_attached()
