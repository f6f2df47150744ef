"""A floor from a drawing: the outline, and what lies in it, from DXF or SVG.

The largest closed outline becomes the floor; what lies within it, as openings or obstacles, is for the user to say. The
floor's front left corner goes to the origin, as the document has it.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from sketcher.document import Document, with_changes
from sketcher.document.base import FARTHEST_MM
from sketcher.document.bounded_reading import TooLarge, read_bounded
from sketcher.document.floor import Floor, Obstacle, Opening
from sketcher.document.kinds import new_ids
from sketcher.document.outlines import Outline
from sketcher.importing import svg_reader as drawing_svg
from sketcher.importing.outline_joining import DrawingError, Loop, box, closed_loops, within
from sketcher.importing.progress import Progress, unheard
from sketcher.importing.units import Drawing, UnitUnknown

LARGEST_BYTES = 20_000_000
#: A floor is larger than a card and smaller than a room, mm; outside this the unit is doubtful.
USUAL_MM = (40.0, 3_000.0)
#: More outlines beside the floor's own help nobody; the largest are kept.
MOST_OUTLINES = 2_000

__all__ = ["DrawingError", "ImportedFloor", "UnitUnknown", "read", "use"]


@dataclass(frozen=True)
class ImportedFloor:
    """What a drawing holds, mm, the floor's front left corner at the origin. ``inner`` lie within the floor, the
    largest first; ``outer`` do not (title frames, other views). ``unit`` is the unit the drawing was read in.
    """

    outline: Outline
    inner: tuple[Outline, ...]
    outer: tuple[Outline, ...]
    unit: str
    messages: tuple[str, ...]


def read(path: Path, unit: str | None = None) -> ImportedFloor:
    """The floor in a DXF or SVG file.

    Args:
        unit: ``mm``, ``cm``, ``m`` or ``in``, where the file does not say; it then outranks the file's own.

    Raises:
        UnitUnknown: the file does not say its unit, and none is given.
        DrawingError: no drawing, nothing closed, scripts, too large; the message names the fix.
        OSError: the file cannot be read.
    """
    try:
        data = read_bounded(path, LARGEST_BYTES)
    except TooLarge:
        raise DrawingError(
            f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; take out what is not the floor"
        ) from None
    suffix = path.suffix.lower()
    if suffix not in (".dxf", ".svg"):
        raise DrawingError(f"{path.name}: a floor comes from a .dxf or an .svg file")
    return from_bytes(data, "dxf" if suffix == ".dxf" else "svg", unit)


def from_bytes(
    data: bytes, kind: Literal["dxf", "svg"], unit: str | None = None, progress: Progress = unheard
) -> ImportedFloor:
    """The floor in a file's bytes; errors as :func:`read`. ``progress`` hears shares from 0 to 1."""
    if len(data) > LARGEST_BYTES:
        raise DrawingError(f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; take out what is not the floor")
    from sketcher.importing import dxf_reader as drawing_dxf  # ezdxf takes long to import

    reader = drawing_dxf.pieces if kind == "dxf" else drawing_svg.pieces
    try:
        drawing = reader(data, unit, lambda share: progress(0.6 * share))
        loops = closed_loops(drawing.pieces, drawing.circles)
        progress(0.8)
        return _floor(drawing, loops)
    except (ArithmeticError, RecursionError):
        raise DrawingError("the drawing has places that are no numbers or far too large; save it again") from None


def _floor(drawing: Drawing, loops: list[Loop]) -> ImportedFloor:
    floor = loops[0]
    left, front, right, rear = box(floor)
    size = max(right - left, rear - front)
    if size > 4_900.0:
        raise DrawingError(
            f"the outline is {size:.0f} mm large, no case floor is; the unit is probably not {drawing.unit}, say which"
        )
    messages = list(drawing.messages)
    if not USUAL_MM[0] <= size <= USUAL_MM[1]:
        messages.append(f"The outline is {size:.1f} mm large: check that the drawing's unit is {drawing.unit}.")
    shift = (-left, -front)
    others = [loop for loop in loops[1:] if _near(loop, shift)]
    if len(others) < len(loops) - 1:
        messages.append(
            f"Left out: {len(loops) - 1 - len(others)} outlines more than {FARTHEST_MM / 1000:g} m from the floor."
        )
    if len(others) > MOST_OUTLINES:
        messages.append(f"Left out: the smallest {len(others) - MOST_OUTLINES} of {len(others)} outlines.")
        others = others[:MOST_OUTLINES]
    inner = within(others, floor)
    return ImportedFloor(
        outline=floor.outline(shift),
        inner=tuple(loop.outline(shift) for loop, lies in zip(others, inner, strict=True) if lies),
        outer=tuple(loop.outline(shift) for loop, lies in zip(others, inner, strict=True) if not lies),
        unit=drawing.unit,
        messages=tuple(messages),
    )


def _near(loop: Loop, shift: tuple[float, float]) -> bool:
    """Whether a document can hold the loop, moved."""
    left, front, right, rear = box(loop)
    reach = (left + shift[0], front + shift[1], right + shift[0], rear + shift[1])
    return max(abs(value) for value in reach) <= FARTHEST_MM


def use(
    document: Document,
    imported: ImportedFloor,
    inner: Literal["nothing", "openings", "obstacles"] = "openings",
    height_mm: float = 10.0,
) -> Document:
    """The document with an imported floor; inner outlines are added to what the floor has, with new ids."""
    openings, obstacles = list(document.floor.openings), list(document.floor.obstacles)
    if inner != "nothing":
        names = new_ids(document, "opening" if inner == "openings" else "obstacle")
        for outline, name in zip(imported.inner, names, strict=False):
            if inner == "openings":
                openings.append(Opening(id=name, outline=outline))
            else:
                obstacles.append(Obstacle(id=name, outline=outline, height_mm=height_mm))
    floor = Floor(**{**dict(document.floor), "outline": imported.outline, "openings": openings, "obstacles": obstacles})
    return with_changes(document, floor=floor)
