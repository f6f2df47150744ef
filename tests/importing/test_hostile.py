"""Drawings and tables that are made to hurt: what is written to take long takes as long as its size says, clones and
blocks end, and what cannot be read is refused in our words. The times are held against a drawing of the same size."""

from __future__ import annotations

import contextlib
import io
import math
import random
import time
from collections.abc import Callable

import ezdxf
import pytest
import svgwrite
from ezdxf.document import Drawing as DxfDocument

from sketcher.document.floor import Survey
from sketcher.importing import dxf_reader, floor_import, svg_tree
from sketcher.importing.floor_import import DrawingError, from_bytes
from sketcher.importing.readings_table import ReadingsError, read_table
from sketcher.trial.readings_csv import ReadingsError as FitError
from sketcher.trial.readings_csv import read_text
from tests.conftest import a_seed

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="300mm" height="200mm" '
    'viewBox="0 0 300 200">'
)
SQUARE = '<rect x="10" y="10" width="280" height="180"/>'


def svg(body: str) -> bytes:
    return f"{HEAD}{body}</svg>".encode()


def seconds(work: Callable[[], object]) -> float:
    begun = time.process_time()
    with contextlib.suppress(DrawingError, ReadingsError, FitError):
        work()
    return time.process_time() - begun


N = 12_000
#: Each once took time that grew with the square of its length, or would in a careless reader.
SLOW = {
    "digits and a letter": f'<rect x="1" y="1" width="{"1" * N}x" height="5"/>',
    "digits in a viewBox": f'<svg viewBox="{"1" * N}x"/>',
    "open brackets of a transform": f'<g transform="{"matrix(" * (N // 7)}"/>',
    "spaces in a transform": f'<g transform="scale{" " * N}x"/>',
    "spaces behind a number": f'<rect x="1{" " * N}x" y="1" width="5" height="5"/>',
    "digits and dots of a path": f'<path d="M0 0L{"1." * (N // 2)}?"/>',
    "flags of an arc": f'<path d="M0 0A1 1 0 {" ," * (N // 2)}x"/>',
    "points": f'<polyline points="{"1" * N}e"/>',
    "a style": f'<rect style="{"display " * (N // 8)}" x="1" y="1" width="5" height="5"/>',
}


@pytest.mark.parametrize("body", SLOW.values(), ids=SLOW.keys())
def test_reading_takes_as_long_as_the_text_is(body: str) -> None:
    """Eight times the text takes eight times as long, not sixty-four; a whole second would be a thousand times that."""
    assert seconds(lambda: from_bytes(svg(body), "svg")) < 1.0


HUGE = {
    "curves": f'<path d="M0 0{"C9 9 0 9 5 5" * 9000}"/>',
    "commands": f'<path d="M0 0{"h1v1" * 200_000}"/>',
    "points on one place": f'<path d="M0 0{"h9h-9v9v-9" * 2000}"/>',
    "a star": "".join(f'<path d="M50 50L{k % 300} {k / 300}"/>' for k in range(9000)),
    "loose squares": "".join(f'<rect x="{k % 150 * 2}" y="{k // 150 * 2}" width="1" height="1"/>' for k in range(3000)),
    "one long zigzag": '<path d="M0 0' + "".join(f"L{k % 290} {k / 300}" for k in range(9000)) + '"/>',
    "clones of clones": "<defs><path id='c0' d='M0 0h1v1z'/>"
    + "".join(f"<g id='c{k}'>" + f"<use href='#c{k - 1}'/>" * 10 + "</g>" for k in range(1, 12))
    + "</defs><use href='#c11'/>",
}


