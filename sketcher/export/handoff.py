"""The hand-off: one zip with all that the shop needs, the same bytes for the same plate."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Sequence

from sketcher.checks import Finding
from sketcher.document import Document, dumps
from sketcher.export.hole_table import holes_csv
from sketcher.export.registry import cautions_of
from sketcher.export.sheet import ExportError
from sketcher.export.sheets import export_sheet
from sketcher.export.shop_drawing import shop_drawing_pdf
from sketcher.export.tables import parts, parts_csv
from sketcher.geometry import Shapes
from sketcher.strength.pressure_test import pressure_test

#: The moment that every file in the zip carries: zip has no "none", and 1980 is where its clock begins.
_MOMENT = (1980, 1, 1, 0, 0, 0)


def handoff_files(
    document: Document,
    shapes: Shapes,
    findings: Sequence[Finding],
    *,
    label: str = "",
    dated: str = "",
    reason: str = "",
    volume_l: float | None = None,
) -> dict[str, bytes]:
    """The files of the hand-off by name.

    Args:
        document: the plate.
        shapes: its shapes.
        findings: every finding; an open error stands in the way.
        label: the revision's.
        dated: the revision's day.
        reason: why the revision was kept.
        volume_l: coolant in the whole loop, litres, when it is known.

    Raises:
        ExportError: an error is open, or a sheet cannot be made.
    """
    stop = [finding for finding in findings if finding.open_error]
    if stop:
        names = ", ".join(sorted({f"{f.rule} ({', '.join(f.items)})" if f.items else f.rule for f in stop}))
        raise ExportError(f"{len(stop)} error(s) are open: {names}; fix them, or accept each with a reason")
    files = {
        f"{sheet}.{suffix}": export_sheet(document, shapes, sheet, suffix, label=label)
        for sheet in ("final", "floor-cut")
        for suffix in ("dxf", "pdf")
    }
    files["drawing.pdf"] = shop_drawing_pdf(document, shapes, revision=label, dated=dated, reason=reason)
    files["holes.csv"] = holes_csv(document, shapes).encode()
    files["parts.csv"] = parts_csv(parts(document, shapes, volume_l)).encode()
    files["plate.json"] = dumps(document).encode()
    files["findings.txt"] = _findings(findings).encode()
    files["README.txt"] = _readme(document, shapes, label, dated, reason).encode()
    files["SHA256SUMS.txt"] = "".join(f"{digest}  {name}\n" for name, digest in fingerprints(files).items()).encode()
    return files


def fingerprints(files: dict[str, bytes]) -> dict[str, str]:
    """SHA-256 of each file, by name."""
    return {name: hashlib.sha256(content).hexdigest() for name, content in sorted(files.items())}


def packed(files: dict[str, bytes]) -> bytes:
    """Files as a zip without times of its own. They are stored as they are: packers differ, and so would the bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(files):
            info = zipfile.ZipInfo(name, _MOMENT)
            info.compress_type = zipfile.ZIP_STORED
            info.create_system = 3  # the same on every system
            info.external_attr = 0o644 << 16
            archive.writestr(info, files[name])
    return stream.getvalue()


def _findings(findings: Sequence[Finding]) -> str:
    if not findings:
        return "The checks found nothing.\n"
    lines = []
    for finding in findings:
        at = f" at {finding.at[0]:.1f}, {finding.at[1]:.1f}" if finding.at else ""
        lines.append(f"{finding.level}: {finding.rule}{at}: {finding.message}")
        lines.append(f"    accepted: {finding.accepted}" if finding.accepted else f"    open. {finding.remedy}")
    return "\n".join(lines) + "\n"


def _readme(document: Document, shapes: Shapes, label: str, dated: str, reason: str) -> str:
    plate = document.plate
    left, front, right, rear = shapes.plate_polygon.bounds
    mind = "\n".join(f"- {caution.title}: {caution.text} {caution.defer}" for caution in cautions_of("final"))
    which = ", ".join(word for word in (f"revision {label}" if label else "", dated, reason) if word)
    return f"""{document.name or "Coolant distribution plate"}
{which}

A milled body of {plate.material}, {plate.body_thickness_mm:g} mm,
closed by a lid of {plate.lid_thickness_mm:g} mm on its {plate.lid_face}.
It measures {right - left:.1f} x {rear - front:.1f} mm over all. All lengths are millimetres.

final.dxf      every operation on a layer of its own, named by part, operation, size, side, depth; all from above
final.pdf      the same on one page at true size
drawing.pdf    plan, sections, hole table, sizes, tolerances, notes, cautions
floor-cut.*    for the builder: what is cut and drilled in the case floor, at true size
holes.csv      every hole of body and lid from datum A, the front left corner of the box around the plate
parts.csv      fittings, plugs, cord, screws, tubes, coolant
findings.txt   what the checks found, with the reasons for what stands
plate.json     the plate itself
SHA256SUMS.txt fingerprints of the files above

Where the drawing and the DXF differ, ask.
Tolerance {document.shop.tolerance_mm:g} mm unless the drawing says otherwise.

{pressure_test(document).text()}

Safety:
{mind}
"""
