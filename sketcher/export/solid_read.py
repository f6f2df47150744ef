"""A STEP file read back: the kernel's solids in it."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from sketcher.export.sheet import ExportError
from sketcher.export.solid import solids_of

#: Larger files than this are not read, bytes.
LARGEST_BYTES = 60_000_000


def read_shapes(data: bytes) -> list[Any]:
    """The kernel's solids in a STEP file, in mm.

    Raises:
        ExportError: the file is too large, or is no STEP file with a solid in it.
    """
    if len(data) > LARGEST_BYTES:
        raise ExportError(f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; take out what is not the plate")
    solids = solids_of(_shape(data))
    if not solids:
        raise ExportError("no solid is in the STEP file; export the part as a solid, not as surfaces")
    return solids


def _shape(data: bytes) -> Any:
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPControl import STEPControl_Reader

    from sketcher.export.solid import quiet

    quiet()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "returned.step"
        file.write_bytes(data)
        reader = STEPControl_Reader()
        if not data.lstrip().startswith(b"ISO-10303-21") or reader.ReadFile(str(file)) != IFSelect_RetDone:
            raise ExportError("this is no STEP file; it begins with ISO-10303-21")
        reader.TransferRoots()
        return reader.OneShape()
