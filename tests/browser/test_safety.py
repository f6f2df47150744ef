"""Nothing is lost: reload in the middle of a drag, the same plate in two tabs, the server killed and started again."""

from __future__ import annotations

import itertools
import random
import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, expect

from tests.browser.conftest import Bench, Server

pytestmark = pytest.mark.browser


def shift(bench: Bench, id_: str, key: str = "Shift+ArrowRight") -> None:
    """Picks an item in the list and nudges it."""
    bench.page.get_by_role("tab", name="All items").click()
    bench.page.locator(f'#items [data-item="{id_}"]').click()
    bench.page.locator("#stage").focus()
    bench.page.keyboard.press(key)


def test_a_reload_in_the_middle_of_a_drag_loses_nothing_that_was_done(bench: Bench) -> None:
    shift(bench, "P5")
    before = bench.document()
    port = bench.item("ports", "P5")
    bench.press(port["x_mm"], port["y_mm"])
    bench.drag_to(port["x_mm"], port["y_mm"] - 30)
    bench.page.reload()
    bench.page.mouse.up()
    bench.settled()
    assert bench.document() == before
    bench.page.get_by_role("button", name="Undo").click()
    bench.settled()
    assert bench.item("ports", "P5")["x_mm"] == port["x_mm"] - 10


def test_escape_in_the_middle_of_a_drag_puts_it_back(bench: Bench) -> None:
    before = bench.document()
    port = bench.item("ports", "P5")
    bench.press(port["x_mm"], port["y_mm"])
    bench.drag_to(port["x_mm"], port["y_mm"] - 30)
    bench.page.keyboard.press("Escape")
    bench.page.mouse.up()
    assert bench.document() == before
    drawn = bench.page.locator('#world g.item[data-id="P5"]').first
    expect(drawn).not_to_have_attribute("transform", "translate(0 -30)")


@pytest.mark.parametrize("choice", ["Keep both", "Keep mine", "Take the other"])
def test_two_tabs_never_overwrite_each_other_unasked(bench: Bench, context: BrowserContext, choice: str) -> None:
    """The second tab is cut off while the first saves: its own change is built on an older state."""
    other = Bench(context.new_page(), bench.server, bench.plate)
    other.open()
    # It neither hears of the first tab's change nor can it save.
    other.page.route(f"**/api/plates/{bench.plate}", lambda route: route.abort())
    x = bench.item("ports", "P5")["x_mm"]
    shift(bench, "P5")
    bench.settled()
    shift(other, "P5", "Shift+ArrowLeft")
    expect(other.page.locator("#link-sign")).to_have_text("Offline: 1 change stored")
    assert bench.server.plate(bench.plate)["ports"][4]["x_mm"] == x + 10
    other.page.unroute(f"**/api/plates/{bench.plate}")
    dialog = other.page.get_by_role("dialog", name="Changed in another window")
    expect(dialog).to_be_visible()
    expect(dialog).to_contain_text("P5")
    assert bench.server.plate(bench.plate)["ports"][4]["x_mm"] == x + 10
    dialog.get_by_role("button", name=choice).click()
    expect(dialog).to_have_count(0)
    other.settled()
    here = bench.server.plate(bench.plate)["ports"][4]["x_mm"]
    assert here == {"Keep both": x + 10, "Keep mine": x - 10, "Take the other": x + 10}[choice]
    if choice == "Keep both":
        other.page.wait_for_function(f"() => !location.hash.endsWith('plate={bench.plate}')")
        copy = int(other.page.evaluate("() => location.hash.split('=')[1]"))
        assert bench.server.plate(copy)["ports"][4]["x_mm"] == x - 10
    other.page.close()


def test_the_other_tab_shows_what_was_saved_here(bench: Bench, context: BrowserContext) -> None:
    other = Bench(context.new_page(), bench.server, bench.plate)
    other.open()
    shift(bench, "P5")
    bench.settled()
    expect(other.page.get_by_text("Changed in another window; shown here now.").first).to_be_attached()
    shift(other, "P5")
    other.settled()
    assert bench.server.plate(bench.plate)["ports"][4]["x_mm"] == 314
    other.page.close()


