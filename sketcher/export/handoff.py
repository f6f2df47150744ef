"""The hand-off: one zip for the shop and one for the builder, the same bytes for the same revision."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sketcher.checks import Finding
from sketcher.document import Document, dumps
from sketcher.export import registry, solid
from sketcher.export.assembly import assembly_steps
from sketcher.export.estimate import Line, estimate
from sketcher.export.hole_table import holes_csv
from sketcher.export.plate_page import plate_html
from sketcher.export.setup_sheets import edge_sheets, lid_inner
from sketcher.export.sheet import ExportError
from sketcher.export.sheets import export_sheet, make_sheet, write_sheet
from sketcher.export.shop_drawing import shop_drawing_pdf
from sketcher.export.table_files import parts, parts_csv
from sketcher.geometry import Shapes
from sketcher.strength.pressure_test import pressure_test
from sketcher.strength.seal import SealDesign, design_seal
from sketcher.sureness.wording import report

#: The moment that every file in the zip carries: zip has no "none", and 1980 is where its clock begins.
_MOMENT = (1980, 1, 1, 0, 0, 0)
#: What a pack of a state that is no revision is called.
DRAFT = "DRAFT"

Receiver = Literal["shop", "builder"]


@dataclass(frozen=True)
class Occasion:
    """Which revision is handed off: its label, its day, its reason."""

    label: str = ""
    dated: str = ""
    reason: str = ""

    def line(self) -> str:
        """All of it in a line."""
        return ", ".join(
            word for word in (f"revision {self.label}" if self.label else "", self.dated, self.reason) if word
        )


def handoff_files(
    document: Document,
    shapes: Shapes,
    findings: Sequence[Finding],
    *,
    label: str = "",
    dated: str = "",
    reason: str = "",
    volume_l: float | None = None,
    receiver: Receiver = "shop",
    dxf_version: str = "R2010",
    earlier: Sequence[tuple[str, str, str]] = (),
) -> dict[str, bytes]:
    """The files of a hand-off by name.

    Args:
        document: the plate.
        shapes: its shapes.
        findings: every finding; an open error stands in the way.
        label: the revision's.
        dated: the revision's day.
        reason: why the revision was kept.
        volume_l: coolant in the whole loop, litres, when it is known.
        receiver: the shop, or the builder.
        dxf_version: R2010, or R12 for old controls.
        earlier: label, day and reason of the revisions before it, the oldest first.

    Raises:
        ExportError: an error is open, or a file cannot be made; the message names the item.
    """
    stop_for_errors(findings)
    which = Occasion(label, dated, reason)
    seal = design_seal(document, shapes)
    rows = parts(document, shapes, volume_l)
    lines = estimate(document, shapes, seal, make_sheet(document, shapes, "test-piece").cut_length_mm())
    make = _shop if receiver == "shop" else _builder
    files = make(document, shapes, seal, which, dxf_version)
    left_out: list[str] = []
    for kind in registry.kinds():
        if receiver not in kind.packs or kind.make is None:
            continue
        try:
            sheet = make_sheet(document, shapes, kind.name, label)
        except ExportError as error:
            # There may be nothing for it to show, such as rigid tubes: the README says so.
            left_out.append(f"{kind.name}: {error}")
            continue
        for suffix in ("dxf", "pdf"):
            files[f"{kind.name}.{suffix}"] = write_sheet(sheet, suffix, None, dxf_version)
    files["drawing.pdf"] = shop_drawing_pdf(
        document, shapes, revision=label, dated=dated, reason=reason, earlier=earlier
    )
    files["parts.csv"] = parts_csv(rows).encode()
    files["estimate.txt"] = _estimate(lines).encode()
    files["plate.html"] = plate_html(document, shapes, seal, findings, rows, lines, which.line())
    files["plate.json"] = dumps(document).encode()
    files["findings.txt"] = _findings(findings).encode()
    files["README.txt"] = _readme(document, shapes, which, receiver, files, left_out).encode()
    files["SHA256SUMS.txt"] = "".join(f"{digest}  {name}\n" for name, digest in fingerprints(files).items()).encode()
    return files


def page_alone(document: Document, shapes: Shapes, findings: Sequence[Finding], volume_l: float, label: str) -> bytes:
    """``plate.html`` by itself, to look at: with its findings, also open ones, and without a revision's day."""
    seal = design_seal(document, shapes)
    lines = estimate(document, shapes, seal, make_sheet(document, shapes, "test-piece").cut_length_mm())
    return plate_html(
        document, shapes, seal, findings, parts(document, shapes, volume_l), lines, Occasion(label).line()
    )


def stop_for_errors(findings: Sequence[Finding]) -> None:
    """Raises ``ExportError`` while an error is open."""
    stop = [finding for finding in findings if finding.open_error]
    if stop:
        names = ", ".join(sorted({f"{f.rule} ({', '.join(f.items)})" if f.items else f.rule for f in stop}))
        raise ExportError(f"{len(stop)} error(s) are open: {names}; fix them, or accept each with a reason")


