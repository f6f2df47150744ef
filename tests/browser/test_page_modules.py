"""The page's pure modules, tested without the page: each ``tests/page/*.test.js`` runs as a module in Chromium."""

from __future__ import annotations

import json
import math
import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route
from scipy.interpolate import PchipInterpolator

from sketcher.document import from_plain
from sketcher.document.outlines import Outline, Polygon, Rectangle, Slot, Vertex
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.path import fillet
from sketcher.geometry.placement import board_size, frames
from tests.browser.conftest import ROOT, Server

pytestmark = pytest.mark.browser

FOLDER = ROOT / "tests" / "page"
FILES = sorted(path.name for path in FOLDER.glob("*.test.js"))


@pytest.fixture(scope="module")
def blank(browser: Browser, server: Server) -> Iterator[Page]:
    """A page of the server's own origin with nothing on it; the tests' files come from the repository."""
    page = browser.new_page()

    def from_disk(route: Route) -> None:
        path = FOLDER / Path(route.request.url).name
        route.fulfill(body=path.read_text(encoding="utf-8"), content_type="text/javascript")

    page.route("**/tests/page/*", from_disk)
    page.context.add_cookies([server.cookie()])
    page.goto(f"{server.address}api/ping")
    yield page
    page.close()


@pytest.mark.parametrize("name", FILES)
def test_module(blank: Page, name: str) -> None:
    # The harness keeps its list for the life of a page, so each file gets a copy of its own.
    blank.reload()
    found = blank.evaluate(
        """async (name) => {
            const harness = await import("/tests/page/harness.js");
            await import(`/tests/page/${name}`);
            return harness.results();
        }""",
        name,
    )
    assert found, f"{name} holds no test"
    faults = [f"{entry['name']}: {entry['fault']}" for entry in found if entry["fault"]]
    assert not faults, "\n".join(faults)


def channels(count: int) -> list[tuple[list[tuple[float, float]], list[float]]]:
    """Lines with corners, some of them doubled, and a radius for each corner."""
    rng = random.Random(5)
    made = []
    for _ in range(count):
        corners: list[tuple[float, float]] = []
        for _ in range(rng.randint(2, 7)):
            corner = (rng.uniform(0, 100), rng.uniform(0, 100))
            corners += [corner] * rng.choice([1, 1, 1, 2, 3])
        made.append((corners, [rng.choice([0.0, 5.0, 12.0, 40.0]) for _ in corners]))
    return made


def test_the_page_rounds_a_channel_as_the_server_does(blank: Page) -> None:
    """Each against the other: where every line and arc begins and ends, and each arc's radius."""
    drawn = channels(200)
    found = blank.evaluate(
        """async (drawn) => {
            const { pathData } = await import("/static/geometry/path.js");
            return drawn.map(([corners, radii]) => pathData(corners, radii));
        }""",
        drawn,
    )
    for (corners, radii), data in zip(drawn, found, strict=True):
        path, _ = fillet(corners, radii)
        expected = [(0.0, *path.segments[0].start)] if path.segments else []
        for segment in path.segments:
            if segment.straight and segment.chord <= 1e-3:
                continue
            expected.append((0.0 if segment.straight else segment.radius, *segment.end))
        assert steps(data) == [pytest.approx(step, abs=3e-4) for step in expected], (corners, radii)


def outlines(count: int) -> list[Outline]:
    """Outlines of every shape: rounded, turned, with arcs beside roundings."""
    rng = random.Random(11)
    made: list[Outline] = []
    for _ in range(count):
        x, y, turn = rng.uniform(0, 100), rng.uniform(0, 100), rng.choice([0.0, 30.0])
        vertices = tuple(
            Vertex(
                x_mm=x + rng.uniform(20, 60) * math.cos(i * 1.2),
                y_mm=y + rng.uniform(20, 60) * math.sin(i * 1.2),
                corner_radius_mm=rng.choice([0.0, 4.0, 30.0]),
                bulge=rng.choice([0.0, 0.0, 0.3, -0.2]),
            )
            for i in range(5)
        )
        made += [
            Rectangle(x_mm=x, y_mm=y, width_mm=40, depth_mm=24, corner_radius_mm=rng.choice([0, 5]), turn_deg=turn),
            Slot(x_mm=x, y_mm=y, length_mm=rng.choice([14, 50]), width_mm=14, turn_deg=turn),
            Polygon(vertices=vertices),
            Polygon(vertices=tuple(v.model_copy(update={"bulge": 0.0}) for v in vertices)),
        ]
    return made


def test_the_page_draws_an_outline_as_the_server_does(blank: Page) -> None:
    """Each against the other: every corner and every arc of an outline, in either direction of travel."""
    drawn = outlines(30)
    found = blank.evaluate(
        """async (drawn) => {
            const { rowsOf } = await import("/static/geometry/outline.js");
            return drawn.map(rowsOf);
        }""",
        [outline.model_dump() for outline in drawn],
    )
    for outline, rows in zip(drawn, found, strict=True):
        path = contour(outline).path
        # Two roundings that meet in the middle of an edge share a place, which the server has once.
        rows = [row for i, row in enumerate(rows) if math.dist(row[:2], rows[(i + 1) % len(rows)][:2]) > 1e-7]
        assert len(rows) == len(path.vertices()), outline
        for x, y, _ in path.vertices():
            assert min(math.hypot(x - row[0], y - row[1]) for row in rows) < 1e-6, outline
        bulges = sorted(abs(bulge) for _, _, bulge in path.vertices())
        assert sorted(abs(bulge) for _, _, bulge in rows) == pytest.approx(bulges, abs=1e-6), outline


