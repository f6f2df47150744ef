"""Files for people and machines: one module per kind.

What is asked for here is imported then, and not before: the writers take long, and the first answer needs none.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sketcher.export.handoff import DRAFT, fingerprints, handoff_files, packed
    from sketcher.export.output_file import save
    from sketcher.export.readback import ReadBack, read_back
    from sketcher.export.registry import SOLID
    from sketcher.export.sheet import ExportError, Sheet
    from sketcher.export.sheets import export_sheet, kinds, make_sheet, names, write_sheet

_MODULES = {
    "output_file": ("save",),
    "handoff": ("DRAFT", "fingerprints", "handoff_files", "packed"),
    "readback": ("ReadBack", "read_back"),
    "registry": ("SOLID",),
    "sheet": ("ExportError", "Sheet"),
    # The sheets register themselves, so that their lists are complete only with them.
    "sheets": ("export_sheet", "kinds", "make_sheet", "names", "write_sheet"),
}
_MODULE_OF = {name: module for module, names_ in _MODULES.items() for name in names_}


def __getattr__(name: str) -> Any:
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found = getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    globals()[name] = found
    return found


__all__ = [
    "DRAFT",
    "SOLID",
    "ExportError",
    "ReadBack",
    "Sheet",
    "export_sheet",
    "fingerprints",
    "handoff_files",
    "kinds",
    "make_sheet",
    "names",
    "packed",
    "read_back",
    "save",
    "write_sheet",
]
