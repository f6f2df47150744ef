"""A drawing comes back from the shop: changed here with ezdxf or as text, as another program would."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing

from sketcher.document import read
from sketcher.export import ExportError, ReadBack, export_sheet, read_back
from sketcher.geometry import build
from tests.export.test_final import machined
from tests.export.test_test_piece import EXAMPLES


def returned(change: Callable[[Drawing], None], sheet: str = "final") -> ReadBack:
    document = machined()
    shapes = build(document)
    drawing = ezdxf.read(io.StringIO(export_sheet(document, shapes, sheet, "dxf").decode()))
    change(drawing)
    stream = io.StringIO()
    drawing.write(stream)
    return read_back(document, shapes, stream.getvalue().encode(), "dxf")


def bore(drawing: Drawing):
    return next(e for e in drawing.modelspace() if "BORE_D8.8" in e.dxf.layer)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("kind", ["dxf", "svg"])
@pytest.mark.parametrize("sheet", ["final", "test-piece"])
def test_our_own_drawing_comes_back_the_same(path: Path, kind: str, sheet: str) -> None:
    document = read(path)
    shapes = build(document)
    answer = read_back(document, shapes, export_sheet(document, shapes, sheet, kind), kind)  # type: ignore[arg-type]
    assert answer.sheet == sheet
    assert answer.rows
    assert {row.what for row in answer.rows} == {"same"}
    assert answer.shift == (0.0, 0.0)


def test_saved_again_by_another_program_it_is_the_same() -> None:
    answer = returned(lambda drawing: None)
    assert {row.what for row in answer.rows} == {"same"}


def test_a_moved_port_is_named_with_its_move() -> None:
    answer = returned(lambda drawing: bore(drawing).translate(0.5, -0.02, 0))
    (row,) = answer.of("moved")
    assert (row.item, row.layer) == ("P2", "BODY_BORE_D8.8_FROM_ABOVE_DEEP_12")
    assert row.shift == pytest.approx((0.5, -0.02), abs=1e-6)
    assert len(answer.of("same")) == len(answer.rows) - 1


@pytest.mark.parametrize(("by", "what"), [(0.009, "same"), (0.012, "moved")])
def test_a_hundredth_is_the_limit(by: float, what: str) -> None:
    answer = returned(lambda drawing: bore(drawing).translate(by, 0, 0))
    assert {row.what for row in answer.rows if row.item == "P2" and "BORE" in row.layer} == {what}


def test_resized_missing_and_added() -> None:
    def change(drawing: Drawing) -> None:
        bore(drawing).dxf.radius = 4.5
        space = drawing.modelspace()
        space.delete_entity(next(e for e in space if "TAP" in e.dxf.layer))
        space.add_circle((77, 88), 2.0)
        space.add_lwpolyline([(200, 200), (230, 200), (230, 220), (200, 220)], close=True)

    answer = returned(change)
    (resized,) = answer.of("resized")
    assert (resized.item, resized.size, resized.size_now) == ("P2", pytest.approx(8.8), pytest.approx(9.0))
    assert [row.item for row in answer.of("missing")] == ["S1"]
    assert sorted(row.at for row in answer.of("added")) == [
        pytest.approx((77, 88), abs=1e-6), pytest.approx((215, 210), abs=1e-6)
    ]  # fmt: skip
    assert answer.as_json()["counts"]["added"] == 2


def test_a_drawing_that_sits_elsewhere_is_compared_all_the_same() -> None:
    def change(drawing: Drawing) -> None:
        for entity in drawing.modelspace():
            entity.translate(-50, 12.5, 0)
        bore(drawing).translate(1, 0, 0)

    answer = returned(change)
    assert answer.shift == pytest.approx((-50, 12.5), abs=1e-6)
    assert any("sits -50.000 mm right and 12.500 mm rear" in message for message in answer.messages)
    assert [row.item for row in answer.of("moved")] == ["P2"]
    assert not answer.of("added")


def test_a_drawing_in_inches_is_read_in_inches() -> None:
    def change(drawing: Drawing) -> None:
        for entity in drawing.modelspace():
            entity.scale_uniform(1 / 25.4)
        drawing.header["$INSUNITS"] = 1

    answer = returned(change)
    assert answer.unit == "in"
    assert {row.what for row in answer.rows} == {"same"}


def test_a_mirrored_drawing_is_said_to_lie_elsewhere() -> None:
    def change(drawing: Drawing) -> None:
        for entity in drawing.modelspace():
            entity.scale(-1, 1, 1)
            entity.translate(900, 137, 0)

    answer = returned(change, "test-piece")
    assert len(answer.of("same")) < len(answer.rows) / 2


def test_what_is_no_drawing_is_refused() -> None:
    document = machined()
    shapes = build(document)
    for data, kind in ((b"", "dxf"), (b"hello", "dxf"), (b"<svg", "svg"), (b"<html/>", "svg")):
        with pytest.raises(ExportError):
            read_back(document, shapes, data, kind)  # type: ignore[arg-type]
    with pytest.raises(ExportError, match="larger than"):
        read_back(document, shapes, b"0" * 20_000_001, "dxf")
