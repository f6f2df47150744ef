"""The smallest outline: against the walls that the rules ask for by themselves, and against one millimetre less."""

import pytest

from sketcher.checks import run
from sketcher.document import Document
from sketcher.document.outlines import Rectangle
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


def test_an_empty_plate_has_no_smallest_outline() -> None:
    document = plate(plate=BODY)
    found = smallest_outline(document)
    assert found.document is document
    assert "Nothing is cut" in found.why
