"""A returned STEP file: changed by gmsh (its own build of the kernel, its own reader and writer) by known amounts.

The plate is that of ``test_final``: lid 6 mm below, body 20 mm above it, the datum at (50, 50) on the floor.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from sketcher.cli import main
from sketcher.document import Document, write
from sketcher.export import ExportError, export_sheet
from sketcher.export.solid_compare import SolidCompared, compare_step
from sketcher.geometry import build
from sketcher.server import create_app
from tests.export.test_final import machined

pytest.importorskip("OCP", reason="the extra 'solid' is not installed")
pytest.importorskip("gmsh", exc_type=Exception)

#: Each case is a few lines for gmsh: ``v`` are the solids of the file.
CASES = {
    "as it is": "",
    "moved": "o.translate(v, 12.5, -3, 40)",
    "turned": "o.rotate(v, 0, 0, 0, 1, 0, 0, math.pi / 2); o.translate(v, 5, 6, 7)",
    "askew": "o.rotate(v, 10, 20, 30, 1, 2, 3, 0.7)",
    "mirrored": "o.mirror(v, 1, 0, 0, 0)",
    "inch": "o.dilate(v, 0, 0, 0, 1 / 25.4, 1 / 25.4, 1 / 25.4)",
    "shrunk": "o.dilate(v, 0, 0, 0, 0.98, 0.98, 0.98)",
    "new hole": "v, _ = o.cut(v, [(3, o.addCylinder(120, 80, 0, 0, 0, 30, 1.5))])",
    "wider": "v, _ = o.cut(v, [(3, o.addCylinder(10, 10, 0, 0, 0, 40, 2.6))])",
    "thinner": "v, _ = o.cut(v, [(3, o.addBox(-1, -1, 24, 302, 202, 5))])",
    "deeper": "v, _ = o.cut(v, [(3, o.addBox(235, 25, 21, 30, 10, 5))])",
    "other plate": "v = [(3, o.addBox(0, 0, 0, 100, 100, 10))]",
    "with a screw": "v += [(3, o.addCylinder(10, 10, 26, 0, 0, 8, 3))]",
}
PROGRAM = """
import gmsh, math, sys
gmsh.initialize(); gmsh.option.setNumber('General.Terminal', 0)
o = gmsh.model.occ
for n, line in enumerate(sys.argv[3].split('\\n')):
    gmsh.clear(); v = o.importShapes(sys.argv[1]); exec(line); o.synchronize()
    gone = [e for e in gmsh.model.getEntities(3) if e not in v]
    o.remove(gone, recursive=True); o.synchronize()
    gmsh.write(f'{sys.argv[2]}/{n}.step')
"""


def body_plate() -> Document:
    return machined(
        seal={"kind": "gasket"}, holes=[{"id": "H1", "x_mm": 60, "y_mm": 60}, {"id": "H4", "x_mm": 280, "y_mm": 200}]
    )


@pytest.fixture(scope="module")
def returned(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Every case, changed by gmsh in a process of its own, so that the two kernels never meet."""
    folder = tmp_path_factory.mktemp("returned")
    made = body_plate()
    (folder / "body.step").write_bytes(export_sheet(made, build(made), "body", "step"))
    lines = "\n".join(CASES.values())
    program = [sys.executable, "-c", PROGRAM, str(folder / "body.step"), str(folder), lines]
    subprocess.run(program, check=True, capture_output=True)
    return {name: (folder / f"{n}.step").read_bytes() for n, name in enumerate(CASES)}


def compared(data: bytes, **more: Any) -> SolidCompared:
    made = body_plate()
    return compare_step(made, build(made), data, **more)


def test_another_writers_file_is_the_same(returned: dict[str, bytes]) -> None:
    found = compared(returned["as it is"])
    assert found.sheet == "body"
    assert found.rows == ()
    assert found.pose.in_place
    assert found.same > 30
    assert all(port["same"] for port in found.as_json()["ports"])


def test_where_it_lies_is_found(returned: dict[str, bytes]) -> None:
    """Against scipy's rotations and the amounts that were given to gmsh."""
    moved = compared(returned["moved"])
    assert moved.rows == ()
    assert moved.pose.shift == pytest.approx([12.5, -3, 40], abs=1e-6)
    assert "12.500 mm right and 3.000 mm front and 40.000 mm higher" in moved.messages[0]
    turned = compared(returned["turned"])
    assert turned.rows == ()
    assert turned.pose.turn == pytest.approx(Rotation.from_euler("x", 90, degrees=True).as_matrix(), abs=1e-9)
    assert turned.as_json()["turn_deg"] == 90
    assert turned.as_json()["turn_axis"] == [1, 0, 0]
    askew = compared(returned["askew"])
    assert askew.rows == ()
    way = np.array([1, 2, 3]) / np.sqrt(14)
    assert askew.pose.turn == pytest.approx(Rotation.from_rotvec(0.7 * way).as_matrix(), abs=1e-6)
    assert askew.as_json()["turn_axis"] == pytest.approx(way, abs=1e-5)
    mirrored = compared(returned["mirrored"])
    assert mirrored.rows == ()
    assert mirrored.pose.mirrored
    assert "mirror image of ours, left to right" in mirrored.messages[0]


def test_inches_and_other_sizes_are_found(returned: dict[str, bytes]) -> None:
    inch = compared(returned["inch"])
    assert inch.pose.scale == pytest.approx(1 / 25.4, rel=1e-9)
    assert inch.rows == ()
    assert any("inches" in words for words in inch.messages)
    shrunk = compared(returned["shrunk"])
    assert shrunk.pose.scale == pytest.approx(0.98, rel=1e-6)
    assert shrunk.rows == ()
    assert any("98.000 % of its true size" in words for words in shrunk.messages)