@pytest.mark.parametrize("body", HUGE.values(), ids=HUGE.keys())
def test_what_is_no_floor_by_its_size_is_refused_or_read_within_seconds(
    body: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(svg_tree, "MOST_ELEMENTS", 20_000)
    assert seconds(lambda: from_bytes(svg(body), "svg")) < 10.0


def boxes(body: str) -> list[tuple[float, ...]]:
    """Outlines found: their extents in whole hundredths, sorted."""
    found = from_bytes(svg(SQUARE + body), "svg")
    rows = []
    for outline in (*found.inner, *found.outer):
        xs, ys = zip(*((v.x_mm, v.y_mm) for v in outline.vertices), strict=True)
        rows.append(tuple(round(value, 2) + 0.0 for value in (min(xs), min(ys), max(xs), max(ys))))
    return sorted(rows)


def test_clones_come_in_where_they_stand() -> None:
    """The same drawing with each clone written out (SVG 1.1, section 5.6: ``x`` and ``y`` are a translation)."""
    cloned = (
        '<defs><rect id="slot" width="10" height="4"/><symbol id="s" viewBox="0 0 10 10">'
        '<rect width="10" height="10"/></symbol></defs>'
        '<use href="#slot" x="30" y="40"/><g transform="translate(100 50)"><use xlink:href="#slot" '
        'transform="scale(2)"/></g><use href="#s" x="200" y="100" width="20" height="20"/><use href="#nowhere"/>'
    )
    written = (
        '<rect x="30" y="40" width="10" height="4"/><rect x="100" y="50" width="20" height="8"/>'
        '<rect x="200" y="100" width="20" height="20"/>'
    )
    assert boxes(cloned) == boxes(written)
    assert "Left out: 1 <use>." in from_bytes(svg(SQUARE + cloned), "svg").messages


def test_drawings_within_a_drawing_are_scaled_into_their_frames() -> None:
    """preserveAspectRatio (SVG 1.1, section 7.8): meet scales by the smaller ratio and centres, none stretches."""
    nested = (
        '<svg x="50" y="20" width="40" height="20" viewBox="0 0 10 10"><rect width="10" height="10"/></svg>'
        '<svg x="150" y="20" width="40" height="20" viewBox="0 0 10 10" preserveAspectRatio="none">'
        '<rect width="10" height="10"/></svg><svg x="20" y="100"><rect x="5" y="5" width="10" height="10"/></svg>'
        '<svg x="50%" y="50%" width="10%" height="10%" viewBox="0 0 30 20"><rect width="30" height="20"/></svg>'
    )
    written = (
        '<rect x="60" y="20" width="20" height="20"/><rect x="150" y="20" width="40" height="20"/>'
        '<rect x="25" y="105" width="10" height="10"/><rect x="150" y="100" width="30" height="20"/>'
    )
    assert boxes(nested) == boxes(written)


def test_a_drawing_by_svgwrite_with_symbols_and_clones_is_read() -> None:
    drawing = svgwrite.Drawing(size=("300mm", "200mm"), viewBox="0 0 300 200")
    hole = drawing.defs.add(drawing.g(id="hole"))
    hole.add(drawing.circle((0, 0), 3))
    drawing.add(drawing.rect((10, 10), (280, 180)))
    for x, y in ((20, 20), (280, 20), (280, 180), (20, 180)):
        drawing.add(drawing.use(hole, insert=(x, y)))
    found = from_bytes(drawing.tostring().encode(), "svg")
    assert sorted((o.x_mm, o.y_mm, o.diameter_mm) for o in found.inner) == [
        (10, 10, 6), (10, 170, 6), (270, 10, 6), (270, 170, 6),
    ]  # fmt: skip


def dxf(draw: Callable[[DxfDocument], None], binary: bool = False) -> bytes:
    document = ezdxf.new("R2010", units=4)
    document.modelspace().add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    draw(document)
    stream = io.BytesIO() if binary else io.StringIO()
    document.write(stream, fmt="bin" if binary else "asc")
    content = stream.getvalue()
    return content if isinstance(content, bytes) else content.encode()


def test_an_array_of_inserts_comes_in_whole() -> None:
    def draw(document: DxfDocument) -> None:
        document.blocks.new("HOLE").add_circle((0, 0), 2)
        attributes = {"row_count": 3, "column_count": 4, "row_spacing": 20, "column_spacing": 30}
        document.modelspace().add_blockref("HOLE", (50, 40), attributes)

    found = from_bytes(dxf(draw), "dxf")
    assert sorted((o.x_mm, o.y_mm) for o in found.inner) == [
        (50 + 30 * i, 40 + 20 * k) for i in range(4) for k in range(3)
    ]


def test_a_binary_drawing_is_read_as_the_same_drawing_in_text() -> None:
    def draw(document: DxfDocument) -> None:
        document.modelspace().add_circle((100, 100), 15)

    in_text, binary = dxf(draw), dxf(draw, binary=True)
    assert not binary.startswith(in_text[:10])
    assert from_bytes(binary, "dxf") == from_bytes(in_text, "dxf")


def test_a_circle_without_a_radius_and_places_far_away_are_left_out_and_said() -> None:
    def draw(document: DxfDocument) -> None:
        space = document.modelspace()
        for radius in (0, -3, 7):
            space.add_circle((100, 100), radius)
        space.add_circle((90_000, 0), 5)
        space.add_lwpolyline([(0, 9000), (10, 9000), (10, 9010)], close=True)

    found = from_bytes(dxf(draw), "dxf")
    assert [outline.diameter_mm for outline in found.inner] == [14]
    assert found.outer == ()
    assert any("2 CIRCLE without a radius" in words for words in found.messages)
    assert any("2 outlines more than 5 m" in words for words in found.messages)


def test_blocks_within_blocks_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dxf_reader, "MOST_ENTITIES", 3000)

    def draw(document: DxfDocument) -> None:
        document.blocks.new("B0").add_line((0, 0), (1, 1))
        for k in range(1, 7):
            block = document.blocks.new(f"B{k}")
            for _ in range(30):
                block.add_blockref(f"B{k - 1}", (0, 0))
        document.modelspace().add_blockref("B6", (0, 0))

    assert seconds(lambda: from_bytes(dxf(draw), "dxf")) < 30.0
    ring = dxf(lambda document: document.modelspace().add_blockref("R", (0, 0)))
    assert from_bytes(ring, "dxf").inner == ()


