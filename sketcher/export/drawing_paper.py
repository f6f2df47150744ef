"""The sheet of a shop drawing: its size, margins, frame, zones for grid references, and the title block.

A3 by ISO 5457: 420 by 297 mm, the frame 20 mm from the left edge for filing and 10 from the others, zones of 50 mm
counted from the middle, letters from the top without I and O, numbers from the left, centring marks. B by ASME Y14.1:
17 by 11 inches (its margins from memory); zones by the same rule. Title block by ISO 7200, 180 mm wide.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from sketcher.export import drawing_page as page
from sketcher.geometry.path import Point

ZONE_MM, BORDER_MM = 50.0, 5.0
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
BLOCK_MM = (180.0, 36.0)


@dataclass(frozen=True)
class Paper:
    """A sheet across, mm; ``left`` is its filing margin, ``margin`` the other three."""

    name: str
    width: float
    height: float
    left: float
    margin: float

    @property
    def frame(self) -> tuple[float, float, float, float]:
        """Left, foot, right and top of the frame, mm from the sheet's foot left corner."""
        return self.left, self.margin, self.width - self.margin, self.height - self.margin

    @property
    def room(self) -> tuple[float, float]:
        """Width and height within the frame, mm."""
        left, foot, right, top = self.frame
        return right - left, top - foot

    def zones(self, length: float, low: float, high: float) -> list[float]:
        """Where zones end along a side, from one side of the frame to the other, mm: whole ones from the middle."""
        half = max(round(length / ZONE_MM / 2), 1)
        inner = [length / 2 + n * ZONE_MM for n in range(-half + 1, half)]
        return [low, *(place for place in inner if low + 5 < place < high - 5), high]


A3 = Paper("A3", 420.0, 297.0, 20.0, 10.0)
PAPERS = {"A3": A3, "B": Paper("B", 431.8, 279.4, 20.0, 10.0)}


@dataclass(frozen=True)
class Title:
    """What the title block says; ``rows`` are pairs of a word and its value."""

    name: str
    rows: tuple[tuple[str, str], ...]
    projection: str = "first-angle"


def draw_sheet(
    canvas: Canvas, paper: Paper, title: Title, number: int, count: int, heading: str, scale: float | None
) -> None:
    """Frame, zones and title block of one page."""
    canvas.setPageSize((paper.width * mm, paper.height * mm))
    canvas.setStrokeColor(page.INK)
    left, foot, right, top = paper.frame
    canvas.setLineWidth(0.7 * mm)
    canvas.rect(left * mm, foot * mm, (right - left) * mm, (top - foot) * mm)
    _zones(canvas, paper)
    _block(canvas, paper, title, number, count, heading, scale)


def _zones(canvas: Canvas, paper: Paper) -> None:
    left, foot, right, top = paper.frame
    canvas.setLineWidth(0.35 * mm)
    canvas.rect((left - BORDER_MM) * mm, (foot - BORDER_MM) * mm, (right - left + 2 * BORDER_MM) * mm,
                (top - foot + 2 * BORDER_MM) * mm)  # fmt: skip
    across, up = paper.zones(paper.width, left, right), paper.zones(paper.height, foot, top)
    for x in across[1:-1]:
        for y in (foot - BORDER_MM, top):
            canvas.line(x * mm, y * mm, x * mm, (y + BORDER_MM) * mm)
    for y in up[1:-1]:
        for x in (left - BORDER_MM, right):
            canvas.line(x * mm, y * mm, (x + BORDER_MM) * mm, y * mm)
    for words, at in zone_names(paper):
        page.text(canvas, (at[0], at[1] - 0.9), words, page.SMALLEST, centred=True)
    canvas.setLineWidth(0.7 * mm)
    for x, y, dx, dy in ((paper.width / 2, foot - BORDER_MM, 0, BORDER_MM + 5), (paper.width / 2, top - 5, 0,
                          BORDER_MM + 5), (left - BORDER_MM, paper.height / 2, BORDER_MM + 5, 0),
                         (right - 5, paper.height / 2, BORDER_MM + 5, 0)):  # fmt: skip
        canvas.line(x * mm, y * mm, (x + dx) * mm, (y + dy) * mm)


def zone_names(paper: Paper) -> Iterator[tuple[str, Point]]:
    """The zones' names and the middles of the places where they stand, mm: each on both sides of the sheet."""
    left, foot, right, top = paper.frame
    across, up = paper.zones(paper.width, left, right), paper.zones(paper.height, foot, top)
    for n, (a, b) in enumerate(pairwise(across), start=1):
        for y in (foot - BORDER_MM / 2, top + BORDER_MM / 2):
            yield str(n), ((a + b) / 2, y)
    for n, (b, a) in enumerate(pairwise(up[::-1])):
        for x in (left - BORDER_MM / 2, right + BORDER_MM / 2):
            yield LETTERS[n], (x, (a + b) / 2)


def _block(
    canvas: Canvas, paper: Paper, title: Title, number: int, count: int, heading: str, scale: float | None
) -> None:
    wide, high = BLOCK_MM
    _, foot, right, _ = paper.frame
    left = right - wide
    canvas.setLineWidth(0.35 * mm)
    canvas.rect(left * mm, foot * mm, wide * mm, high * mm)
    page.fitted_text(canvas, (left + 2, foot + high - 6), title.name, 11, wide - 26, bold=True)
    page.fitted_text(canvas, (left + 2, foot + high - 10.5), heading, 8, wide - 26)
    rows = [*title.rows, ("Scale", page.scale_words(scale) if scale else "—"), ("Sheet", f"{number} of {count}")]
    for n, (word, value) in enumerate(rows):
        column, row = n % 3, n // 3
        place = (left + 2 + column * wide / 3, foot + high - 14.5 - row * 4.0)
        page.text(canvas, place, f"{word}:", page.SMALLEST, grey=True)
        page.fitted_text(canvas, (place[0] + 18, place[1]), value, page.SMALLEST, wide / 3 - 20)
    projection_symbol(canvas, (right - 18, foot + high - 5.5), third=title.projection == "third-angle")


def projection_symbol(canvas: Canvas, at: Point, *, third: bool) -> None:
    """ISO 5456-2: a truncated cone seen from the side, and its two circles: first-angle to the right of its wide end,
    third-angle to the left of its narrow one."""
    x, y = at
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.25 * mm)
    cone, circles = (x + 6.0, x + 3.0) if third else (x, x + 11.0)
    corners = ((cone, y - 1.25), (cone, y + 1.25), (cone + 6, y + 2.5), (cone + 6, y - 2.5), (cone, y - 1.25))
    for a, b in pairwise(corners):
        canvas.line(a[0] * mm, a[1] * mm, b[0] * mm, b[1] * mm)
    for radius in (1.25, 2.5):
        canvas.circle(circles * mm, y * mm, radius * mm, stroke=1, fill=0)
    canvas.setLineWidth(0.1 * mm)
    canvas.setDash([2, 1])
    canvas.line((x - 1) * mm, y * mm, (x + 14.5) * mm, y * mm)
    canvas.line(circles * mm, (y - 3.3) * mm, circles * mm, (y + 3.3) * mm)
    canvas.setDash([])
