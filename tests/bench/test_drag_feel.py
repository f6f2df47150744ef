"""How a drag feels: whether the drawing follows in the same frame, and how soon the answer for a move is there.

Measured in the browser, on the demo: a port is dragged about by real pointer events. ``docs/speed.md`` has the
figures; ``python -m tests.bench.test_drag_feel`` prints them.

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

#: Two frames of a usual screen, ms.
TWO_FRAMES = 2000 / 60
#: An answer takes at most so many empty round trips; 3.1 and 3.5 were measured on a machine with other things to do.
MOST_TRIPS = 4.5
MOVES = 120

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


@pytest.fixture(scope="module")
def seen(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    server = Server(tmp_path_factory.mktemp("drag"))
    server.start()
    yield measure(browser, server)
    server.stop()


@pytest.mark.browser
def test_the_drawing_follows_in_the_same_frame(seen: dict[str, Any]) -> None:
    # The first moves may still be a click; after that no move goes by unfollowed.
    assert seen["moves"] >= MOVES * 0.8
    assert seen["followed"] >= seen["moves"] - 2


@pytest.mark.browser
def test_the_answer_is_a_small_multiple_of_an_empty_round_trip(seen: dict[str, Any]) -> None:
    assert min(len(seen["answers"]), len(seen["empty"])) >= MOVES / 6
    # 1.6 is wanted and not reached: docs/speed.md has where the time goes. Other work on the machine makes it worse.
    assert statistics.median(seen["answers"]) <= MOST_TRIPS * statistics.median(seen["empty"])


def main() -> None:
    """Prints the figures for ``docs/speed.md``."""
    with tempfile.TemporaryDirectory() as data, sync_playwright() as playwright:
        server = Server(Path(data))
        server.start()
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        found = measure(browser, server)
        browser.close()
        server.stop()
    answer, empty = statistics.median(found["answers"]), statistics.median(found["empty"])
    print(f"moves {found['moves']}, followed in their own frame {found['followed']}")
    handling, frame = statistics.median(found["handling"]), statistics.median(found["frames"])
    print(f"handling a move {handling:.1f} ms, to the frame {frame:.1f} ms")
    late = sorted(found["answers"])[int(0.9 * len(found["answers"]))]
    print(f"answers {len(found['answers'])}: median {answer:.1f} ms, nine in ten within {late:.1f} ms")
    print(f"empty round trip {empty:.1f} ms; ratio {answer / empty:.1f}; two frames {TWO_FRAMES:.1f} ms")


if __name__ == "__main__":
    main()