def test_tables_that_are_made_to_hurt_are_refused_by_their_line() -> None:
    for text in ("A B " + "1 " * 50_000 + "x", "A B " + "9" * 5000, "A;B;" + "9" * 200_000, 'A,B,"' + "x" * 140_000):
        assert seconds(lambda text=text: read_table(text, Survey())) < 1.0  # type: ignore[misc]
        with pytest.raises(ReadingsError, match="line 1") as caught:
            read_table(text, Survey())
        assert "field limit" not in str(caught.value)
        assert "4300" not in str(caught.value)
    with pytest.raises(FitError) as refused:
        read_text('port,dx_mm,dy_mm\nP1,"' + "x" * 140_000, ["P1"])
    assert "field limit" not in str(refused.value)


# ---------------------------------------------------------------- drawings by other programs' writers, then broken


def generated() -> dict[str, tuple[str, bytes]]:
    """Drawings as general libraries write them: the collection that the import is held against."""

    def gears(document: DxfDocument) -> None:
        space = document.modelspace()
        space.add_ellipse((150, 100), (40, 0), 0.5)
        space.add_spline([(20, 20), (40, 60), (80, 20), (120, 60)])
        space.add_arc((50, 150), 20, 10, 350)
        space.add_text("floor")
        space.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1)])
        space.add_mtext("note")
        space.add_linear_dim(base=(0, -10), p1=(0, 0), p2=(300, 0)).render()
        space.add_lwpolyline([(200, 20, 0, 0, 0.5), (240, 20), (240, 60)], close=True)
        document.blocks.new("DOT").add_circle((0, 0), 1)
        space.add_blockref("DOT", (10, 10), {"xscale": 2, "yscale": 3, "rotation": 30})

    found = {f"ezdxf {version}": ("dxf", _as(version, gears)) for version in ("R12", "R2000", "R2010", "R2018")}
    found["ezdxf binary"] = ("dxf", dxf(gears, binary=True))
    drawing = svgwrite.Drawing(size=("300mm", "200mm"), viewBox="0 0 300 200")
    drawing.add(drawing.rect((10, 10), (280, 180), 5, 5))
    drawing.add(drawing.path("M50 50C80 20 120 80 150 50S200 90 220 60T250 80A20 10 30 0 1 60 90Z"))
    drawing.add(
        drawing.polygon([(k * 7 % 90 + 100, k * 11 % 60 + 100) for k in range(5)], transform="rotate(30 150 100)")
    )
    drawing.add(drawing.ellipse((80, 150), (20, 10)))
    found["svgwrite"] = ("svg", drawing.tostring().encode())
    found["plotted"] = ("svg", _plotted())
    return found


