"""The real server on a free port, and the page in Chromium: without one these tests skip, in CI they fail."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, CDPSession, FloatRect, Locator, Page, expect

ROOT = Path(__file__).resolve().parents[2]
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--force-color-profile=srgb"]

CHROMIUMS = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")

expect.set_options(timeout=8_000)


def chromium_path() -> str:
    """The system's Chromium; the test skips without one, or fails where ``CI`` is set.

    The build without a window of its own comes first: the same engine, and a page opens with two thirds of the work.
    """
    named = os.environ.get("CHROMIUM")
    found = named or next(filter(None, map(shutil.which, CHROMIUMS)), None)
    if found is None:
        words = "no Chromium on this machine: install it, or name it in the environment variable CHROMIUM"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    return found


@dataclass
class Server:
    """The plate sketcher as its users start it: its address, and its data folder."""

    data: Path
    port: int = 0
    address: str = ""
    token: str = ""
    process: subprocess.Popen[str] | None = field(default=None, repr=False)

    def start(self) -> None:
        """Starts it and waits until it says where it is."""
        self.process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "sketcher",
                "serve",
                "--no-browser",
                "--port",
                str(self.port),
                "--data",
                str(self.data),
            ],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        found = re.search(r"(http://127\.0\.0\.1:(\d+)/)\?token=([\w-]+)", line)
        if found is None:
            said = line + self.process.stdout.read()
            self.stop()
            raise AssertionError(f"the server did not say where it is: {said}")
        self.address, self.port, self.token = found[1], int(found[2]), found[3]
        for _ in range(100):
            try:
                self.get("/api/ping")
                return
            except OSError:
                time.sleep(0.05)
        raise AssertionError("the server does not answer")

    def stop(self) -> None:
        """Ends it at once, as a crash would."""
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            assert self.process.stdout is not None
            self.process.stdout.close()
            self.process = None

    def get(self, path: str) -> Any:
        """A JSON answer."""
        request = urllib.request.Request(self.address.rstrip("/") + path, headers=self.known)
        with urllib.request.urlopen(request, timeout=10) as answer:
            return json.load(answer)

    @property
    def known(self) -> dict[str, str]:
        """The header that a program which knows the token sends."""
        return {"Authorization": f"Bearer {self.token}"}

    def post(self, path: str, content: Any) -> Any:
        """A JSON answer to a JSON question."""
        return self._send("POST", path, content)

    def put(self, path: str, content: Any) -> Any:
        """A JSON answer to something that is saved."""
        return self._send("PUT", path, content)

    def _send(self, method: str, path: str, content: Any) -> Any:
        request = urllib.request.Request(
            self.address.rstrip("/") + path,
            json.dumps(content).encode(),
            {"Content-Type": "application/json", **self.known},
            method=method,
        )
        with urllib.request.urlopen(request, timeout=30) as answer:
            return json.load(answer)

    def cookie(self) -> Any:
        """What the page's own address leaves in the browser that opens it."""
        name = f"plate-sketcher-{self.port}"
        return {"name": name, "value": self.token, "url": self.address, "httpOnly": True, "sameSite": "Strict"}

    def plate(self, number: int) -> dict[str, Any]:
        """A plate's document as it is saved."""
        document: dict[str, Any] = self.get(f"/api/plates/{number}")["document"]
        return document


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One server for all tests; each test makes its own plate."""
    running = Server(tmp_path_factory.mktemp("data"))
    running.start()
    yield running
    running.stop()


@pytest.fixture(scope="session")
def profile(browser: Browser) -> Iterator[tuple[BrowserContext, CDPSession]]:
    """One browser profile for the tests one after the other, and what empties it: it need not fetch and compile the
    page's files for each."""
    made = browser.new_context(viewport={"width": 1280, "height": 800}, accept_downloads=True)
    yield made, made.new_cdp_session(made.new_page())
    made.close()


@pytest.fixture
def context(profile: tuple[BrowserContext, CDPSession], server: Server) -> Iterator[BrowserContext]:
    """A browser profile at the smallest desk size in which nothing is kept but the page's files, and which knows the
    server's page already."""
    made, control = profile
    made.add_cookies([server.cookie()])
    yield made
    for page in made.pages[1:]:
        page.close()
    made.clear_cookies()
    stores = "cookies,local_storage,indexeddb,cache_storage,service_workers"
    control.send("Storage.clearDataForOrigin", {"origin": server.address.rstrip("/"), "storageTypes": stores})


