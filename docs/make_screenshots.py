"""Takes the README's screenshots: every step, light and dark, of the demo. ``python docs/make_screenshots.py``

It starts the real server with an empty data folder and drives the page in the system's Chromium.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "docs" / "screenshots"
STEPS = ("Measure", "Lay out", "Run channels", "Check", "Test piece", "Hand off")
SIZE = (1280, 800)
#: Small enough for a repository, good enough to read.
QUALITY = 72


def main() -> None:
    """Writes a picture for each step and scheme into ``docs/screenshots``."""
    sys.path.insert(0, str(ROOT))
    from tests.browser.conftest import chromium_path

    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as data:
        command = [sys.executable, "-u", "-m", "sketcher", "serve", "--no-browser", "--port", "0", "--data", data]
        with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as server:
            try:
                assert server.stdout is not None
                address = re.search(r"http://\S+", server.stdout.readline())
                assert address, "the server did not say where it is"
                with sync_playwright() as playwright:
                    browser = playwright.chromium.launch(
                        executable_path=chromium_path(), args=["--no-sandbox", "--disable-gpu"]
                    )
                    for scheme in ("light", "dark"):
                        page = browser.new_page(
                            viewport={"width": SIZE[0], "height": SIZE[1]},
                            color_scheme="dark" if scheme == "dark" else "light",
                        )
                        page.goto(address[0])
                        for step in STEPS:
                            shoot(page, step, scheme)
                    browser.close()
            finally:
                server.terminate()


def shoot(page: Page, step: str, scheme: str) -> None:
    """One picture: the step's sheet beside the drawing, when all answers are in."""
    page.get_by_role("navigation").get_by_role("button", name=step).click()
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(900)
    name = f"{step.lower().replace(' ', '-')}-{scheme}.jpg"
    page.screenshot(path=FOLDER / name, type="jpeg", quality=QUALITY)


if __name__ == "__main__":
    main()
