"""A floor from a drawing whose unit is asked for, and a slanting photo laid flat under the plan."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import expect

from tests.browser.conftest import Bench, place_of

pytestmark = pytest.mark.browser

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="30" height="20" viewBox="0 0 30 20">
<rect x="0" y="0" width="30" height="20"/><circle cx="10" cy="10" r="1"/></svg>"""


def test_a_drawings_unit_is_asked_for_and_its_outline_becomes_the_floor(empty: Bench, tmp_path: Path) -> None:
    (tmp_path / "floor.svg").write_text(DRAWING, encoding="utf-8")
    before = empty.document()["floor"]
    empty.page.get_by_text("From a drawing").click()
    empty.page.get_by_label("Drawing of the floor, DXF or SVG").set_input_files(tmp_path / "floor.svg")
    unit = empty.page.get_by_label("Unit of the drawing")
    # A process of its own reads it, and has to start first: seconds on a busy machine, and the page says so.
    expect(unit).to_be_visible(timeout=60_000)
    unit.select_option("cm")
    expect(empty.page.get_by_text("The outline is 300.0 by 200.0 mm")).to_be_visible(timeout=60_000)
    empty.page.get_by_role("button", name="Make it the floor").click()
    expect(empty.page.locator("#notice")).to_contain_text("is the floor now")
    floor = empty.document()["floor"]
    assert max(v["x_mm"] for v in floor["outline"]["vertices"]) == pytest.approx(300)
    assert floor["openings"][0]["outline"]["diameter_mm"] == pytest.approx(20)
    empty.page.get_by_role("button", name="Undo").click()
    assert empty.document()["floor"] == before


def test_a_drawing_with_a_script_is_refused_in_words(empty: Bench, tmp_path: Path) -> None:
    (tmp_path / "floor.svg").write_text(DRAWING.replace("<circle", "<script/><circle"), encoding="utf-8")
    empty.page.get_by_text("From a drawing").click()
    empty.page.get_by_label("Drawing of the floor, DXF or SVG").set_input_files(tmp_path / "floor.svg")
    expect(empty.page.locator(".survey-file .problem").first).to_contain_text("script", timeout=60_000)


#: Where the floor's corners (front left, front right, rear right, rear left) are in the photo, px: seen slanting.
SEEN = [(60, 560), (740, 560), (620, 80), (180, 80)]
CORNERS = [(0, 0), (400, 0), (400, 300), (0, 300)]
DOT = (300.0, 220.0)


def projected(place: tuple[float, float]) -> tuple[float, float]:
    """A place in the photo: the projective map through the four corners, solved here apart from the program."""
    rows, right = [], []
    for (x, y), (u, v) in zip(CORNERS, SEEN, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    h = np.append(np.linalg.solve(np.array(rows, float), np.array(right, float)), 1).reshape(3, 3)
    u, v, w = h @ np.array([*place, 1.0])
    return u / w, v / w


def test_a_slanting_photo_lies_under_the_plan_at_true_scale(empty: Bench, tmp_path: Path) -> None:
    picture = Image.new("RGB", (800, 600), (90, 90, 90))
    x, y = projected(DOT)
    ImageDraw.Draw(picture).ellipse((x - 14, y - 14, x + 14, y + 14), fill=(255, 0, 0))
    picture.save(tmp_path / "floor.png")
    page = empty.page
    page.get_by_text("Photo from above").first.click()
    page.get_by_label("Photo from above, PNG or JPEG").set_input_files(tmp_path / "floor.png")
    page.get_by_role("button", name="Mark points and edges").click()
    photo = page.get_by_role("img", name="The photo; click a point")
    for px, py in SEEN:
        photo.click(position={"x": px, "y": py})
    expect(page.locator(".photo-marks li")).to_have_count(4)
    last = page.get_by_label("Mark 4, from the front")
    expect(last).to_have_value("300")
    # A fifth point checks; typed 5 mm wrong, it says so.
    photo.click(position={"x": x, "y": y})
    page.get_by_label("Mark 5, from the left").fill("305")
    page.get_by_label("Mark 5, from the left").press("Enter")
    page.get_by_label("Mark 5, from the front").fill("220")
    page.get_by_label("Mark 5, from the front").press("Enter")
    page.get_by_role("button", name="Close").click()
    empty.settled()
    said = page.get_by_text("Known points lie where the photo shows them within")
    expect(said).to_be_visible()
    # Five millimetres were typed wrong; a click is within a pixel, here half a millimetre each way.
    within = re.search(r"within ([\d.]+) mm", said.inner_text())
    assert within is not None
    assert float(within[1]) == pytest.approx(5, abs=1)
    expect(page.locator("#photo-layer image")).to_be_attached()
    empty.settled()
    marks = empty.document()["photo"]["marks"]
    assert [mark.get("check", False) for mark in marks] == [False] * 4 + [True]
    # Where the red dot is on the screen is where its place on the floor is.
    page.get_by_label("How strongly it shows").evaluate("e => { e.value = 100; e.dispatchEvent(new Event('change')); }")
    empty.settled()
    page.wait_for_timeout(200)
    shot = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB"), dtype=int)
    box = place_of(page.locator("#stage"))
    stage = shot[int(box["y"]) : int(box["y"] + box["height"]), int(box["x"]) : int(box["x"] + box["width"])]
    ys, xs = np.nonzero((stage[..., 0] - stage[..., 1] > 25) & (stage[..., 0] - stage[..., 2] > 25))
    assert len(xs) > 50
    middle = (int(box["x"]) + float(xs.mean()), int(box["y"]) + float(ys.mean()))
    assert middle == pytest.approx(empty.screen(*DOT), abs=3)
