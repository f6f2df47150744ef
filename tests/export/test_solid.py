"""Solids: the kernel's volume is the plan's own sum, every hole is found again in the STEP, gmsh reads the same file.

The plate is that of ``test_final``: lid 6 mm below, body 20 mm above it, the datum at (50, 50) on the floor.
"""

from __future__ import annotations

import math
import struct
import subprocess
import sys
from pathlib import Path

import pytest

from sketcher.cli import main
from sketcher.document import Document, write
from sketcher.export import ExportError, export_sheet, solid
from sketcher.export.hole_table import holes
from sketcher.export.recesses import recessed, volume_mm3
from sketcher.geometry import build
from sketcher.strength.seal import design_seal
from tests.checks.plates import channel, plate
from tests.export.step_reader import ReadSolid, read_step
from tests.export.test_final import machined

pytest.importorskip("OCP", reason="the extra 'solid' is not installed")


def document() -> Document:
    base = machined()
    return machined(
        holes=[hole.model_dump(exclude_unset=True) for hole in base.holes]
        + [{"id": "H3", "x_mm": 240, "y_mm": 200, "kind": "countersunk"},
           {"id": "H4", "x_mm": 280, "y_mm": 200, "slot_length_mm": 9, "turn_deg": 30}],
        channels=[channel("C1", start="P1", end="P2"),
                  channel("C2", (100, 150), (160, 150), (130, 170), (130, 90), depth_mm=5)],
    )  # fmt: skip


@pytest.fixture(scope="session")
def files() -> dict[str, bytes]:
    """Body, lid and assembly, made once: the kernel takes seconds to load."""
    made = document()
    shapes = build(made)
    found = {f"{name}.step": export_sheet(made, shapes, name, "step", label="R3") for name in ("body", "lid", "final")}
    found["final.stl"] = export_sheet(made, shapes, "final", "stl")
    return found


@pytest.fixture(scope="session")
def body(files: dict[str, bytes]) -> ReadSolid:
    return read_step(files["body.step"])


def test_volume_is_the_plans_own_sum(files: dict[str, bytes], body: ReadSolid) -> None:
    """Areas of plane unions, level by level, know nothing of the kernel; 1e-6 of the whole is asked."""
    made = document()
    shapes = build(made)
    parts = recessed(made, shapes, design_seal(made, shapes))
    lid = read_step(files["lid.step"])
    both = read_step(files["final.step"])
    sums = [volume_mm3(part) for part in parts]
    assert body.volume_mm3 == pytest.approx(sums[0], rel=1e-6)
    assert lid.volume_mm3 == pytest.approx(sums[1], rel=1e-6)
    assert both.count == 2
    assert both.volume_mm3 == pytest.approx(sum(sums), rel=1e-6)
    assert body.box == pytest.approx((0, 0, 6, 300, 200, 26), abs=1e-6)
    assert lid.box == pytest.approx((0, 0, 0, 300, 200, 6), abs=1e-6)


def test_a_countersunk_plate_by_hand() -> None:
    """ISO 10642, M4: 8.96 across at the face, 90 degrees; through a hole of 4.5 the cone is 2.23 mm deep."""
    made = plate(holes=[{"id": "H1", "x_mm": 100, "y_mm": 100, "kind": "countersunk"}], ports=[], channels=[],
                 seal={"kind": "gasket"})  # fmt: skip
    shapes = build(made)
    data = export_sheet(made, shapes, "body", "step")
    r0, r1 = 4.48, 2.25
    depth = r0 - r1
    frustum = math.pi * depth / 3 * (r0 * r0 + r0 * r1 + r1 * r1)
    assert read_step(data).volume_mm3 == pytest.approx(
        300 * 200 * 20 - frustum - math.pi * r1**2 * (20 - depth), rel=1e-9
    )


def test_every_hole_of_the_table_is_found_again(files: dict[str, bytes], body: ReadSolid) -> None:
    made = document()
    shapes = build(made)
    lid = read_step(files["lid.step"])
    for row in holes(made, shapes):
        walls = (body if row.part == "body" else lid).walls
        if row.what in ("countersink",) or row.what.startswith("slot"):
            continue
        if row.what == "edge port":
            near = [
                w for w in walls if not w.upright and abs(w.at[1] - row.y) < 1e-6 and abs(w.at[2] - row.level) < 1e-6
            ]
        else:
            near = [w for w in walls if w.upright and math.dist(w.at[:2], (row.x, row.y)) < 1e-6]
        assert any(w.hollow and abs(2 * w.radius - row.diameter) < 1e-6 for w in near), row
        if row.depth is not None and row.what != "edge port":
            low, high = (6, 26) if row.part == "body" else (0, 6)
            ends = (high - row.depth, high) if row.side == "above" else (low, low + row.depth)
            same = [w for w in near if abs(2 * w.radius - row.diameter) < 1e-6]
            # A channel takes a part of a bore's wall: what is left of it ends where the table says.
            assert any(abs(w.low - ends[0]) < 1e-6 or abs(w.high - ends[1]) < 1e-6 for w in same), row


