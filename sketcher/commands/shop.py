"""What goes to the shop and comes back from it: sheets as files, the packages, a returned file compared."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from sketcher.commands.common import FOUND, OK, Stop, answered, document_of, told_of
from sketcher.document import Document
from sketcher.document.bounded_reading import read_bounded
from sketcher.document.safe_files import check_place

if TYPE_CHECKING:  # what writes files takes long to import
    from sketcher.export.returned import ReturnedKind

#: As much as the page sends: a solid is the largest.
LARGEST_RETURNED_BYTES = 32_000_000
#: Kinds of file that a shop sends back, by their endings.
RETURNED: dict[str, ReturnedKind] = {"dxf": "dxf", "svg": "svg", "step": "step", "stp": "step"}


def export(options: argparse.Namespace) -> int:
    """A sheet as a file."""
    from sketcher.checks.by_rule import with_lid_screws
    from sketcher.export import SOLID, ExportError, make_sheet, save, write_sheet
    from sketcher.geometry import build

    document = with_lid_screws(document_of(options.file))
    suffix = options.output.suffix.lower().lstrip(".")
    if suffix in SOLID:
        return _export_solid(options, document, suffix)
    try:
        sheet = make_sheet(document, build(document), options.sheet, options.label, options.copies)
        save(options.output, write_sheet(sheet, suffix, options.paper, options.dxf), [options.file])
    except ExportError as error:
        raise Stop(f"{options.output}: {error}") from None
    left, front, right, rear = sheet.box()
    print(
        f"{options.output}: {right - left:.1f} by {rear - front:.1f} mm, {sheet.cut_length_mm() / 1000:.2f} m of cuts"
    )
    for note in sheet.notes:
        print(f"  {note}")
    return OK


def _export_solid(options: argparse.Namespace, document: Document, suffix: str) -> int:
    from sketcher.export import ExportError, export_sheet, save
    from sketcher.geometry import build

    try:
        data = export_sheet(document, build(document), options.sheet, suffix, label=options.label)
        save(options.output, data, [options.file])
    except ExportError as error:
        raise Stop(f"{options.output}: {error}") from None
    print(f"{options.output}: {len(data) / 1000:.0f} kB, from the datum, millimetres")
    return OK


def handoff(options: argparse.Namespace) -> int:
    """The package for the shop or the builder."""
    from sketcher.checks import run
    from sketcher.checks.by_rule import with_lid_screws
    from sketcher.export import DRAFT, ExportError, handoff_files, packed, save
    from sketcher.flow import solve_loop
    from sketcher.geometry import build

    document = with_lid_screws(document_of(options.file))
    with told_of(options.output):
        check_place(options.output, [options.file])
    shapes = build(document)
    flow = solve_loop(document, shapes)
    volume = float(flow.as_json()["volume_l"])
    try:
        findings = run(document, shapes, flow=flow)
        files = handoff_files(
            document,
            shapes,
            findings,
            label=options.label.strip() or DRAFT,
            volume_l=volume,
            receiver=options.receiver,
            dxf_version=options.dxf,
        )
        save(options.output, packed(files), [options.file])
    except ExportError as error:
        raise Stop(f"{options.output}: {error}") from None
    print(f"{options.output}: {', '.join(sorted(files))}")
    if not options.label.strip():
        print(f"No revision was named: the files are marked {DRAFT}. Keep a revision first and name it with --label.")
    return OK


def compare(options: argparse.Namespace) -> int:
    """A file that came back from the shop, against the plate's own: 0 when nothing differs, 1 when something does."""
    from sketcher.checks.by_rule import with_lid_screws
    from sketcher.export import ExportError
    from sketcher.export.returned import returned
    from sketcher.geometry import build

    document = with_lid_screws(document_of(options.file))
    kind = RETURNED.get(options.returned.suffix.lower().lstrip("."))
    if kind is None:
        raise Stop(f"{options.returned}: its ending says no kind of file that is compared: {', '.join(RETURNED)}")
    with told_of(options.returned, "name the file that the shop sent back"):
        data = read_bounded(options.returned, LARGEST_RETURNED_BYTES)
    try:
        found = returned(document, build(document), data, kind, sheet=options.sheet, unit=options.unit)
    except ExportError as error:
        raise Stop(f"{options.returned}: {error}") from None
    answer = found.as_json()
    answered(answer, compare_words(answer), options.json)
    return FOUND if differs(answer) else OK


def differs(answer: dict[str, Any]) -> bool:
    """Whether a shop that cut the returned file would make another part: a mere shift or turn does no harm."""
    wrong = answer["mirrored"] or answer["scale"] != 1.0
    return bool(wrong or answer["rows"] or any(part["mirrored"] or part["scale"] != 1.0 for part in answer["parts"]))


def compare_words(answer: dict[str, Any]) -> Iterator[str]:
    """The comparison, a line for each difference."""
    counts = ", ".join(f"{count} {what}" for what, count in answer["counts"].items() if count)
    yield f"Compared with the sheet {answer['sheet']}: {counts or 'nothing alike'}"
    yield from answer["messages"]
    for row in answer["rows"]:
        at = ", ".join(f"{value:.2f}" for value in row["at"])
        yield f"  {row['what']}: {row['item'] or row['layer']} at {at}: {row['words']}"
