"""One file for each set-up, read by GDAL/OGR, ezdxf's audit and a group-code reader: nothing is missing, nothing twice.

The plate is that of ``test_final``: floor corner A at (50, 50), 300 x 200 mm, lid below.
"""

from __future__ import annotations

import io
import math
import re
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from shapely import Polygon

from sketcher.document import Document, read
from sketcher.export import ExportError, export_sheet, make_sheet
from sketcher.export.dxf import dxf
from sketcher.export.setup_sheets import edge_sheets
from sketcher.export.sheet import Draft, Layer
from sketcher.geometry import build
from tests.checks.plates import channel, plate
from tests.export import outside
from tests.export.test_final import machined
from tests.export.test_test_piece import EXAMPLES

SOUND = [path for path in EXAMPLES if path.stem != "wrong-on-purpose"]
SETUPS = ("body-above", "body-below", "lid", "edges")


def layers(document: Document, sheet: str, version: str = "R2010") -> dict[str, list[outside.Read]]:
    found: dict[str, list[outside.Read]] = {}
    for entity in outside.entities(export_sheet(document, build(document), sheet, "dxf", dxf_version=version)):
        found.setdefault(entity.layer, []).append(entity)
    return found


def even_odd(entities: list[outside.Read]) -> shapely.Geometry:
    """What a pocket cycle makes of a layer: inside is what an odd number of contours enclose."""
    area: shapely.Geometry = Polygon()
    for entity in entities:
        area = area.symmetric_difference(Polygon(entity.ring(0.005)))
    return area


def test_each_operation_is_in_the_set_up_of_its_side() -> None:
    """By hand, from the plate's heights: lid 0 to 6, body 6 to 26; a bore goes half a millimetre into its channel."""
    document = machined()
    assert set(layers(document, "body-above")) - {"NOTES", "REFERENCE"} == {
        "POCKET_DEPTH_4", "BORE_D11.8_DEPTH_12.5", "THREAD_G1-4_DEPTH_10", "BORE_D8.8_DEPTH_12.5",
        "THREAD_G1-8_DEPTH_9", "COUNTERBORE_M4_D7_DEPTH_4",
    }  # fmt: skip
    below = set(layers(document, "body-below"))
    assert {"POCKET_DEPTH_8", "BORE_D11.8_DEPTH_4", "THREAD_G1-4_DEPTH_4", "TAP_M4_D3.3_DEPTH_8.7",
            "HOLE_D4.5_THROUGH_20", "CUTOUT_THROUGH_20", "OUTLINE_THROUGH_20"} <= below  # fmt: skip
    assert "REFERENCE" not in below
    assert {"POCKET_DEPTH_2", "BORE_D11.8_THROUGH_6", "OUTLINE_THROUGH_6"} <= set(layers(document, "lid"))
    assert set(layers(document, "edges")) == {"NOTES", "BORE_D11.8_DEPTH_16", "THREAD_G1-4_DEPTH_10"}


def test_from_below_is_mirrored_about_the_y_axis_through_datum_a() -> None:
    document = machined()
    (tap,) = layers(document, "body-below")["TAP_M4_D3.3_DEPTH_8.7"]
    assert tap.centre == pytest.approx((-(100 - 50), 130 - 50), abs=1e-6)
    (bore,) = layers(document, "body-above")["BORE_D8.8_DEPTH_12.5"]
    assert bore.centre == pytest.approx((200 - 50, 100 - 50), abs=1e-6)
    # An unsymmetrical outline is turned over, not turned round.
    corners = [(0, 0), (100, 0), (100, 50), (60, 50), (60, 80), (0, 80)]
    outline = {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in corners]}
    lying = plate(plate={"outline": outline})
    (edge,) = layers(lying, "body-below")["OUTLINE_THROUGH_20"]
    assert {(round(x, 6) + 0.0, round(y, 6)) for x, y, _ in edge.points} == {(-x + 0.0, y) for x, y in corners}


def test_channels_that_meet_are_one_pocket_with_its_island() -> None:
    """Four channels round 100 x 60 mm, 8 mm wide, corners sharp: 108 x 68 round outside, 92 x 52 inside."""
    corners = [(100, 80), (200, 80), (200, 140), (100, 140)]
    branches = [{"id": f"J{n}", "x_mm": x, "y_mm": y} for n, (x, y) in enumerate(corners)]
    runs = [channel(f"C{n}", start=f"J{n}", end=f"J{(n + 1) % 4}") for n in range(4)]
    found = layers(plate(branches=branches, channels=runs, ports=[]), "body-below")["POCKET_DEPTH_8"]
    assert len(found) == 2
    assert even_odd(found).area == pytest.approx(108 * 68 - (4 - math.pi) * 16 - 92 * 52, abs=0.05)
    # The corners are arcs of half the width, and nothing else is round.
    bulges = [bulge for entity in found for _, _, bulge in entity.points if bulge]
    assert bulges == pytest.approx([math.tan(math.pi / 8)] * 4, abs=1e-6)


