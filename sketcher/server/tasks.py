"""What takes long and runs beside the server: files of a plate, and the reading of drawings.

Pure functions of plain values, so that they can run in a process of their own (``worker``); documents are JSON text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

from sketcher.checks.by_rule import with_lid_screws
from sketcher.document import DocumentError, Fault, loads
from sketcher.export.sheet import ExportError
from sketcher.geometry import build
from sketcher.importing.outline_joining import DrawingError
from sketcher.importing.progress import Progress, unheard
from sketcher.importing.units import UnitUnknown
from sketcher.server.look_routes import Look

# The server imports this too, for the names of the tasks: what makes the files is imported when one is made.
if TYPE_CHECKING:
    from sketcher.export.handoff import Receiver
    from sketcher.export.returned import ReturnedKind
    from sketcher.importing.floor_import import ImportedFloor


def read_drawing(
    data: bytes, kind: Literal["dxf", "svg"], unit: str | None, progress: Progress = unheard
) -> ImportedFloor:
    """The outlines in a drawing. Raises ``DrawingError``."""
    from sketcher.importing import floor_import

    return floor_import.from_bytes(data, kind, unit, progress)


def sheet_file(
    text: str,
    sheet: str,
    suffix: str,
    label: str,
    paper: str | None,
    copies: int,
    dxf: str,
    progress: Progress = unheard,
) -> bytes:
    """One sheet as a file. Raises ``ExportError``."""
    from sketcher.export import export_sheet

    document = with_lid_screws(loads(text))
    return export_sheet(
        document, build(document), sheet, suffix, label=label, paper=paper, copies=copies, dxf_version=dxf
    )


Earlier = Sequence[tuple[str, str, str]]


def hand_off(
    text: str, label: str, dated: str, reason: str, receiver: Receiver, dxf: str, earlier: Earlier = ()
) -> dict[str, bytes]:
    """The files of a hand-off, dated and labelled as the revision is; ``earlier`` are label, day and reason of those
    before it, for the drawing. Raises ``ExportError``."""
    from sketcher.export import handoff_files

    look = Look(loads(text))
    return handoff_files(
        look.document,
        look.shapes,
        look.found,
        label=label,
        dated=dated,
        reason=reason,
        volume_l=look.volume_l,
        receiver=receiver,
        dxf_version=dxf,
        earlier=earlier,
    )


def package(
    text: str,
    label: str,
    dated: str,
    reason: str,
    receiver: Receiver,
    dxf: str,
    earlier: Earlier = (),
    progress: Progress = unheard,
) -> bytes | None:
    """The zip of a hand-off; none for a state without a label, once it is sure that no error is open."""
    from sketcher.export.handoff import packed, stop_for_errors

    if not label:
        stop_for_errors(Look(loads(text)).found)
        return None
    return packed(hand_off(text, label, dated, reason, receiver, dxf, earlier))


def page_file(text: str, label: str, progress: Progress = unheard) -> bytes:
    """The plate as one page that any browser opens without this program. Raises ``ExportError``."""
    from sketcher.export.handoff import page_alone

    look = Look(with_lid_screws(loads(text)))
    return page_alone(look.document, look.shapes, look.found, look.volume_l, label)


def prints_of(
    text: str, kind: str, label: str, dated: str, reason: str, earlier: Earlier = (), progress: Progress = unheard
) -> dict[str, str]:
    """The SHA-256 of each file that a revision of this kind stands for, by name. Raises ``ExportError``."""
    from sketcher.export import export_sheet, fingerprints

    if kind == "hand-off":
        return fingerprints(hand_off(text, label, dated, reason, "shop", "R2010", earlier))
    if kind == "test-piece":
        document = with_lid_screws(loads(text))
        shapes = build(document)
        return fingerprints(
            {
                f"test-piece.{suffix}": export_sheet(document, shapes, "test-piece", suffix, label=label)
                for suffix in ("dxf", "svg", "pdf")
            }
        )
    return {}


def returned(
    text: str,
    data: bytes,
    kind: ReturnedKind,
    sheet: str | None,
    unit: str | None,
    progress: Progress = unheard,
) -> dict[str, Any]:
    """A returned drawing or solid compared with the plate's own sheet. Raises ``ExportError``."""
    from sketcher.export.returned import returned as held_against

    document = with_lid_screws(loads(text))
    return held_against(document, build(document), data, kind, sheet=sheet, unit=unit).as_json()


TASKS: Mapping[str, Callable[..., Any]] = {
    task.__name__: task for task in (read_drawing, sheet_file, package, page_file, prints_of, returned)
}


def as_refusal(error: Exception) -> tuple[str, str, Any] | None:
    """An error that says something to the user, as plain values; none for one that nobody foresaw."""
    if isinstance(error, DocumentError):
        return "document", str(error), [(fault.pointer, fault.message) for fault in error.faults]
    if isinstance(error, UnitUnknown):
        return "unit", error.why, error.options
    if isinstance(error, DrawingError):
        return "drawing", str(error), None
    if isinstance(error, ExportError):
        return "export", str(error), None
    return None


def refused(kind: str, words: str, more: Any) -> Exception:
    """The error that ``as_refusal`` made plain values of."""
    if kind == "document":
        return DocumentError([Fault(*row) for row in more])
    if kind == "unit":
        return UnitUnknown(words, more)
    return DrawingError(words) if kind == "drawing" else ExportError(words)
