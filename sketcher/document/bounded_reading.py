"""Reading a file to its end, and never for ever: folders, devices, pipes and files that grow each have an end here."""

from __future__ import annotations

import errno
import os
import select
import stat
import time
from pathlib import Path

#: Nothing came from a pipe for so long, s: whoever should write to it is not there.
SILENT_S = 10.0
_BLOCK = 1 << 20


class TooLarge(OSError):
    """The file is larger than was asked for, or has no end."""


def read_bounded(path: Path, most_bytes: int) -> bytes:
    """All that a file holds, or what comes through a pipe.

    Args:
        path: a file; a pipe too, since a shell gives one for the output of another program.
        most_bytes: more is not read; what the file said of its size before does not count, since files grow.

    Raises:
        TooLarge: there is more.
        OSError: it cannot be read, is a folder, or nothing came for ``SILENT_S``.
    """
    # A pipe that nobody writes to would hold the opening itself.
    descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    try:
        mode = os.fstat(descriptor).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(errno.EISDIR, "it is a folder")
        waits = not (stat.S_ISREG(mode) or os.name == "nt")
        parts: list[bytes] = []
        size = 0
        while part := (_from_pipe if waits else os.read)(descriptor, _BLOCK):
            size += len(part)
            if size > most_bytes:
                raise TooLarge(errno.EINVAL, f"it is larger than {most_bytes / 1_000_000:g} MB")
            parts.append(part)
        if waits and not parts:
            raise OSError(errno.EINVAL, "it is a pipe or a device from which nothing came")
        return b"".join(parts)
    finally:
        os.close(descriptor)


def _from_pipe(descriptor: int, most: int) -> bytes:
    """The next that comes, nothing at the end; waits for a writer, but not for ever."""
    until = time.monotonic() + SILENT_S
    while (left := until - time.monotonic()) > 0:
        poll = select.poll()
        poll.register(descriptor, select.POLLIN)
        if poll.poll(left * 1000):
            try:
                return os.read(descriptor, most)
            except BlockingIOError:
                continue
    raise OSError(errno.EINVAL, f"nothing came from it for {SILENT_S:.0f} s")
