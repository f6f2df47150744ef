"""Writing a file so that it is either whole or not there."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from sketcher.document.safe_files import write_whole
from sketcher.export.sheet import ExportError


def save(path: Path, content: bytes, inputs: Iterable[Path] = ()) -> None:
    """Writes a file, wholly or not at all, and over none of the ``inputs``.

    Raises:
        ExportError: the folder cannot be written, the disk is full, or something else stands there; an older file
            stays as it was.
    """
    try:
        write_whole(path, content, inputs)
    except OSError as error:
        raise ExportError(f"{error.strerror or error}; choose another place or make room") from None
