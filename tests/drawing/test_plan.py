"""The plan: true shapes in the drawing contract's layers, read back as XML."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
import svgwrite
from svgwrite.container import Group

from sketcher.document import from_plain, items, read, to_plain
from sketcher.document.remembered import forget_all
from sketcher.drawing import marks
from sketcher.drawing.marks import number, path_data
from sketcher.drawing.palette import style_sheet
from sketcher.drawing.plan import LAYERS, Further, plan
from sketcher.geometry import build
from sketcher.geometry.path import circle, fillet
from sketcher.reference.colours import colour, names

ROOT = Path(__file__).parents[2]
SVG = "{http://www.w3.org/2000/svg}"
EXAMPLES = sorted((ROOT / "examples").glob("*.json"))


def drawn(path: Path, further: Further | None = None) -> ET.Element:
    shapes = build(read(path))
    return ET.fromstring(plan(shapes, further or Further()).svg(alone=False))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_layers_stand_in_order_and_y_is_turned_over_once(path: Path) -> None:
    root = drawn(path)
    group = root.find(f"{SVG}g")
    assert group is not None
    assert group.get("class") == "plan"
    assert group.get("transform") == "scale(1 -1)"
    assert tuple(layer.get("data-layer") for layer in group) == LAYERS
    for element in group.iter():
        transform = element.get("transform") or ""
        if element is not group and "scale" in transform:
            # Text alone is turned back, at its own place.
            assert element.tag == f"{SVG}text"
            assert re.fullmatch(r"translate\([^)]*\) scale\(1 -1\)", transform)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_item_is_drawn_with_its_id_and_without_colours(path: Path) -> None:
    document = read(path)
    root = drawn(path)
    found = {element.get("data-id") for element in root.iter() if element.get("data-id")}
    with_a_place = {id_ for id_, item in items(document).items() if type(item).__name__ != "Group"}
    without_outline = {d.id for d in document.devices if d.outline is None and not d.ports}
    assert with_a_place - without_outline <= found
    for element in root.iter():
        assert not {"fill", "stroke", "style", "opacity"} & set(element.attrib)


def test_the_box_is_in_mm_and_holds_the_floor() -> None:
    root = drawn(ROOT / "examples" / "riser-bench.json")
    left, top, width, height = (float(part) for part in (root.get("viewBox") or "").split())
    assert root.get("width") == f"{number(width)}mm"
    assert root.get("height") == f"{number(height)}mm"
    # The floor is 480 by 400 mm, its front left corner at 0, 0; y runs up, so the rear is at -400.
    assert left <= 0
    assert top <= -400
    assert left + width >= 480
    assert top + height >= 0


def test_arcs_stay_arcs() -> None:
    """A square corner rounded by 15 mm is one arc of that radius, counter-clockwise as in the plan's own axes."""
    path, _ = fillet([(0, 0), (100, 0), (100, 80)], [0, 15, 0])
    assert path_data(path) == "M0 0L85 0A15 15 0 0 1 100 15L100 80"
    clockwise, _ = fillet([(0, 0), (100, 0), (100, -80)], [0, 15, 0])
    assert path_data(clockwise) == "M0 0L85 0A15 15 0 0 0 100 -15L100 -80"
    assert path_data(circle((5, 5), 2)).count("A2 2") == 2


def test_a_channel_is_a_stroke_of_its_true_width_along_its_centreline() -> None:
    root = drawn(ROOT / "examples" / "riser-bench.json")
    bed = next(e for e in root.iter() if e.get("data-id") == "C1" and e.get("data-kind") == "channel")[0]
    assert bed.get("class") == "bed"
    assert float(bed.get("stroke-width") or 0) == 10
    assert bed.get("d") == "M62 215L62 290A15 15 0 0 0 77 305L190 305"