def _shop(document: Document, shapes: Shapes, seal: SealDesign, which: Occasion, dxf_version: str) -> dict[str, bytes]:
    """A file for each set-up, the solids, the hole table."""
    files = {
        f"{name}.dxf": export_sheet(document, shapes, name, "dxf", label=which.label, dxf_version=dxf_version)
        for name in ("body-above", "body-below", "lid")
    }
    inner = lid_inner(document, shapes, which.label)
    if inner is not None:
        files["lid-inner.dxf"] = write_sheet(inner, "dxf", None, dxf_version)
    for name, edge in edge_sheets(document, shapes, which.label):
        files[f"{name}.dxf"] = write_sheet(edge, "dxf", None, dxf_version)
    if solid.available():
        files |= solid.all_solids(document, shapes, which.label)
    files["final.pdf"] = export_sheet(document, shapes, "final", "pdf", label=which.label)
    files["holes.csv"] = holes_csv(document, shapes).encode()
    return files


def _builder(
    document: Document, shapes: Shapes, seal: SealDesign, which: Occasion, dxf_version: str
) -> dict[str, bytes]:
    """The steps, and the chance that all tubes land; the sheets come by the registry."""
    return {
        "assembly.txt": assembly_steps(document, seal).encode(),
        "sureness.txt": report(document, shapes).encode(),
    }


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


def _estimate(lines: Sequence[Line]) -> str:
    head = "Estimates, not offers. Each figure stands with its formula.\n\n"
    return head + "\n".join(f"{line.what}: {line.value}\n    {line.how}" for line in lines) + "\n"


def _findings(findings: Sequence[Finding]) -> str:
    if not findings:
        return "The checks found nothing.\n"
    lines = []
    for finding in findings:
        at = f" at {finding.at[0]:.1f}, {finding.at[1]:.1f}" if finding.at else ""
        lines.append(f"{finding.level}: {finding.rule}{at}: {finding.message}")
        lines.append(f"    accepted: {finding.accepted}" if finding.accepted else f"    open. {finding.remedy}")
    return "\n".join(lines) + "\n"


#: What each file is, in the order in which the README has them; those that are not in the pack are left out.
_ABOUT = {
    "plate.html": "the plate to look at: plan, sections, tables, findings; opens in any browser, without a network",
    "drawing.pdf": "views, sections, hole table, sizes, tolerances, notes, cautions",
    "body-above.dxf": "what is cut into the body from above, from the datum",
    "body-below.dxf": "what is cut into the body from below; mirrored already, as it lies on the machine",
    "lid.dxf": "what is cut into the lid, seen from outside",
    "lid-inner.dxf": "what is cut into the lid from inside",
    "edge-": "what is drilled into an edge, seen square to it",
    "body.step": "the body as a solid (STEP AP242); threads are nominal holes that carry their names",
    "lid.step": "the lid as a solid",
    "assembly.step": "both together",
    "assembly.stl": "a mesh of both, for looking",
    "final.pdf": "to read: all operations on one page at true size, all seen from above",
    "holes.csv": "every hole of body and lid from the datum, the front left corner of the plate's bounding box",
    "assembly.txt": "putting together, leak test, filling, step by step",
    "sureness.txt": "the chance that every tube lands, whose spread it is, what would raise it",
    "floor-cut.": "what is cut and drilled in the case floor, at true size",
    "parts.csv": "fittings, plugs, cord, screws, washers, spacers, tubes, coolant",
    "estimate.txt": "time, stock and weight, estimated",
    "findings.txt": "what the checks found, with the reasons for accepted findings",
    "plate.json": "the plate itself",
    "SHA256SUMS.txt": "fingerprints of the files",
}


def _readme(
    document: Document,
    shapes: Shapes,
    which: Occasion,
    receiver: Receiver,
    files: dict[str, bytes],
    left_out: Sequence[str],
) -> str:
    plate = document.plate
    left, front, right, rear = shapes.plate_polygon.bounds
    names = sorted([*files, "SHA256SUMS.txt"])
    listed = [
        f"{name:<16} {about}" for start, about in _ABOUT.items() for name in names
        if name == start or (start.endswith(("-", ".")) and name.startswith(start))
    ]  # fmt: skip
    listed += [
        f"{kind.name}.*{' ' * max(1, 15 - len(kind.name))}{kind.about}"
        for kind in registry.kinds()
        if f"{kind.name}.pdf" in files and receiver in kind.packs and kind.name != "floor-cut"
    ]
    without = (
        "" if solid.available() or receiver != "shop" else f"\nNo STEP files are in this package: {solid.HOW_TO_GET}.\n"
    )
    without += "".join(f"\nNot in this package: {words}\n" for words in left_out)
    sheet = "final" if receiver == "shop" else "floor-cut"
    mind = "\n".join(
        f"- {caution.title}: {caution.text} {caution.defer}"
        for caution in dict.fromkeys((*registry.cautions_of("final"), *registry.cautions_of(sheet)))
    )
    listing = "\n".join(listed)
    return f"""{document.name or "Coolant distribution plate"}
{which.line()}
For the {receiver}.

A milled body of {plate.material}, {plate.body_thickness_mm:g} mm,
closed by a lid of {plate.lid_thickness_mm:g} mm on its {plate.lid_face}.
It measures {right - left:.1f} × {rear - front:.1f} mm over all. All lengths are millimetres.

{listing}
{without}
Where the drawing and another file differ, ask.
Tolerance ±{document.shop.tolerance_mm:g} mm unless the drawing says otherwise.

{pressure_test(document).text()}

Safety:
{mind}
"""
