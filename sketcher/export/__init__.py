"""Files for people and machines: one module per kind."""

from sketcher.export.handoff import DRAFT, fingerprints, handoff_files, packed
from sketcher.export.nest import nest
from sketcher.export.output_file import save
from sketcher.export.readback import ReadBack, read_back
from sketcher.export.registry import SOLID, kinds, names
from sketcher.export.returned import ReturnedKind, returned
from sketcher.export.sheet import ExportError, Sheet
from sketcher.export.sheets import export_sheet, make_sheet, write_sheet

__all__ = [
    "DRAFT",
    "SOLID",
    "ExportError",
    "ReadBack",
    "ReturnedKind",
    "Sheet",
    "export_sheet",
    "fingerprints",
    "handoff_files",
    "kinds",
    "make_sheet",
    "names",
    "nest",
    "packed",
    "read_back",
    "returned",
    "save",
    "write_sheet",
]
