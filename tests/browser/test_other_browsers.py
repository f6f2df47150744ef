"""The main job in Firefox, and the same in WebKit: start, drag until a rule speaks, number, add, undo, steps, files."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Server
from tests.browser.drivers import Driver, Firefox, WebKit, waited

pytestmark = pytest.mark.browser

SETTLED = (
    "document.querySelector('#link-sign').textContent === 'Saved' && document.documentElement.dataset.idle === 'yes'"
    " && Boolean(document.querySelector('#world g.plan'))"
)
#: Faults of the page are gathered from its first line on by a module of the test's own.
GATHER = (
    "(window.faults = [], addEventListener('error', (e) => faults.push(String(e.message))),"
    " addEventListener('unhandledrejection', (e) => faults.push(String(e.reason))), true)"
)


class Job:
    """The page in some browser; places are in mm on the floor."""

    def __init__(self, driver: Driver, server: Server, plate: int) -> None:
        self.driver, self.server, self.plate = driver, server, plate

    def open(self) -> None:
        """Opens the plate by the address that the program prints; the token in it leaves its cookie."""
        self.driver.go(f"{self.server.address}?token={self.server.token}#plate={self.plate}")
        self.driver.js(GATHER)
        self.settled()

    def settled(self) -> None:
        """Waits until all is saved and answered."""
        waited(lambda: self.driver.js(SETTLED), "it does not come to rest")

    def there(self, selector: str) -> None:
        """Waits for an element that is seen."""
        seen = f"[...document.querySelectorAll({json.dumps(selector)})].some((e) => e.checkVisibility())"
        waited(lambda: self.driver.js(seen), f"{selector} does not come")

    def screen(self, x: float, y: float) -> tuple[int, int]:
        """Where a place on the floor is in the window."""
        at: list[float] = self.driver.js(
            "(() => { const box = document.querySelector('#stage').getBoundingClientRect();"
            " const [l, t, s] = document.querySelector('#world').getAttribute('transform')"
            ".match(/-?[\\d.]+(?:e-?\\d+)?/g).map(Number);"
            f" return [box.x + l + s * {x}, box.y + t - s * {y}]; }})()"
        )
        return round(at[0]), round(at[1])

    def mouse(self, *steps: dict[str, Any]) -> None:
        """Moves, presses, releases."""
        self.driver.act(
            [{"type": "pointer", "id": "mouse", "parameters": {"pointerType": "mouse"}, "actions": list(steps)}]
        )

    def move(self, x: float, y: float) -> dict[str, Any]:
        """A move to a place on the floor."""
        px, py = self.screen(x, y)
        return {"type": "pointerMove", "x": px, "y": py, "duration": 50, "origin": "viewport"}

    def click(self, selector: str) -> None:
        """A click on an element."""
        self.there(selector)
        at = self.driver.js(
            f"(() => {{ const all = [...document.querySelectorAll({json.dumps(selector)})];"
            " const e = all.find((e) => e.checkVisibility());"
            " e.scrollIntoView({block: 'center'}); const b = e.getBoundingClientRect();"
            " return [Math.round(b.x + b.width / 2), Math.round(b.y + b.height / 2)]; })()"
        )
        self.mouse(
            {"type": "pointerMove", "x": at[0], "y": at[1], "origin": "viewport"},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        )

    def item(self, collection: str, id_: str) -> dict[str, Any]:
        """An item as it is saved."""
        self.settled()
        return next(item for item in self.server.plate(self.plate)[collection] if item["id"] == id_)


@pytest.fixture(params=["Firefox", "WebKit"])
def job(request: pytest.FixtureRequest, server: Server, tmp_path: Path) -> Iterator[Job]:
    """The demo in one of the browsers."""
    driver: Driver = {"Firefox": Firefox, "WebKit": WebKit}[request.param](tmp_path)
    try:
        opened = Job(driver, server, server.post("/api/plates", {"example": "riser-bench"})["id"])
        opened.open()
        yield opened
        assert driver.js("faults") == []
    finally:
        driver.close()


def test_the_main_job_runs(job: Job) -> None:
    down, up = {"type": "pointerDown", "button": 0}, {"type": "pointerUp", "button": 0}
    port = job.item("ports", "P3")
    x, y = port["x_mm"], port["y_mm"]
    # Dragged 24 mm towards P2, 40 mm away, the wall between the two gets too thin; back again it does not.
    job.mouse(job.move(x, y), down, job.move(x - 12, y), job.move(x - 24, y))
    job.there('#findings .found.error[data-rule="wall-port-port"]')
    job.mouse(job.move(x - 10, y), job.move(x, y), up)
    assert job.item("ports", "P3") == port
    assert not job.driver.js("Boolean(document.querySelector('#findings .found.error'))")
    # A cutout is added by a click, and numbered.
    job.click('[data-step="lay-out"]')
    job.click('[data-tool="cutout-circle"]')
    job.mouse(job.move(250, 270), down, up)
    assert job.item("cutouts", "K4")["outline"]["x_mm"] == 250
    job.there('#item-panel input[data-keep$="diameter_mm"]')
    job.driver.js(
        "(() => { const e = document.querySelector('#item-panel input[data-keep$=\"diameter_mm\"]');"
        " e.focus(); e.value = '3/4 in'; e.dispatchEvent(new Event('input', {bubbles: true}));"
        " e.dispatchEvent(new Event('change', {bubbles: true})); e.blur(); })()"
    )
    assert job.item("cutouts", "K4")["outline"]["diameter_mm"] == 19.05
    job.click("#undo")
    job.settled()
    job.click("#undo")
    job.settled()
    assert [cutout["id"] for cutout in job.server.plate(job.plate)["cutouts"]][-1] == "K3"
    # Every step draws itself, and its files are there.
    for step in ("measure", "channels", "check", "test-piece", "hand-off"):
        job.click(f'[data-step="{step}"]')
        job.there("#step-panel section.part")
        job.settled()
    # The step before leaves its own parts until this one is drawn.
    waited(lambda: job.driver.js("Boolean(document.querySelector('[data-keep=page-file]'))"), "the files do not come")
    answer = job.driver.js(
        "fetch(document.querySelector('[data-keep=\"page-file\"]').href)"
        ".then(async (a) => [a.status, (await a.text()).slice(0, 15)])"
    )
    assert answer == [200, "<!doctype html>"]
