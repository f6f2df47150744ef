"""``plate.html``: the plate on one page that any browser opens offline and prints; nothing is loaded from elsewhere."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape

from sketcher.checks import Finding
from sketcher.document import Document
from sketcher.drawing.plan import Further, plan
from sketcher.drawing.section import SectionError, pieces, section_svg
from sketcher.export.estimate import Line
from sketcher.export.hole_table import COLUMNS, holes
from sketcher.export.operations import operations
from sketcher.export.registry import cautions_of
from sketcher.export.section_cuts import telling_cut
from sketcher.export.table_files import PartRow
from sketcher.geometry import Shapes
from sketcher.strength.seal import SealDesign

_STYLE = """
body { font: 15px/1.45 system-ui, sans-serif; color: #111; background: #fff; margin: 2em auto; max-width: 72em;
       padding: 0 1em; }
h1 { margin-bottom: 0.2em; } h2 { margin-top: 1.6em; border-bottom: 1px solid #999; }
table { border-collapse: collapse; font-size: 13px; font-variant-numeric: tabular-nums; }
th, td { border-bottom: 1px solid #ccc; padding: 0.15em 0.7em 0.15em 0; text-align: left; vertical-align: top; }
figure { margin: 1em 0; overflow-x: auto; } figure > svg { width: 100%; height: auto; max-height: 90vh; }
.error { color: #a03000; font-weight: 600; } .quiet { color: #555; }
@media print { h2 { break-after: avoid; } tr, figure { break-inside: avoid; } body { margin: 0; max-width: none; } }
"""


def plate_html(
    document: Document,
    shapes: Shapes,
    seal: SealDesign,
    findings: Sequence[Finding],
    parts: Sequence[PartRow],
    estimates: Sequence[Line],
    which: str,
) -> bytes:
    """The page.

    Args:
        document: the plate.
        shapes: its shapes.
        seal: its seal.
        findings: every finding.
        parts: the parts list.
        estimates: time and stock.
        which: revision, day and reason, in a line.
    """
    plate = document.plate
    left, front, right, rear = shapes.plate_polygon.bounds
    name = document.name or "Coolant distribution plate"
    body = [
        f"<h1>{escape(name)}</h1>",
        f"<p>{escape(which)}</p>",
        f"<p>{escape(plate.material)}, body {plate.body_thickness_mm:g} mm, lid {plate.lid_thickness_mm:g} mm on the"
        f" {plate.lid_face}; {right - left:.1f} × {rear - front:.1f} mm. All lengths are millimetres. To read, not to"
        " measure from: what is cut is in the DXF and STEP files.</p>",
        "<h2>Plan, from above</h2>",
        _figure(plan(shapes, Further(findings=[finding.as_json() for finding in findings])).svg()),
        "<h2>Sections</h2>",
        *_sections(document, shapes, seal),
        "<h2>Findings</h2>",
        _findings(findings),
        "<h2>Holes, from the datum</h2>",
        "<p>The datum is the front left corner of the plate's bounding box; x to the right, y to the rear.</p>",
        _table(COLUMNS, (row.cells() for row in holes(document, shapes, seal))),
        "<h2>Channels</h2>",
        _table(("id", "width", "depth", "length"), (
            (id_, f"{c.item.width_mm:g}", f"{c.item.depth_mm:g}", f"{c.length_mm:.1f}")
            for id_, c in shapes.channels.items()
        )),
        "<h2>Parts</h2>",
        _table(("part", "count", "note"), ((row.part, row.count, row.note) for row in parts)),
        "<h2>Time and stock, estimated</h2>",
        _table(("what", "estimate", "how it comes about"), ((line.what, line.value, line.how) for line in estimates)),
        "<h2>Safety</h2>",
        "<ul>",
        *(f"<li><b>{escape(c.title)}.</b> {escape(c.text)} {escape(c.defer)}</li>" for c in cautions_of("final")),
        "</ul>",
    ]  # fmt: skip
    if document.drawing.note:
        body.insert(3, f"<p>{escape(document.drawing.note)}</p>")
    # No script runs here and nothing is fetched, whatever a name or a note may hold.
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    head = (
        f'<meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{policy}">'
        f'<meta name="viewport" content="width=device-width"><title>{escape(name)}</title><style>{_STYLE}</style>'
    )
    return (
        f'<!doctype html>\n<html lang="en"><head>{head}</head>\n<body>\n{chr(10).join(body)}\n</body></html>\n'.encode()
    )


def _figure(svg: str) -> str:
    return f"<figure>{svg}</figure>"


def _sections(document: Document, shapes: Shapes, seal: SealDesign) -> Iterable[str]:
    made = operations(document, shapes, seal)
    left, front, _, _ = shapes.plate_polygon.bounds
    for axis in ("x", "y"):
        cut = telling_cut(shapes, made, axis)
        start, end = cut.line(shapes).coords
        try:
            found = pieces(shapes, (start[0], start[1]), (end[0], end[1]), seal)
        except SectionError:
            continue
        across, origin = ("y", front) if axis == "x" else ("x", left)
        yield f"<p>Along {axis}, at {across} = {cut.at - origin:.1f} from the datum</p>"
        yield _figure(section_svg(found, shapes.thickness, math.dist(start, end)))


def _findings(findings: Sequence[Finding]) -> str:
    if not findings:
        return "<p>The checks found nothing.</p>"
    rows = []
    for finding in findings:
        kind = "error" if finding.level == "error" else "quiet"
        what = f"accepted: {finding.accepted}" if finding.accepted else finding.remedy
        rows.append(
            f'<tr><td class="{kind}">{escape(finding.level)}</td><td>{escape(finding.rule)}</td>'
            f"<td>{escape(finding.message)}</td><td>{escape(what)}</td></tr>"
        )
    return (
        f"<table><tr><th>level</th><th>rule</th><th>finding</th><th>remedy or reason</th></tr>{''.join(rows)}</table>"
    )


def _table(columns: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    head = "".join(f"<th>{escape(column.replace('_mm', '').replace('_', ' '))}</th>" for column in columns)
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><tr>{head}</tr>{body}</table>"
