"""The smallest outline: against the walls that the rules ask for by themselves, and against one millimetre less."""

import pytest

from sketcher.checks import run
from sketcher.document import Document
from sketcher.document.outlines import Rectangle
from sketcher.geometry import build
from sketcher.proposing.outline import smallest_outline
from tests.checks.plates import channel, plate, rectangle

BODY = {"outline": rectangle(200, 150, 300, 200), "body_thickness_mm": 20, "lid_thickness_mm": 10, "z_mm": 10}


def made(seal: str, **more: object) -> Document:
    ports = [{"id": "P1", "x_mm": 150, "y_mm": 130}, {"id": "P2", "x_mm": 250, "y_mm": 170}]
    ports += more.pop("ports", [])  # type: ignore[arg-type]
    channels = [channel("C1", (250, 130), start="P1", end="P2", bend_radius_mm=10)]
    return plate(plate=BODY, ports=ports, channels=channels, seal={"kind": seal}, **more)


def errors(document: Document) -> set[tuple[str, tuple[str, ...]]]:
    return {(f.rule, f.items) for f in run(document) if f.open_error}


@pytest.mark.parametrize("seal", ["bonded", pytest.param("cord", marks=pytest.mark.long)])
def test_the_plate_comes_in_until_the_rules_object(seal: str) -> None:
    document = made(seal)
    found = smallest_outline(document)
    assert found.why == ""
    assert errors(found.document) <= errors(document)
    assert found.box.area_mm2 < 0.5 * found.before.area_mm2
    # Everything is inside: the ports' fittings stand on it, walls are kept.
    assert found.box.left < 150 - 6.5
    assert found.box.right > 250 + 6.5
    if seal == "bonded":
        # A second way: two millimetres less on any side and the rules find something new.
        box = found.box
        for left, front, right, rear in ((2, 0, 0, 0), (0, 2, 0, 0), (0, 0, 2, 0), (0, 0, 0, 2)):
            sides = (box.left + left, box.front + front, box.right - right, box.rear - rear)
            outline = Rectangle(
                x_mm=(sides[0] + sides[2]) / 2,
                y_mm=(sides[1] + sides[3]) / 2,
                width_mm=sides[2] - sides[0],
                depth_mm=sides[3] - sides[1],
            )
            tighter = document.model_copy(update={"plate": document.plate.model_copy(update={"outline": outline})})
            assert errors(tighter) - errors(document)


def test_a_side_with_a_port_in_its_edge_stays() -> None:
    found = smallest_outline(made("bonded", ports=[{"id": "P3", "x_mm": 50, "y_mm": 150, "face": "edge"}]))
    assert found.box.left == 50
    assert found.box.right < 350


def test_empty_corners_are_cut_away_and_every_rule_is_kept() -> None:
    """Two channels along the left and the front side: the right rear is empty, and the outline becomes an L."""
    ports = [{"id": f"P{k}", "x_mm": x, "y_mm": y} for k, (x, y) in enumerate([(90, 230), (90, 80), (320, 80)], 1)]
    channels = [channel("C1", start="P1", end="P2"), channel("C2", start="P2", end="P3")]
    document = plate(plate=BODY, ports=ports, channels=channels, seal={"kind": "bonded"})
    straight = smallest_outline(document)
    found = smallest_outline(document, shape="notched")
    assert found.why == ""
    assert found.notches == 1
    assert errors(found.document) <= errors(document)
    area = float(build(found.document).plate_polygon.area)
    # By hand: of 230 by 150 mm of content the corner of about 210 by 130 is empty.
    assert area < 0.45 * straight.area_mm2
    # A second way: a plate whose notch is two millimetres larger breaks a rule.
    corners = found.document.plate.outline.vertices  # type: ignore[union-attr]
    inner = next(
        k
        for k, v in enumerate(corners)
        if found.box.left < v.x_mm < found.box.right and found.box.front < v.y_mm < found.box.rear
    )
    moved = [
        v.model_copy(
            update={"x_mm": v.x_mm - 3 * (k in (inner, inner + 1)), "y_mm": v.y_mm - 3 * (k in (inner, inner - 1))}
        )
        for k, v in enumerate(corners)
    ]
    outline = found.document.plate.outline.model_copy(update={"vertices": tuple(moved)})
    tighter = found.document.model_copy(update={"plate": found.document.plate.model_copy(update={"outline": outline})})
    assert errors(tighter) - errors(document)


def test_a_plate_on_a_floor_like_an_l_lies_within_it_by_the_clearance() -> None:
    """The floor's right rear quarter is missing; the content's rectangle would reach into it."""
    corners = [(0, 0), (400, 0), (400, 130), (220, 130), (220, 300), (0, 300)]
    floor = {"outline": {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in corners]}}
    ports = [{"id": f"P{k}", "x_mm": x, "y_mm": y} for k, (x, y) in enumerate([(90, 230), (90, 80), (340, 80)], 1)]
    channels = [channel("C1", start="P1", end="P2"), channel("C2", start="P2", end="P3")]
    whole = {**BODY, "outline": {"shape": "polygon", "vertices": floor["outline"]["vertices"]}}
    document = plate(floor=floor, plate=whole, ports=ports, channels=channels, seal={"kind": "bonded"})
    assert "No smaller rectangle" in smallest_outline(document).why
    found = smallest_outline(document, shape="notched", clear_mm=4.0)
    assert found.why == ""
    shapes = build(found.document)
    assert shapes.floor_polygon.contains(shapes.plate_polygon)
    assert shapes.plate_polygon.distance(shapes.floor_polygon.boundary) >= 4.0 - 1e-6
    assert errors(found.document) <= errors(document)


def test_an_empty_plate_has_no_smallest_outline() -> None:
    document = plate(plate=BODY)
    found = smallest_outline(document)
    assert found.document is document
    assert "Nothing is cut" in found.why


def test_a_cutout_that_crosses_itself_is_held_in_like_any_other() -> None:
    """Found by requests at random: an arc, and a corner far below it, make an outline that crosses itself."""
    corners = [(190, 110), (220, 110, 0.4), (220, 125), (190, 125), (220, 60)]
    vertices = [dict(zip(("x_mm", "y_mm", "bulge"), corner, strict=False)) for corner in corners]
    document = made("bonded", cutouts=[{"id": "K1", "outline": {"shape": "polygon", "vertices": vertices}}])
    found = smallest_outline(document)
    assert found.why or found.box.front <= 60
