"""Firefox by WebDriver BiDi and WebKit by WebDriver, as far as the tests need them: W3C protocols, no driver's library.

WebDriver BiDi (W3C working draft): https://www.w3.org/TR/webdriver-bidi/; WebDriver: https://www.w3.org/TR/webdriver2/.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import subprocess
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol, TypeVar

import pytest

#: How long a browser may take to come up, and a place on the page to be as it is waited for, s.
STARTS, WAITS = 60, 40
WINDOW = (1280, 800)


Found = TypeVar("Found")


class Driver(Protocol):
    """What both browsers do."""

    def go(self, url: str) -> None:
        """Opens an address."""

    def js(self, expression: str) -> Any:
        """The value of an expression in the page, by way of JSON."""

    def act(self, actions: list[dict[str, Any]]) -> None:
        """Input, as WebDriver's actions have it."""

    def close(self) -> None:
        """Ends the browser."""


def missing(words: str) -> None:
    """Skips the test with a reason; in CI, where everything is installed, it fails."""
    if os.environ.get("CI"):
        pytest.fail(words)
    pytest.skip(words)


def program(name: str, package: str) -> str:
    """The path of a program; the test skips without it."""
    found = shutil.which(name)
    if found is None:
        missing(f"no {name} on this machine: install the package {package}")
    return str(found)


class Firefox:
    """Firefox without a window, over its own BiDi socket."""

    def __init__(self, folder: Path) -> None:
        websocket = pytest.importorskip("websocket")
        self._log = (folder / "firefox.log").open("w+")
        self._process = subprocess.Popen(
            [
                program("firefox-esr", "firefox-esr"),
                "--headless",
                "--no-remote",
                "--profile",
                str(folder),
                "--remote-debugging-port",
                "0",
                "--width",
                str(WINDOW[0]),
                "--height",
                str(WINDOW[1]),
            ],
            stdout=self._log,
            stderr=subprocess.STDOUT,
            env={**os.environ, "HOME": str(folder)},
        )
        self._count = 0
        try:
            address = waited(self._listening, "Firefox does not listen", STARTS)
            self._socket = websocket.create_connection(f"{address}/session", timeout=STARTS, suppress_origin=True)
            self._send("session.new", {"capabilities": {}})
            self._context = self._send("browsingContext.getTree", {})["contexts"][0]["context"]
            size = {"width": WINDOW[0], "height": WINDOW[1]}
            self._send("browsingContext.setViewport", {"context": self._context, "viewport": size})
        except BaseException:
            self.close()
            raise

    def _listening(self) -> str | None:
        self._log.seek(0)
        found = re.search(r"WebDriver BiDi listening on (ws://\S+)", self._log.read())
        return found[1] if found else None

    def _send(self, method: str, params: dict[str, Any]) -> Any:
        self._count += 1
        self._socket.send(json.dumps({"id": self._count, "method": method, "params": params}))
        while True:
            answer = json.loads(self._socket.recv())
            if answer.get("id") == self._count:
                assert answer["type"] == "success", answer
                return answer["result"]

    def go(self, url: str) -> None:
        """Opens an address."""
        self._send("browsingContext.navigate", {"context": self._context, "url": url, "wait": "complete"})

    def js(self, expression: str) -> Any:
        """The value of an expression, a promise's too."""
        asked = {
            "expression": f"Promise.resolve({expression}).then((v) => JSON.stringify(v ?? null))",
            "target": {"context": self._context},
            "awaitPromise": True,
        }
        answer = self._send("script.evaluate", asked)
        assert answer["type"] == "success", answer
        return json.loads(answer["result"]["value"])

    def act(self, actions: list[dict[str, Any]]) -> None:
        """Input."""
        self._send("input.performActions", {"context": self._context, "actions": actions})

    def close(self) -> None:
        """Ends it."""
        with contextlib.suppress(AttributeError):  # it may never have come so far
            self._socket.close()
        self._process.kill()
        self._process.wait()
        self._log.close()


class WebKit:
    """WebKitGTK's small browser under a virtual screen, over WebDriver."""

    def __init__(self, folder: Path) -> None:
        driver = program("WebKitWebDriver", "webkit2gtk-driver")
        browser = next(iter(sorted(Path("/usr/lib").glob("*/webkit2gtk-4*/MiniBrowser"))), None)
        if browser is None:
            missing("no MiniBrowser on this machine: install the package webkit2gtk-driver")
        screen = program("Xvfb", "xvfb")
        read, write = os.pipe()
        self._screen = subprocess.Popen(
            [screen, "-displayfd", str(write), "-screen", "0", f"{WINDOW[0]}x{WINDOW[1]}x24", "-nolisten", "tcp"],
            pass_fds=[write],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(write)
        with os.fdopen(read) as told:
            display = told.readline().strip()
        self._port = free_port()
        self._driver = subprocess.Popen(
            [driver, f"--port={self._port}"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={
                **os.environ,
                "DISPLAY": f":{display}",
                "HOME": str(folder),
                "GDK_BACKEND": "x11",
                # A machine without a graphics card, and a user who may make no sandbox of his own.
                "WEBKIT_DISABLE_COMPOSITING_MODE": "1",
                "WEBKIT_DISABLE_DMABUF_RENDERER": "1",
                "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1",
                "LIBGL_ALWAYS_SOFTWARE": "1",
            },
        )
        self._session = ""
        options = {"binary": str(browser), "args": ["--automation", f"--geometry={WINDOW[0]}x{WINDOW[1]}"]}
        try:
            waited(self._ready, "WebKitWebDriver does not answer", STARTS)
            made = self._ask("POST", "", {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": options}}})
            self._session = f"/{made['sessionId']}"
        except BaseException:
            self.close()
            raise

    def _ready(self) -> bool:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self._port}/status", timeout=5) as answer:
                return bool(json.load(answer)["value"]["ready"])
        except OSError:
            return False

    def _ask(self, method: str, path: str, content: Any = None) -> Any:
        request = urllib.request.Request(
            f"http://127.0.0.1:{self._port}/session{self._session}{path}",
            None if content is None else json.dumps(content).encode(),
            {"Content-Type": "application/json"},
            method=method,
        )
        with urllib.request.urlopen(request, timeout=STARTS) as answer:
            return json.load(answer)["value"]

    def go(self, url: str) -> None:
        """Opens an address."""
        self._ask("POST", "/url", {"url": url})

    def js(self, expression: str) -> Any:
        """The value of an expression, a promise's too."""
        script = f"Promise.resolve({expression}).then((v) => arguments[0](JSON.stringify(v ?? null)))"
        return json.loads(self._ask("POST", "/execute/async", {"script": script, "args": []}))

    def act(self, actions: list[dict[str, Any]]) -> None:
        """Input."""
        self._ask("POST", "/actions", {"actions": actions})

    def close(self) -> None:
        """Ends browser, driver and screen."""
        if self._session:
            with contextlib.suppress(OSError):
                self._ask("DELETE", "")
        for process in (self._driver, self._screen):
            process.kill()
            process.wait()


def free_port() -> int:
    """A port that nobody listens at."""
    import socket

    with socket.socket() as made:
        made.bind(("127.0.0.1", 0))
        return int(made.getsockname()[1])


def waited(look: Callable[[], Found], words: str, seconds: float = WAITS) -> Found:
    """What ``look`` gives as soon as it gives something."""
    end = time.monotonic() + seconds
    while True:
        found = look()
        if found:
            return found
        assert time.monotonic() < end, words
        time.sleep(0.1)