def place_of(element: Locator) -> FloatRect:
    """Where an element is on the screen, px, once it stands still: an answer that comes in may draw it again, and what
    is taken out of the page at that moment has no place."""
    expect(element).to_be_attached()
    before: FloatRect | None = None
    for _ in range(100):
        now = element.bounding_box()
        if now is not None and now == before:
            return now
        before = now
        element.page.wait_for_timeout(40)
    raise AssertionError(f"{element} does not come to rest: {before}")


class Bench:
    """The page as a person uses it; places are given in mm on the floor."""

    def __init__(self, page: Page, server: Server, plate: int, beside: bool = True) -> None:
        """``beside``: with findings and items open, as one who works with them has it; else as it first comes."""
        self.page, self.server, self.plate = page, server, plate
        if beside:
            page.add_init_script("localStorage.getItem('margin') ?? localStorage.setItem('margin', '\"open\"')")
        self.faults: list[str] = []
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", lambda message: self._heard(message.type, message.text))

    def _heard(self, kind: str, text: str) -> None:
        # A refused or missing answer is told to the user in the page; the console repeats it.
        if kind == "error" and "Failed to load resource" not in text:
            self.faults.append(text)

    def open(self) -> None:
        """Opens the plate and waits for its drawing."""
        self.page.context.add_cookies([self.server.cookie()])
        self.page.goto(f"{self.server.address}#plate={self.plate}")
        # A server just started takes its time over the first answer, on a busy machine above all.
        expect(self.page.locator("#world g.plan")).to_be_attached(timeout=30_000)
        self.settled()

    def settled(self) -> None:
        """Waits until all is saved and the answer on the page is about what is shown."""
        expect(self.page.locator("#link-sign")).to_have_text("Saved")
        self.page.wait_for_function("() => document.documentElement.dataset.idle === 'yes'")

    def tried(self) -> None:
        """Waits until the fixes that are offered are the last word too."""
        self.settled()
        self.page.wait_for_function("() => document.documentElement.dataset.fixes !== 'waiting'", timeout=60_000)

    def document(self) -> dict[str, Any]:
        """The document as the server has it now."""
        self.settled()
        return self.server.plate(self.plate)

    def item(self, collection: str, id_: str) -> dict[str, Any]:
        """One item of the saved document."""
        return next(item for item in self.document()[collection] if item["id"] == id_)

    def screen(self, x: float, y: float) -> tuple[float, float]:
        """Where a place on the floor is on the screen."""
        box = self.page.locator("#stage").bounding_box()
        assert box is not None
        transform = self.page.locator("#world").get_attribute("transform") or ""
        left, top, scale = (float(value) for value in re.findall(r"-?[\d.]+(?:e-?\d+)?", transform)[:3])
        return box["x"] + left + scale * x, box["y"] + top - scale * y

    def click(self, x: float, y: float, **options: Any) -> None:
        """A click at a place."""
        self.page.mouse.click(*self.screen(x, y), **options)

    def press(self, x: float, y: float) -> None:
        """Takes hold at a place."""
        self.page.mouse.move(*self.screen(x, y))
        self.page.mouse.down()

    def drag_to(self, x: float, y: float) -> None:
        """Moves what is held, in a few steps as a hand does."""
        self.page.mouse.move(*self.screen(x, y), steps=4)

    def drop(self) -> None:
        """Lets go."""
        self.page.mouse.up()
        self.settled()

    def rule(self, name: str) -> Any:
        """Findings of a rule as the page shows them."""
        return self.page.locator(f'#findings [data-rule="{name}"]')

    def step(self, title: str) -> None:
        """Goes to a step of the way."""
        self.page.get_by_role("navigation", name="Steps").get_by_role("button", name=title).click()
        expect(self.page.get_by_role("heading", name=title, exact=True, level=2)).to_be_visible()

    def field(self, label: str) -> Any:
        """A field of the card."""
        return self.page.get_by_role("tabpanel", name="Selected").get_by_label(label, exact=True)


@pytest.fixture
def bench(context: BrowserContext, server: Server) -> Iterator[Bench]:
    """The demo, open on the page; nothing may have gone wrong unheard by the end."""
    plate = server.post("/api/plates", {"example": "riser-bench"})["id"]
    opened = Bench(context.new_page(), server, plate)
    opened.open()
    yield opened
    assert opened.faults == []


@pytest.fixture
def empty(context: BrowserContext, server: Server) -> Iterator[Bench]:
    """A plate just begun, of 400 by 300 mm, at the step Measure."""
    start = {"width_mm": 400, "depth_mm": 300, "body_thickness_mm": 20}
    opened = Bench(context.new_page(), server, server.post("/api/plates", {"start": start})["id"])
    opened.open()
    opened.step("Measure")
    yield opened
    assert opened.faults == []
