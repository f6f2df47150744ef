"""How a drag feels: whether the drawing follows in the same frame, and how soon the answer for a move is there.

Measured in the browser, on the demo: a port, a board with all that it carries and a radiator are dragged about by real
pointer events. ``docs/speed.md`` has the figures; ``python -m tests.bench.test_drag_feel`` prints them.

The yardstick is an empty round trip: the page's own question about a move, word for word, but that it wants no part of
the answer. It goes the same way at the same moment of a move, while the page draws it, and is timed in place of the
true question at every second move, so that neither waits for the other. A ``GET /api/ping`` beside a question under
way, which was the yardstick once, waited for that question's sums, and made the ratio look better than it is.
"""

from __future__ import annotations

import statistics
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import ARGUMENTS, Bench, Server, chromium_path

#: An answer is to take at most ``WANTED_TRIPS`` empty round trips, and does on a machine with nothing else to do.
#: Where other work wants the same cores, server and browser wait for each other, and it is up to ``MOST_TRIPS``.
WANTED_TRIPS, MOST_TRIPS = 1.6, 3.0
#: What is dragged: a port, a board with its card's slot and its block, a radiator.
ITEMS = ("P5", "MB", "TOP")
MOVES = 80

#: Times every question of the page, and looks at the dragged port at the end of every move's own task: what is set by
#: then is painted in the same frame.
PROBE = """(id) => {
    const seen = { answers: [], empty: [], followed: 0, moves: 0, handling: [], frames: [] };
    window.seen = seen;
    const send = window.fetch;
    let turn = 0;
    window.fetch = async (path, options) => {
        const body = path === "/api/look" ? JSON.parse(options.body) : null;
        if (!body?.edit || !body.want.includes("findings")) return send(path, options);
        const start = performance.now();
        if (turn++ % 2) {
            await (await send(path, { ...options, body: JSON.stringify({ ...body, want: [], keep: false }) })).json();
            seen.empty.push(performance.now() - start);
            return send(path, options);
        }
        const answer = await send(path, options);
        const json = answer.json.bind(answer);
        answer.json = async () => {
            const content = await json();
            seen.answers.push(performance.now() - start);
            return content;
        };
        return answer;
    };
    const stage = document.querySelector("#stage");
    let began = 0;
    let last = "";
    window.addEventListener("pointermove", () => { began = performance.now(); }, { capture: true });
    window.addEventListener("pointermove", (event) => {
        if (!event.buttons) return;
        const now = document.querySelector(`#world g.item[data-id="${id}"]`).getBoundingClientRect();
        const key = `${now.x.toFixed(2)} ${now.y.toFixed(2)}`;
        seen.moves += 1;
        if (key !== last) seen.followed += 1;
        last = key;
        seen.handling.push(performance.now() - began);
        requestAnimationFrame(() => seen.frames.push(performance.now() - event.timeStamp));
    });
}"""


#: A place on the screen that grabs an item and nothing else, sought in rings about its middle; none if it is covered.
GRAB = """(id) => {
    const group = document.querySelector(`#world g.item[data-id="${id}"]`);
    const box = group.getBoundingClientRect();
    for (let ring = 0; ring <= 20; ring += 1) {
        for (let turn = 0; turn < 16; turn += 1) {
            const x = box.x + box.width / 2 + (ring / 40) * box.width * Math.cos((turn * Math.PI) / 8);
            const y = box.y + box.height / 2 + (ring / 40) * box.height * Math.sin((turn * Math.PI) / 8);
            if (document.elementFromPoint(x, y)?.closest("g.item")?.dataset.id === id) return [x, y];
        }
    }
    return null;
}"""


def measure(browser: Browser, server: Server, item: str = "P5") -> dict[str, Any]:
    """One long drag of an item with snapping held off, every move to a new place; all times in ms."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    plate = server.post("/api/plates", {"example": "riser-bench"})["id"]
    bench = Bench(context.new_page(), server, plate)
    bench.open()
    bench.page.evaluate(PROBE, item)
    x, y = bench.page.evaluate(GRAB, item)
    bench.page.keyboard.down("Alt")
    bench.page.mouse.move(x, y)
    bench.page.mouse.down()
    for i in range(MOVES):
        bench.page.mouse.move(x + 6 + (i % 20), y + (i * 7) % 23)
        bench.page.wait_for_function("() => document.documentElement.dataset.idle === 'yes'")
    bench.page.mouse.up()
    bench.page.keyboard.up("Alt")
    found: dict[str, Any] = bench.page.evaluate("() => window.seen")
    context.close()
    return found


def trips(found: dict[str, Any]) -> float:
    """How many empty round trips an answer takes, by the medians of one drag."""
    return statistics.median(found["answers"]) / statistics.median(found["empty"])


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    server = Server(tmp_path_factory.mktemp("drag"))
    server.start()
    yield server
    server.stop()


@pytest.mark.browser
@pytest.mark.parametrize("item", ITEMS)
def test_the_drawing_follows_at_once_and_the_answer_takes_few_empty_round_trips(
    browser: Browser, server: Server, item: str
) -> None:
    best = float("inf")
    for _ in range(3):  # the best of three: other work on the machine only ever adds
        seen = measure(browser, server, item)
        # The first moves may still be a click; after that no move goes by unfollowed.
        assert seen["moves"] >= MOVES * 0.8
        assert seen["followed"] >= seen["moves"] - 2
        assert min(len(seen["answers"]), len(seen["empty"])) >= MOVES / 6
        best = min(best, trips(seen))
        if best <= WANTED_TRIPS:
            break
    assert best <= MOST_TRIPS, f"{best:.2f} empty round trips"


def main() -> None:
    """Prints the figures for ``docs/speed.md``."""
    with tempfile.TemporaryDirectory() as data, sync_playwright() as playwright:
        server = Server(Path(data))
        server.start()
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        for item in ITEMS:
            found = measure(browser, server, item)
            middle = {name: statistics.median(found[name]) for name in ("answers", "empty", "handling", "frames")}
            late = sorted(found["answers"])[int(0.9 * len(found["answers"]))]
            print(f"{item}: moves {found['moves']}, followed in their own frame {found['followed']}")
            print(f"  handling a move {middle['handling']:.1f} ms, to the frame {middle['frames']:.1f} ms")
            print(f"  answers, median {middle['answers']:.1f} ms, nine in ten within {late:.1f} ms")
            print(f"  empty round trip {middle['empty']:.1f} ms, ratio {trips(found):.2f}")
        browser.close()
        server.stop()


if __name__ == "__main__":
    main()
