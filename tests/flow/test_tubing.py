"""What a tube's course and its fittings cost and hold, by hand from the answer's own velocities."""

import math

import pytest

from tests.flow.loops import solved, usual


def with_tube(**tube):
    """The usual loop with a course for the tube at P1."""
    content = usual()
    content["ports"][0]["tube"] = tube
    return content


def drop(answer, id_="P1-drop"):
    return next(row for row in answer["elements"] if row["id"] == id_)


def place(content):
    port = content["ports"][0]
    return port["x_mm"], port["y_mm"]


def test_a_course_has_its_own_length_and_bends():
    """By hand: up 22, over 60, up 50, back 60, R 10: each of three corners saves 10 (2 - π/2)."""
    content = usual()
    x, y = place(content)
    plain = solved(content).as_json()
    corners = [(x, y, 50.0), (x + 60, y, 50.0), (x + 60, y, 100.0)]
    points = [{"x_mm": a, "y_mm": b, "z_mm": c} for a, b, c in corners]
    content["ports"][0]["tube"] = {"points": points, "bend_radius_mm": 10}
    result = solved(content)
    row = drop(result.as_json())
    assert row["length_mm"] == pytest.approx(22 + 60 + 50 + 60 - 3 * 10 * (2 - math.pi / 2), abs=1e-6)
    bends = result.loop.links.ducts.items[result.link("P1-drop")].bends
    assert [bend.angle_deg for bend in bends] == pytest.approx([90, 90, 90])
    assert all(bend.radius_over_width == pytest.approx(1.0) for bend in bends)
    assert row["pressure_drop_kpa"] > 1.5 * drop(plain)["pressure_drop_kpa"]


def test_a_coefficient_that_is_given_stands_for_the_whole_fitting():
    """By hand: Δp = k ½ρv² with v in the fitting's own bore, on top of the tube's friction."""
    none = with_tube(start_fitting={"loss_k": 0, "bore_mm": 7}, end_fitting={"loss_k": 0})
    some = with_tube(start_fitting={"loss_k": 2.5, "bore_mm": 7}, end_fitting={"loss_k": 0})
    a, b = solved(none).as_json(), solved(some).as_json()
    density = b["coolant"]["density_kg_m3"]

    def lost(answer):
        row = drop(answer)
        return row["pressure_drop_kpa"] * 1000, row["flow_l_min"] / 60_000

    (without, _), (with_k, flow) = lost(a), lost(b)
    head = 0.5 * density * (flow / (math.pi / 4 * 7e-3**2)) ** 2
    assert with_k - without == pytest.approx(2.5 * head, rel=0.02)


def test_an_elbow_is_a_sharp_turn_in_its_own_bore():
    """K of a mitre by Rennels times ASHRAE's factor, and Hooper's 1000/Re, on the bore's velocity head and Re."""
    content = with_tube(end_fitting={"kind": "elbow-90", "bore_mm": 8, "height_mm": 0})
    straight = with_tube(end_fitting={"bore_mm": 8, "height_mm": 0})
    result, plain = solved(content), solved(straight)
    duct, other = (r.loop.links.ducts.items[r.link("P1-drop")] for r in (result, plain))
    ratio = 10 / 8
    mitre = 0.42 * math.sin(math.radians(45)) + 2.56 * math.sin(math.radians(45)) ** 3
    assert duct.turn_forward - other.turn_forward == pytest.approx(mitre * ratio**4, rel=1e-9)
    reynolds_bore = 1e4
    reynolds_tube = reynolds_bore / ratio
    assert duct.low_forward / reynolds_tube == pytest.approx(1000 / reynolds_bore * ratio**4, rel=1e-9)
    assert result.pump_flow_l_min < plain.pump_flow_l_min


def test_the_volume_counts_bends_and_fittings():
    """By hand: an elbow of 15 mm each way in 8 mm instead of the tube's 10."""
    content = with_tube(start_fitting={"kind": "straight", "bore_mm": 8, "height_mm": 30})
    plain, fitted = solved(usual()), solved(content)
    narrower = math.pi / 4 * (8**2 - 10**2) * 30 / 1e6
    assert (fitted.loop.volume - plain.loop.volume) * 1000 == pytest.approx(narrower, rel=1e-6)


def test_a_typed_length_takes_precedence_and_a_size_brings_its_bore():
    content = usual()
    content["loop"] = {"tube_size": "acrylic 16/12"}
    row = drop(solved(content).as_json())
    assert row["diameter_mm"] == pytest.approx(12)
    content["loop"] = {"tube_size": "acrylic 16/12", "tube_inner_diameter_mm": 7}
    assert drop(solved(content).as_json())["diameter_mm"] == pytest.approx(12)