@pytest.mark.parametrize("path", SOUND, ids=lambda path: path.stem)
def test_the_even_odd_rule_leaves_what_the_plate_has(path: Path) -> None:
    """The sum of areas of each depth is the area of the polygons' union, made by shapely from the document's shapes."""
    document = read(path)
    shapes = build(document)
    thick = document.plate.body_thickness_mm
    wanted: dict[float, list[Polygon]] = {}
    for channel_ in document.channels:
        if channel_.depth_mm < thick:
            wanted.setdefault(channel_.depth_mm, []).append(shapes.channels[channel_.id].polygon)
    side = "body-below" if document.plate.lid_face == "bottom" else "body-above"
    pockets = [p for p in document.pockets if (p.face == "bottom") == (document.plate.lid_face == "bottom")]
    found = layers(document, side)
    for depth, polygons in wanted.items():
        if any(pocket.depth_mm == depth for pocket in pockets):
            continue
        truth = shapely.union_all(polygons)
        milled = even_odd(found[f"POCKET_DEPTH_{depth:g}"])
        # The document's polygons lose up to 0.01 mm at arcs.
        assert milled.area == pytest.approx(truth.area, abs=0.011 * truth.length)


@pytest.mark.parametrize("path", SOUND, ids=lambda path: path.stem)
@pytest.mark.parametrize("sheet", SETUPS)
def test_r12_is_read_by_ogr_and_ezdxf(path: Path, sheet: str, tmp_path: Path) -> None:
    document = read(path)
    data = export_sheet(document, build(document), sheet, "dxf", dxf_version="R12")
    audit = ezdxf.read(io.StringIO(data.decode("ascii"))).audit()
    assert not audit.errors
    assert not audit.fixes
    assert outside.header(data)["$ACADVER"] == "AC1009"
    names = {value for code, value in outside.tags(data) if code == 8}
    assert all(re.fullmatch(r"[A-Z0-9_$-]{1,31}", name) for name in names), names
    file = tmp_path / "old.dxf"
    file.write_bytes(data)
    old = outside.ogr(file)
    file.write_bytes(export_sheet(document, build(document), sheet, "dxf"))
    new = outside.ogr(file)
    assert len(old) == len(new)
    for one, other in zip(old, new, strict=True):
        a, b = (np.array(f["geometry"]["coordinates"])[:, :2] for f in (one, other))
        assert a.min(axis=0) == pytest.approx(b.min(axis=0), abs=1e-6)
        assert a.max(axis=0) == pytest.approx(b.max(axis=0), abs=1e-6)


def test_names_that_r12_would_make_the_same_stay_apart() -> None:
    draft = Draft()
    names = [f"{'A' * 30}.{n}" for n in range(12)] + ["D1.5", "D1_5"]
    for n, name in enumerate(names):
        draft.round(name, (n, 0), 1)
    made = draft.sheet("final", "x", [Layer(name, "inner", "x") for name in names])
    found = {entity.layer for entity in outside.entities(dxf(made, "R12"))}
    assert len(found) == len(names)
    assert all(re.fullmatch(r"[A-Z0-9_$-]{1,31}", name) for name in found)
    with pytest.raises(ExportError, match="choose R2010 or R12"):
        dxf(made, "R9")


@pytest.mark.parametrize(
    ("place", "name", "u"),
    [((350, 180), "edge-right", 130.0), ((50, 180), "edge-left", -130.0), ((150, 50), "edge-front", 100.0),
     ((150, 250), "edge-rear", -100.0)],
)  # fmt: skip
def test_an_edge_is_seen_square_to_it(place: tuple[float, float], name: str, u: float) -> None:
    """Who stands before the right edge has the front to the left: u is y from A. Before the left edge it is -y."""
    document = machined(
        ports=[{"id": "P3", "x_mm": place[0], "y_mm": place[1], "face": "edge", "bore_depth_mm": 16}],
        channels=[], holes=[],
    )  # fmt: skip
    ((found, sheet),) = edge_sheets(document, build(document), "")
    assert found == name
    (bore,) = sheet.on("BORE_D11.8_DEPTH_16")
    assert bore.round is not None
    # Mid-body: 10 mm above the body's own lower face.
    assert (*bore.round[0], bore.round[1]) == pytest.approx((u, 10.0, 5.9))


def test_every_hole_is_drilled_once_and_once_only() -> None:
    document = machined()
    seen = []
    for sheet in ("body-above", "body-below", "lid"):
        sign = 1 if sheet == "body-above" else -1
        for entity in make_sheet(document, build(document), sheet).entities:
            if entity.round and entity.layer.startswith(("HOLE", "TAP", "BORE")):
                (x, y), _ = entity.round
                seen.append((sheet.split("-")[0], round(sign * x, 6), round(y, 6)))
    # H1, H2: body and lid; P1, P2, P4: body; P4: lid; S1 and the proposed lid screws: body and lid.
    assert len(seen) == len(set(seen))
    by_part = [sum(part == name for name, *_ in seen) for part in ("body", "lid")]
    holes = len(document.holes)
    assert by_part == [holes + 3, holes + 1]


def test_an_outline_that_crosses_itself_is_named() -> None:
    bow = [(100, 100), (140, 140), (140, 100), (100, 140)]
    document = machined(
        pockets=[{"id": "R9", "outline": {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in bow]},
                  "depth_mm": 3}]
    )  # fmt: skip
    with pytest.raises(ExportError, match="the outline of R9 crosses itself"):
        export_sheet(document, build(document), "body-above", "dxf")