def worked_in_turn(first: Bench, second: Bench, seconds: float, rng: random.Random) -> dict[str, int]:
    """Two windows on one plate, changed at random and not waited for; says how often what was done.

    Every clash that is asked about is answered at random, by one side or the other.
    """
    done = dict.fromkeys(("move", "undo", "redo", "Keep mine", "Take the other"), 0)
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        bench = rng.choice((first, second))
        dialog = bench.page.get_by_role("dialog", name="Changed in another window")
        if dialog.count():
            choice = rng.choice(("Keep mine", "Take the other"))
            # The other window may have saved once more meanwhile: then it is asked again.
            dialog.get_by_role("button", name=choice).last.click()
            bench.page.wait_for_timeout(300)
            done[choice] += 1
            continue
        act = rng.choice(("move", "move", "move", "undo", "redo"))
        done[act] += 1
        bench.page.locator("#stage").focus()
        keys = {"undo": "Control+z", "redo": "Control+Shift+z"}
        bench.page.keyboard.press(keys.get(act) or "Arrow" + rng.choice(("Up", "Down", "Left", "Right")))
        bench.page.wait_for_timeout(rng.choice((0, 0, 30, 150)))
    return done


def differing(first: str, second: str) -> list[str]:
    """Tags of a drawing that another one does not have in its place, but for the selection and where labels went."""
    tags = [re.sub(r' style="[^"]*"| (?:selected|no-room)\b', "", drawn).split("<") for drawn in (first, second)]
    return [f"{a} / {b}" for a, b in itertools.zip_longest(*tags) if a != b][:5]


def ended_alike(first: Bench, second: Bench) -> None:
    """Lets both windows come to rest, whatever they still have to ask; then both show what is saved."""
    for _ in range(6):
        for bench in (first, second):
            dialog = bench.page.get_by_role("dialog", name="Changed in another window")
            sign = bench.page.locator("#link-sign")
            for _ in range(100):
                if dialog.count() or sign.inner_text() == "Saved":
                    break
                bench.page.wait_for_timeout(100)
            if dialog.count():
                dialog.get_by_role("button", name="Take the other").last.click()
    # A window looks again when it gets the focus, at the latest.
    for bench in (first, second):
        bench.page.bring_to_front()
        bench.page.evaluate("() => window.dispatchEvent(new Event('focus'))")
        bench.settled()
    drawn = [bench.page.locator("#world g.plan").inner_html() for bench in (first, second)]
    for bench in (first, second):
        bench.page.reload()
        bench.settled()
    fresh = [bench.page.locator("#world g.plan").inner_html() for bench in (first, second)]
    for shown in (drawn[1], *fresh):
        assert differing(drawn[0], shown) == []


def two_windows(bench: Bench, context: BrowserContext, seconds: float, rng: random.Random) -> dict[str, int]:
    other = Bench(context.new_page(), bench.server, bench.plate)
    other.open()
    for window, item in ((bench, "P5"), (other, "P6")):
        shift(window, item)
        window.settled()
    for window in (bench, other):
        window.page.set_default_timeout(120_000)
    done = worked_in_turn(bench, other, seconds, rng)
    ended_alike(bench, other)
    assert other.faults == []
    other.page.close()
    return done


@pytest.mark.long
def test_two_windows_changed_for_a_minute_end_alike(bench: Bench, context: BrowserContext) -> None:
    done = two_windows(bench, context, 60, random.Random(1))
    print(done)
    assert done["move"] > 30


@pytest.fixture
def own_server(tmp_path: Path) -> Iterator[Server]:
    """A server of the test's own, to be killed."""
    running = Server(tmp_path / "data")
    running.start()
    yield running
    running.stop()


def test_the_server_is_killed_and_started_again(browser: Browser, own_server: Server) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    plate = own_server.post("/api/plates", {"example": "small-board"})["id"]
    bench = Bench(context.new_page(), own_server, plate)
    bench.open()
    start = bench.document()["ports"][0]
    own_server.stop()
    shift(bench, start["id"])
    expect(bench.page.locator("#link-sign")).to_have_text("Offline: 1 change stored")
    bench.page.keyboard.press("Shift+ArrowRight")
    expect(bench.page.locator("#link-sign")).to_have_text("Offline: 2 changes stored")
    # The drawing goes on without the server.
    moved = bench.page.locator(f'#world g.item[data-id="{start["id"]}"]').first
    expect(moved).to_have_attribute("transform", "translate(20 0)")
    own_server.start()
    bench.settled()
    assert bench.document()["ports"][0]["x_mm"] == start["x_mm"] + 20
    expect(moved).not_to_have_attribute("transform", "translate(20 0)")
    for _ in range(2):
        bench.page.get_by_role("button", name="Undo").click()
        bench.settled()
    assert bench.document()["ports"][0] == start
    # And once more with a reload in between: the page itself is gone, what was done is kept in the browser.
    own_server.stop()
    shift(bench, start["id"])
    expect(bench.page.locator("#link-sign")).to_have_text("Offline: 1 change stored")
    own_server.start()
    bench.page.reload()
    bench.settled()
    assert bench.document()["ports"][0]["x_mm"] == start["x_mm"] + 10
    context.close()
