"""Files for people and machines: one module per kind."""

from sketcher.export.files import save
from sketcher.export.handoff import fingerprints, handoff_files, make_handoff, packed
from sketcher.export.sheet import SHEETS, ExportError, Sheet
from sketcher.export.sheets import export_sheet, make_sheet, write_sheet

__all__ = [
    "SHEETS",
    "ExportError",
    "Sheet",
    "export_sheet",
    "fingerprints",
    "handoff_files",
    "make_handoff",
    "make_sheet",
    "packed",
    "save",
    "write_sheet",
]