def steps(data: str) -> list[tuple[float, float, float]]:
    """What a path's data draws, without lines of no length: the radius of each step, 0 for a line, and its end."""
    made: list[tuple[float, float, float]] = []
    for letter, words in re.findall(r"([MLA])([^MLA]*)", data):
        numbers = [float(word) for word in words.split()]
        x, y = numbers[-2:]
        if letter == "L" and math.dist((x, y), made[-1][1:]) <= 1e-3:
            continue
        made.append((numbers[0] if letter == "A" else 0.0, x, y))
    return made if len(made) > 1 else []


def test_every_pure_module_has_its_tests() -> None:
    """``model`` and ``geometry`` touch neither the page nor the network; each of their modules is tested alone."""
    static = ROOT / "static"
    pure = {path for folder in ("model", "geometry") for path in (static / folder).glob("*.js")}
    impure = [
        path.name for path in pure if re.search(r"/dom\.js|\bdocument\.(get|create)|\bfetch\(", path.read_text("utf-8"))
    ]
    assert not impure, "these belong to another folder"
    alone = {
        static / name
        for name in (
            "store.js",
            "server/answer.js",
            "server/live.js",
            "server/sync.js",
            "canvas/tools.js",
            "steps/progress.js",
        )
    }
    tested = "\n".join((FOLDER / name).read_text(encoding="utf-8") for name in FILES)
    missing = {path.name for path in pure | alone if f"/static/{path.relative_to(static).as_posix()}" not in tested}
    assert not missing


def test_the_pages_folders_keep_their_order() -> None:
    """The pure folders import from nothing above them, as the layout in ``docs/page.md`` says."""
    allowed = {
        "geometry": {"model", "geometry"},
        "model": {"model", "geometry"},
        "server": {"server", "model", "geometry"},
    }
    for folder, below in allowed.items():
        for path in (ROOT / "static" / folder).glob("*.js"):
            for target in re.findall(r'from "(\.[^"]+)"', path.read_text("utf-8")):
                found = (path.parent / target).resolve().relative_to(ROOT / "static")
                assert found.parts[0] in below or found.name in ("types.js", "format.js", "format_parts.js"), (
                    f"{path.name}: {target}"
                )


def test_the_page_draws_a_devices_points_as_the_reference_library_does(blank: Page) -> None:
    """Against SciPy's PchipInterpolator, on points that rise, fall, turn and stay level."""
    rng = random.Random(7)
    for _ in range(40):
        xs = sorted(rng.sample(range(100), rng.randint(2, 8)))
        ys = [rng.choice([rng.uniform(-5, 50), 3.0]) for _ in xs]
        at = [xs[0] + (xs[-1] - xs[0]) * i / 37 for i in range(38)]
        found = blank.evaluate(
            """async ([points, at]) => {
                const { monotone } = await import("/static/model/curve.js");
                return at.map(monotone(points));
            }""",
            [list(zip(xs, ys, strict=True)), at],
        )
        assert found == pytest.approx([float(y) for y in PchipInterpolator(xs, ys)(at)], abs=1e-9)


def test_a_ready_set_stands_as_its_words_say(blank: Page) -> None:
    """By the server's own frames: which way each board's component side and each card's length point."""
    start = {**json.loads((ROOT / "examples/small-board.json").read_text("utf-8")), "boards": [], "devices": []}
    start = {key: start[key] for key in ("version", "floor", "plate", "boards", "devices")}
    up, front = (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)
    # The component side (w) and, of the board or card, how far its edge is from vertical: words of the ready sets.
    for name, side, flat in (
        ("board-flat", up, True),
        ("board-edge", front, False),
        ("card-edge", None, False),
        ("card-flat", up, True),
    ):
        made = blank.evaluate(
            """async ([document, set]) => {
                const { addReady } = await import("/static/model/readysets.js");
                return addReady(document, set, [200, 150]);
            }""",
            [start, name],
        )
        document = from_plain(made["document"])
        frame = frames(document)[made["ids"][-1]]
        u, v, w = (tuple(float(x) for x in frame.axes[:, i]) for i in range(3))
        assert (abs(w[2]) == pytest.approx(1)) == flat, name
        if side is not None:
            assert w == pytest.approx(side), name
        if name == "board-flat":  # the rear edge is to the rear: away from it is to the front
            assert v == pytest.approx(front)
        if name == "card-edge":  # its length runs from front to rear, and it stands off the riser upwards
            assert abs(u[1]) == pytest.approx(1)
            assert v == pytest.approx(up)
        for board in document.boards:  # all of it above the floor
            wide, deep = board_size(board)
            corners = [frames(document)[board.id].place(a, b) for a in (0.0, wide) for b in (0.0, deep)]
            assert min(float(corner[2]) for corner in corners) > 0, (name, board.id)
            # About the place that it was put at: half of the largest set (ATX, 304.8 by 243.84) to each side of it.
            assert max(abs(float(c[0]) - 200) for c in corners) <= 155, (name, board.id)
            assert max(abs(float(c[1]) - 150) for c in corners) <= 125, (name, board.id)