def test_names_with_markup_are_text() -> None:
    plain = to_plain(read(ROOT / "examples" / "riser-bench.json"))
    plain["boards"][0]["name"] = "<script>alert('x')</script>"
    text = plan(build(from_plain(plain))).svg()
    assert "<script" not in text
    words = [element.text for element in ET.fromstring(text).iter(f"{SVG}text")]
    assert "<script>alert('x')</script>" in words


def test_findings_and_the_way_of_the_flow_are_drawn() -> None:
    findings = [
        {"rule": "wall-x", "level": "error", "at": [10, 20], "line": [[8, 20], [12, 20]]},
        {"rule": "y", "at": None},
    ]
    flow = {
        "elements": [{"id": "C1", "flow_l_min": 4.0}, {"id": "C4", "flow_l_min": -4.0}, {"id": "C7", "flow_l_min": 0.0}]
    }
    root = drawn(ROOT / "examples" / "riser-bench.json", Further(findings=findings, flow=flow))
    marked = [element for element in root.iter() if element.get("data-rule")]
    assert [element.get("data-rule") for element in marked] == ["wall-x"]
    assert [part.get("class") for part in marked[0]] == ["distance", "finding-mark"]
    arrows = {e.get("data-id"): e for e in root.iter() if e.get("data-kind") == "flow"}
    assert set(arrows) == {"C1", "C4"}
    # C4 runs from P7 (rear) to P8 on the left through the corner at the front; against its sense the first leg goes up.
    turn = re.search(r"rotate\(([-\d.]+)\)", arrows["C4"][0].get("transform") or "")
    assert turn is not None
    assert math.isclose(float(turn[1]), 90, abs_tol=1e-6)


def test_the_style_sheet_knows_every_class_and_uses_the_palette_alone() -> None:
    sheet = style_sheet()
    used = set()
    for path in EXAMPLES:
        for element in drawn(path).iter():
            if element.tag in (f"{SVG}path", f"{SVG}circle", f"{SVG}line"):
                used.update((element.get("class") or "").split())
    carried = {
        "area",
        "top",
        "wet",
        "service",
        "loop",
        "through",
        "tapped",
        "counterbored",
        "countersunk",
        "board",
        "device",
    }
    carried |= {"bottom", "edge", "marker"}
    missing = {name for name in used - carried if not re.search(rf"\.{re.escape(name)}\b", sheet)}
    assert not missing
    greys = re.compile(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})", re.I)
    palette = {colour(name).lower() for name in names()}
    for match in greys.finditer(sheet):
        parts = [int(part, 16) for part in match.groups()]
        assert match[0].lower() in palette or max(parts) - min(parts) <= 24, match[0]


def test_of_a_plate_on_which_one_thing_has_moved_that_one_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted where groups become text. What depends on the port is its channel, the room around both, its own tube."""
    plain = to_plain(read(ROOT / "examples" / "riser-bench.json"))
    plan(build(from_plain(plain)), Further(room=True)).svg(alone=False)
    made: list[str] = []

    class Counting(Group):
        def tostring(self) -> str:
            made.append(str(self.attribs.get("data-id") or self.attribs.get("data-around")))
            return str(super().tostring())

    monkeypatch.setattr(marks, "SVG", svgwrite.Drawing(debug=False))
    monkeypatch.setattr(marks.SVG, "g", lambda **named: Counting(factory=marks.SVG, **named), raising=False)
    plain["ports"][4]["x_mm"] += 0.5
    after = plan(build(from_plain(plain)), Further(room=True)).svg(alone=False)
    moved = plain["ports"][4]
    channels = {c["id"] for c in plain["channels"] if moved["id"] in (c.get("start"), c.get("end"))}
    assert {moved["id"], *channels} <= set(made) <= {moved["id"], *channels, str(moved.get("serves")).split(".")[0]}
    forget_all()
    assert plan(build(from_plain(plain)), Further(room=True)).svg(alone=False) == after
    assert len(set(made)) > 50  # with every memory emptied all of it is drawn