def test_channels_and_outline_are_exact(files: dict[str, bytes], body: ReadSolid) -> None:
    text = files["body.step"].decode("utf-8")
    assert "B_SPLINE" not in text
    assert "AP242" in text
    # Channel 1 is 8 mm wide: both its ends are half cylinders of 4 mm about its ports.
    ends = [w for w in body.walls if w.upright and w.radius == pytest.approx(4, abs=1e-6) and w.low == pytest.approx(6)]
    assert {(round(w.at[0], 4), round(w.at[1], 4)) for w in ends} >= {(50.0, 50.0), (150.0, 50.0)}


def test_threads_are_named(files: dict[str, bytes]) -> None:
    text = files["body.step"].decode("utf-8")
    for name in ("P1 G1/4 thread 10 deep", "P2 G1/8 thread 9 deep", "P3 G1/4 thread 10 deep", "S1 M4 thread 4.9 deep"):
        assert f"ADVANCED_FACE('{name}'" in text, name
    assert "PRODUCT('Body R3'" in text


def test_gmsh_reads_the_same(files: dict[str, bytes], body: ReadSolid, tmp_path: Path) -> None:
    """gmsh has a build of its own of the kernel and its own importer; it runs apart, so that the two never meet."""
    pytest.importorskip("gmsh", exc_type=Exception)
    file = tmp_path / "final.step"
    file.write_bytes(files["final.step"])
    program = (
        "import gmsh, sys; gmsh.initialize(); gmsh.option.setNumber('General.Terminal', 0);"
        "v = gmsh.model.occ.importShapes(sys.argv[1]); gmsh.model.occ.synchronize();"
        "print(len(v), *(gmsh.model.occ.getMass(*x) for x in v));"
        "print(sum(gmsh.model.getType(*x) == 'Cylinder' for x in gmsh.model.getEntities(2)))"
    )
    done = subprocess.run([sys.executable, "-c", program, str(file)], capture_output=True, text=True, check=True)
    first, cylinders = done.stdout.strip().splitlines()
    count, *volumes = first.split()
    assert count == "2"
    both = read_step(files["final.step"])
    assert sum(map(float, volumes)) == pytest.approx(both.volume_mm3, rel=1e-9)
    assert int(cylinders) >= len(both.walls)


def test_the_mesh_is_closed_and_of_the_right_size(files: dict[str, bytes]) -> None:
    """Binary STL: 80 bytes, a count, 50 bytes for each triangle; the divergence theorem gives the volume."""
    data = files["final.stl"]
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    volume = 0.0
    edges: dict[tuple, int] = {}
    for n in range(count):
        row = struct.unpack_from("<12f", data, 84 + 50 * n)
        a, b, c = (tuple(round(v, 4) for v in row[k : k + 3]) for k in (3, 6, 9))
        volume += (a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
                   + a[2] * (b[0] * c[1] - b[1] * c[0])) / 6  # fmt: skip
        for one, other in ((a, b), (b, c), (c, a)):
            edges[one, other] = edges.get((one, other), 0) + 1
    assert all(edges.get((other, one), 0) == number for (one, other), number in edges.items())
    assert volume == pytest.approx(read_step(files["final.step"]).volume_mm3, rel=1e-3)


def test_the_same_bytes_again_and_in_another_process(files: dict[str, bytes], tmp_path: Path) -> None:
    made = document()
    assert export_sheet(made, build(made), "lid", "step", label="R3") == files["lid.step"]
    write(made, tmp_path / "plate.json")
    arguments = ["export", str(tmp_path / "plate.json"), "--sheet", "lid", "--label", "R3", "-o"]
    subprocess.run([sys.executable, "-m", "sketcher", *arguments, str(tmp_path / "lid.step")], check=True)
    assert (tmp_path / "lid.step").read_bytes() == files["lid.step"]


def test_what_cannot_be_a_solid_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bow = {
        "shape": "polygon",
        "vertices": [{"x_mm": x, "y_mm": y} for x, y in ((100, 100), (140, 140), (140, 100), (100, 140))],
    }
    made = machined(pockets=[{"id": "R9", "outline": bow, "depth_mm": 3}])
    file, out = tmp_path / "plate.json", tmp_path / "body.step"
    write(made, file)
    assert main(["export", str(file), "--sheet", "body", "-o", str(out)]) == 2
    assert "R9 crosses itself" in capsys.readouterr().err
    assert not out.exists()
    split = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 20, "depth_mm": 400}
    made = machined(cutouts=[{"id": "K9", "outline": split}])
    with pytest.raises(ExportError, match="falls into 2 pieces"):
        export_sheet(made, build(made), "lid", "step")
    with pytest.raises(ExportError, match="no STEP file"):
        read_step(b"hello")


def test_without_the_extra_one_line_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solid, "available", lambda: False)
    made = plate()
    with pytest.raises(ExportError, match=r"run run\.py once more, or pip install"):
        export_sheet(made, build(made), "body", "step")
