"""The shapes of a document: where things stand, and how high they reach."""

import math

import numpy as np
import pytest
import shapely

from sketcher.document import from_plain
from sketcher.document.hardware import Board
from sketcher.document.outlines import Polygon, Vertex
from sketcher.geometry import build
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.placement import own_frame
from tests.document.test_files import BARE


def shapes_of(**parts):
    return build(from_plain({**BARE, **parts}))


def test_a_channel_is_as_long_as_its_straights_and_bends() -> None:
    shapes = shapes_of(
        ports=[{"id": "P1", "x_mm": 150, "y_mm": 130}, {"id": "P2", "x_mm": 210, "y_mm": 170}],
        channels=[
            {"id": "C1", "start": "P1", "end": "P2", "points": [{"x_mm": 210, "y_mm": 130}], "width_mm": 8,
             "depth_mm": 9, "bend_radius_mm": 12},
        ],
    )  # fmt: skip
    channel = shapes.channels["C1"]
    assert channel.length_mm == pytest.approx(60 + 40 - 2 * 12 + math.pi / 2 * 12)
    assert channel.polygon.area == pytest.approx(channel.length_mm * 8 + math.pi * 16, rel=2e-3)
    # The lid is below: the channel begins on it and goes up.
    assert (channel.low, channel.high) == (5, 14)


def test_a_lid_on_top_turns_the_channel_over() -> None:
    plate = {**BARE["plate"], "lid_face": "top"}
    shapes = shapes_of(
        plate=plate,
        channels=[
            {
                "id": "C1",
                "points": [{"x_mm": 150, "y_mm": 130}, {"x_mm": 190, "y_mm": 130}],
                "width_mm": 8,
                "depth_mm": 9,
            }
        ],
    )
    assert (shapes.channels["C1"].low, shapes.channels["C1"].high) == (6, 15)


def test_a_ports_bore_reaches_the_channel_it_serves() -> None:
    shapes = shapes_of(
        ports=[{"id": "P1", "x_mm": 150, "y_mm": 130}],
        channels=[{"id": "C1", "start": "P1", "points": [{"x_mm": 200, "y_mm": 130}], "width_mm": 8, "depth_mm": 9}],
    )
    bore = shapes.ports["P1"].bore_prism
    # The channel's ceiling is at 5 + 9 = 14; the bore goes on half a millimetre, so that no skin stays.
    assert (bore.low, bore.high) == (13.5, 20)
    thread = shapes.ports["P1"].thread_prism
    assert (thread.low, thread.high) == (10, 20)
    assert thread.polygon.area == pytest.approx(math.pi * (13.157 / 2) ** 2, rel=2e-3)  # G1/4, ISO 228-1


def test_an_edge_port_points_into_the_plate() -> None:
    shapes = shapes_of(ports=[{"id": "P1", "x_mm": 100, "y_mm": 150, "face": "edge", "bore_depth_mm": 15}])
    port = shapes.ports["P1"]
    assert port.heading == pytest.approx((1, 0), abs=1e-6)
    assert port.root == pytest.approx((115, 150))
    assert port.bore_prism.polygon.bounds == pytest.approx((100, 150 - 5.9, 115, 150 + 5.9))
    assert shapes.plate_polygon.disjoint(port.fitting) or shapes.plate_polygon.touches(port.fitting)


def test_a_standing_board_shows_its_thickness_and_its_height() -> None:
    shapes = shapes_of(
        boards=[{"id": "B1", "x_mm": 50, "y_mm": 100, "z_mm": 20, "posture": "standing", "width_mm": 300,
                 "depth_mm": 250,
                 "parts_height_mm": 30, "thickness_mm": 2}],
    )  # fmt: skip
    board = shapes.boards["B1"]
    assert board.polygon.bounds == pytest.approx((50, 70, 350, 102))
    assert (board.low, board.high) == pytest.approx((20, 270))


def test_moving_the_riser_moves_the_card_its_block_and_its_drop() -> None:
    def places(riser_y):
        shapes = shapes_of(
            boards=[
                {"id": "RISER", "role": "riser", "x_mm": 200, "y_mm": riser_y, "slots": 1, "width_mm": 20},
                {"id": "CARD", "role": "card", "held_by": "RISER", "slot": 1, "width_mm": 250, "depth_mm": 110},
            ],
            devices=[
                {"id": "GPU", "kind": "block", "held_by": "CARD",
                 "ports": [{"id": "in", "u_mm": 100, "v_mm": 60, "w_mm": 20}, {"id": "out", "u_mm": 130, "v_mm": 60}]}
            ],
        )  # fmt: skip
        return shapes.device_ports["GPU.in"], shapes.boards["CARD"]

    before, card_before = places(140)
    after, card_after = places(110)
    assert (after.x - before.x, after.y - before.y, after.z - before.z) == pytest.approx((0, -30, 0))
    assert card_before.polygon.bounds[1] - card_after.polygon.bounds[1] == pytest.approx(30)
    # The card runs along the slot (v of the riser: to the rear), its ports stand above the riser.
    assert before.y == pytest.approx(240)
    assert before.z == pytest.approx(60)


@pytest.mark.parametrize("posture", ["lying", "standing"])
@pytest.mark.parametrize("turn", [0, 90, 33])
@pytest.mark.parametrize("roll", [0, -90, 12])
def test_frames_are_right_handed_and_square(posture, turn, roll) -> None:
    axes = own_frame(Board(id="B", posture=posture, turn_deg=turn, roll_deg=roll)).axes
    assert axes.T @ axes == pytest.approx(np.eye(3))
    assert np.linalg.det(axes) == pytest.approx(1)


def test_a_crossing_outline_is_kept_to_be_reported() -> None:
    crossing = [(0, 0), (10, 10), (10, 0), (0, 10)]
    shapes = shapes_of(
        cutouts=[
            {"id": "K1", "outline": {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in crossing]}}
        ]
    )
    assert not shapely.is_valid(shapes.cutouts["K1"].polygon)


def test_a_rounding_too_large_beside_an_arc_fills_its_half_of_the_edges() -> None:
    """A square of 40 with one arched side: the radius of 30 asked for at the corner opposite shrinks to 20, an arc."""
    vertices = (
        Vertex(x_mm=0, y_mm=0, bulge=0.5),
        Vertex(x_mm=40, y_mm=0),
        Vertex(x_mm=40, y_mm=40, corner_radius_mm=30),
        Vertex(x_mm=0, y_mm=40),
    )
    path = contour(Polygon(vertices=vertices)).path
    rounded = [s for s in path.segments if not s.straight and s.bulge < 0.5]
    assert [(s.radius, s.start, s.end) for s in rounded] == [(pytest.approx(20), (40, 20), (20, 40))]
    # The square, the arched segment (half angle 2 atan 0.5, radius 25: chord 40, sagitta 10), less the corner.
    half = 2 * math.atan(0.5)
    segment = 25**2 * (half - math.sin(half) * math.cos(half))
    assert path.area == pytest.approx(1600 + segment - 20**2 * (1 - math.pi / 4))