def _as(version: str, draw: Callable[[DxfDocument], None]) -> bytes:
    document = ezdxf.new(version, units=4)
    document.modelspace().add_polyline2d([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    if version == "R12":
        document.header["$INSUNITS"] = 4
        document.modelspace().add_circle((100, 100), 10)
    else:
        draw(document)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def _plotted() -> bytes:
    """As plotting libraries write SVG: clones of markers, nested groups, clip paths (by hand, in their manner)."""
    marks = "".join(f'<use xlink:href="#m1" x="{20 + 8 * k}" y="{100 + 40 * math.sin(k)}"/>' for k in range(30))
    dot = "M 0 3 C 0.8 3 1.6 2.7 2.1 2.1 C 2.7 1.6 3 0.8 3 0 C 3 -0.8 2.7 -1.6 2.1 -2.1 C 1.6 -2.7 0.8 -3 0 -3 z"
    return svg(
        f'{SQUARE}<g id="figure_1"><g id="axes_1"><g id="line2d_1"><defs><path id="m1" d="{dot}"/></defs>'
        f'<g clip-path="url(#p)">{marks}</g></g></g></g>'
        '<defs><clipPath id="p"><rect x="10" y="10" width="99" height="99"/></clipPath></defs>'
    )


def test_every_drawing_of_the_collection_is_read() -> None:
    for name, (kind, data) in generated().items():
        found = from_bytes(data, kind, "mm")  # type: ignore[arg-type]
        xs = [vertex.x_mm for vertex in found.outline.vertices]  # type: ignore[union-attr]
        assert max(xs) - min(xs) == pytest.approx(280 if kind == "svg" else 300, abs=0.01), name
        assert found.inner, name


def broken(data: bytes, rng: random.Random) -> bytes:
    """Bytes cut, doubled, turned over, exchanged for numbers that hurt."""
    rows = bytearray(data)
    for _ in range(rng.randint(1, 6)):
        at, length = rng.randrange(max(len(rows), 1)), rng.randint(1, 60)
        match rng.randrange(5):
            case 0:
                del rows[at : at + length]
            case 1:
                rows[at:at] = rows[at : at + length]
            case 2:
                rows[at : at + 1] = bytes([rng.randrange(256)])
            case 3:
                rows[at : at + 3] = rng.choice([b"1e999", b"-1", b"nan", b"0", b"1e-300", b"99999999999", b"\xff\xfe"])
            case _:
                del rows[at:]
    return bytes(rows)


def try_broken(count: int, seed: int) -> None:
    """Each broken drawing is read or refused in words; anything else is a fault of the program."""
    rng = random.Random(seed)
    whole = list(generated().values())
    for number in range(count):
        kind, data = whole[number % len(whole)]
        hurt = broken(data, rng)
        words = "read without a fault"
        try:
            from_bytes(hurt, kind, "mm")  # type: ignore[arg-type]
        except DrawingError as error:
            words = str(error)
        except Exception as error:
            raise AssertionError(f"seed {seed}, number {number}: {type(error).__name__}: {error}") from error
        assert len(words.split()) > 3
        words.encode()  # what cannot be written as UTF-8 could be neither shown nor sent


def test_a_few_broken_drawings_are_read_or_refused() -> None:
    try_broken(14, a_seed())


def test_a_damaged_drawing_is_spoken_of_in_our_words_alone(caplog: pytest.LogCaptureFixture) -> None:
    """The library's own lines quote the file, bytes that are no text included: neither they nor those are passed on."""
    kind, data = generated()["ezdxf R2010"]
    assert kind == "dxf"
    hurt = data.replace(b"\nSTYLE\n", b"\n\x92\n")
    assert hurt != data
    with contextlib.suppress(DrawingError):
        "".join(from_bytes(hurt, "dxf", "mm").messages).encode()
    assert not caplog.records


@pytest.mark.long
def test_a_thousand_broken_drawings_are_read_or_refused() -> None:
    try_broken(1000, 1)


def test_the_largest_file_is_named() -> None:
    with pytest.raises(DrawingError, match="larger than 20 MB"):
        from_bytes(b" " * (floor_import.LARGEST_BYTES + 1), "svg")
