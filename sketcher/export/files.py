"""Writing a file so that it is either whole or not there."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from sketcher.export.sheet import ExportError


def save(path: Path, content: bytes) -> None:
    """Writes beside the file, then renames over it.

    Raises:
        ExportError: the folder cannot be written or the disk is full; an older file stays as it was.
    """
    beside = path.with_name(path.name + ".part")
    try:
        with beside.open("wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    except OSError as error:
        raise ExportError(f"{error.strerror or error}; choose another place or make room") from None
    finally:
        # Where the folder is gone or cannot be written there is nothing left to tidy.
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
