"""Draws the ten hard plates with what is proposed for them, and the table of ``docs/proposing.md``.

``python docs/make_proposals.py`` writes ``docs/proposing/*.svg`` and prints the table. It takes some minutes.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from sketcher.checks import run
from sketcher.document import Document
from sketcher.geometry import build
from sketcher.geometry.shapes import Shapes
from sketcher.proposing.search import propose
from sketcher.proposing.wishes import Wishes
from tests.proposing.hard import CASES

FOLDER = Path(__file__).parent / "proposing"
SECONDS = 60.0


def polygon(area: Any, style: str) -> str:
    """A path of a polygon's rings."""
    parts = area.geoms if hasattr(area, "geoms") else [area]
    rings = [ring.coords for part in parts for ring in (part.exterior, *part.interiors)]
    d = " ".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring) + "Z" for ring in rings)
    return f'<path d="{d}" style="{style}"/>'


def picture(document: Document, shapes: Shapes, title: str) -> str:
    """The plate from above: what is closed in grey, channels in blue, ports with their names."""
    left, front, right, rear = shapes.plate_polygon.bounds
    width, depth = right - left + 44, rear - front + 44
    inner = [polygon(shapes.plate_polygon, "fill:#f6f4ee;stroke:#333;stroke-width:1.2")]
    for group in (shapes.cutouts, shapes.pockets, shapes.keep_outs):
        inner += [polygon(area.polygon, "fill:#c9c5ba;stroke:#777;stroke-width:.8") for area in group.values()]
    inner += [
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{diameter / 2:.1f}" style="fill:#fff;stroke:#777"/>'
        for x, y, diameter in ((h.item.x_mm, h.item.y_mm, h.diameter) for h in shapes.holes.values())
    ]
    inner += [polygon(c.polygon, "fill:#7fb2d9;stroke:#1f5f95;stroke-width:.8") for c in shapes.channels.values()]
    names = []
    for id_, port in shapes.ports.items():
        x, y = port.at
        if port.item.face == "edge":  # its bore, from the edge to where the channel begins
            ends = f'x1="{x:.1f}" y1="{y:.1f}" x2="{port.root[0]:.1f}" y2="{port.root[1]:.1f}"'
            inner.append(f'<line {ends} style="stroke:#7fb2d9;stroke-width:8;stroke-linecap:round"/>')
        inner.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" style="fill:#fff;stroke:#1f5f95;stroke-width:1.5"/>')
        names.append(f'<text x="{x + 8:.1f}" y="{-(y + 7):.1f}" style="font:9px sans-serif;fill:#222">{id_}</text>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left - 22:.0f} {-(rear + 22):.0f} {width:.0f} {depth:.0f}" '
        f'width="{1.2 * width:.0f}" height="{1.2 * depth:.0f}" role="img"><title>{title}</title>'
        f'<g transform="scale(1 -1)">{"".join(inner)}</g>{"".join(names)}</svg>\n'
    )


def main(names: list[str]) -> None:
    """Proposes, draws and prints a row for each."""
    FOLDER.mkdir(exist_ok=True)
    for name in names or list(CASES):
        document = CASES[name]()
        begun = time.process_time()
        found = propose(document, Wishes(width_mm=8.0, depth_mm=8.0, seconds=SECONDS))
        took = time.process_time() - begun
        best = found.best
        if best is None:
            print(f"| {name} | nothing found |", flush=True)
            continue
        shapes, figures = build(best.document), best.judged.numbers
        errors = sum(one.open_error for one in run(best.document, shapes))
        words = (CASES[name].__doc__ or "").rstrip(".")
        FOLDER.joinpath(f"{name}.svg").write_text(picture(best.document, shapes, words), encoding="utf-8")
        print(
            f"| {name} | {words} | {errors} | {figures.length_mm:.0f} | {figures.bends} | {figures.loss_kpa:.2f} | "
            f"{figures.straight_loss_kpa:.2f} | {took:.0f} |",
            flush=True,
        )


if __name__ == "__main__":
    main(sys.argv[1:])