def test_what_was_changed_is_said_of_the_right_item(returned: dict[str, bytes]) -> None:
    (row,) = compared(returned["new hole"]).rows
    assert (row.what, row.at[:2]) == ("added", pytest.approx((120, 80)))
    assert "3.000 mm" in row.text
    # H1: 4.5 mm at (60, 60) on the floor, (10, 10) from the datum; drilled out to 5.2.
    (row,) = compared(returned["wider"]).rows
    assert (row.what, row.item) == ("resized", "H1")
    assert row.text == "5.200 mm across instead of 4.500"
    # R1: 30 by 10 and 4 deep from the top at 26; its floor at 22 is lowered to 21 over its inside, corners and all.
    deeper = compared(returned["deeper"])
    assert any(row.item == "R1" and row.text == "1.000 mm lower" and row.what == "changed" for row in deeper.rows)
    assert not any(row.item in ("P1", "P2", "C1") for row in deeper.rows)


def test_a_thinner_body_is_one_row(returned: dict[str, bytes]) -> None:
    """2 mm off the top: every wall that ends there is shorter, and the one cause is the face."""
    found = compared(returned["thinner"])
    assert [(row.what, row.item, row.text) for row in found.rows] == [("changed", "", "2.000 mm lower")]


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Body and lid in one file, the lid laid elsewhere by gmsh: beside, upside down, and with a hole of its own."""
    folder = tmp_path_factory.mktemp("assembly")
    made = body_plate()
    (folder / "final.step").write_bytes(export_sheet(made, build(made), "final", "step"))
    small = "lid = min(v, key=lambda e: o.getMass(*e)); "
    cases = {
        "beside": small + "o.translate([lid], 350, 10, 6)",
        "upside down": small + "o.rotate([lid], 0, 0, 0, 1, 0, 0, math.pi); o.translate([lid], 400, 300, 0)",
        "drilled": small + "o.translate([lid], 350, 10, 6); body = [e for e in v if e != lid]; "
        "w, _ = o.cut([lid], [(3, o.addCylinder(470, 90, -50, 0, 0, 100, 1.5))]); v = body + w",
    }
    program = [sys.executable, "-c", PROGRAM, str(folder / "final.step"), str(folder), "\n".join(cases.values())]
    subprocess.run(program, check=True, capture_output=True)
    return {name: (folder / f"{n}.step").read_bytes() for n, name in enumerate(cases)}


def test_an_assembly_whose_lid_lies_elsewhere(assembly: dict[str, bytes]) -> None:
    """The amounts are those given to gmsh; half a turn about x against scipy's."""
    beside = compared(assembly["beside"])
    assert beside.sheet == "final"
    assert beside.rows == ()
    (part,) = beside.as_json()["parts"]
    assert part["part"] == "LID"
    assert part["shift_mm"] == pytest.approx([350, 10, 6], abs=1e-3)
    assert any("The lid sits 350.000 mm right and 10.000 mm rear" in words for words in beside.messages)
    over = compared(assembly["upside down"])
    assert over.rows == ()
    (part,) = over.found[1:]
    assert part[1].turn == pytest.approx(Rotation.from_euler("x", 180, degrees=True).as_matrix(), abs=1e-6)
    drilled = compared(assembly["drilled"])
    (row,) = drilled.rows
    assert (row.what, row.part) == ("added", "LID")
    assert "3.000 mm" in row.text
    # Brought back: 470 and 90 on the lid that lies 350 and 10 away.
    assert row.at[:2] == pytest.approx((120, 80), abs=1e-3)


def test_what_is_no_plate_of_ours(returned: dict[str, bytes]) -> None:
    other = compared(returned["other plate"])
    assert {row.what for row in other.rows} == {"missing"}
    assert any("another plate" in words for words in other.messages)
    screw = compared(returned["with a screw"])
    assert screw.rows == ()
    # pi 3² 8 = 226.2 mm³
    assert any("0.23 cm³" in words for words in screw.messages)
    asked = compared(returned["as it is"], sheet="final")
    assert [(row.part, row.what) for row in asked.rows] == [("LID", "missing")]
    with pytest.raises(ExportError, match="no STEP file"):
        compared(b"hello")
    with pytest.raises(ExportError, match="body, lid, final"):
        compared(returned["as it is"], sheet="test-piece")


def test_the_command_and_the_route(
    returned: dict[str, bytes], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = body_plate()
    write(made, tmp_path / "plate.json")
    for case, code in (("as it is", 0), ("wider", 1), ("mirrored", 1)):
        (tmp_path / "back.step").write_bytes(returned[case])
        assert main(["compare", str(tmp_path / "plate.json"), str(tmp_path / "back.step")]) == code
    assert "mirror image" in capsys.readouterr().out
    assert main(["compare", str(tmp_path / "plate.json"), str(tmp_path / "plate.json")]) == 2
    assert "dxf, svg, step" in capsys.readouterr().err
    (tmp_path / "back.dxf").write_bytes(export_sheet(made, build(made), "final", "dxf"))
    assert main(["compare", str(tmp_path / "plate.json"), str(tmp_path / "back.dxf"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["sheet"] == "final"
    client = create_app(tmp_path / "data").test_client()
    plate = client.post("/api/plates", json={"document": json.loads((tmp_path / "plate.json").read_text())}).get_json()
    answer = client.post(f"/api/plates/{plate['id']}/returned?kind=step", data=returned["wider"])
    assert answer.status_code == 200, answer.get_data(as_text=True)
    assert [row["item"] for row in answer.get_json()["rows"]] == ["H1"]
