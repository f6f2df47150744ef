"""Writing a file so that it is either whole or as it was, and never over what it must not be written over.

What is written goes into a new file of a random name beside the target, is flushed to the disk, and takes the target's
name in one step. Nothing is written through a link, into a device, over a command's own input, or over a file of
another kind: a slip in ``-o`` costs nothing.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import secrets
import stat
from collections.abc import Iterable
from pathlib import Path
from typing import Any

fcntl: Any
try:
    import fcntl
except ImportError:  # Windows has none
    fcntl = None

#: So much of an existing file is looked at to know its kind; a plate document is never larger.
_LOOKED_AT_BYTES = 16_000_000
_PLATE = "a plate document"


def write_whole(path: Path, content: bytes, inputs: Iterable[Path] = ()) -> None:
    """Writes a file, wholly or not at all.

    Args:
        path: the file; one of the same kind that stands there is replaced.
        content: what it shall hold.
        inputs: what the command read; none of it is overwritten.

    Raises:
        OSError: it cannot be written, or must not be; an older file stays as it was.
    """
    check_target(path, content, inputs)
    beside, stream = _new_beside(path)
    try:
        with stream:
            stream.write(content)
            stream.flush()
            flush_to_disk(stream.fileno())
        _put_in_place(beside, path)
    finally:
        # Where the folder is gone or cannot be written there is nothing left to tidy.
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
    _flush_folder(path.parent)


def check_target(path: Path, content: bytes, inputs: Iterable[Path] = ()) -> None:
    """Raises ``OSError`` where ``content`` must not be written to ``path``."""
    if not check_place(path, inputs):
        return
    with path.open("rb") as stream:
        old, new = kind_of(stream.read(_LOOKED_AT_BYTES)), kind_of(content)
    if old not in ("", new):
        raise _refused(f"{old} stands there, {new or 'an empty file'} does not replace it")


def check_place(path: Path, inputs: Iterable[Path] = ()) -> bool:
    """Whether a file stands there. What takes long asks before it begins.

    Raises:
        OSError: nothing may be written to ``path``, whatever it is.
    """
    try:
        there = path.lstat()
    except FileNotFoundError:
        path.parent.stat()
        return False
    if any(_same(read, path) for read in inputs):
        raise _refused("it is the file that was read, and stays as it is")
    if stat.S_ISLNK(there.st_mode):
        raise _refused("it is a link, and links are not followed; name the file itself")
    if stat.S_ISDIR(there.st_mode):
        raise IsADirectoryError(errno.EISDIR, "it is a folder; name a file in it")
    if not stat.S_ISREG(there.st_mode):
        raise _refused("it is no ordinary file")
    return True


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def kind_of(content: bytes) -> str:
    """What a file is by its content, in words; empty for an empty one."""
    text = content.lstrip(b"\xef\xbb\xbf \t\r\n")
    if not text:
        return ""
    for sign, kind in (
        (b"%PDF", "a PDF file"),
        (b"PK\x03\x04", "a zip file"),
        (b"PK\x05\x06", "a zip file"),
        (b"ISO-10303-21", "a STEP file"),
        (b"solid", "an STL file"),
        (b"STLB", "an STL file"),
        (b"SQLite format 3", "a database"),
    ):
        if text.startswith(sign):
            return kind
    if text.startswith(b"<") and b"<svg" in text:
        return "an SVG file"
    if text.startswith((b"0\r\nSECTION", b"0\nSECTION", b"999\n", b"999\r\n")):
        return "a DXF file"
    if text.startswith(b"{") and b'"plate"' in text and b'"floor"' in text:
        return _PLATE
    if len(content) >= 84 and len(content) == 84 + 50 * int.from_bytes(content[80:84], "little"):
        return "an STL file"
    return "another file"


def _refused(why: str) -> OSError:
    return FileExistsError(errno.EEXIST, why)


def _new_beside(path: Path) -> tuple[Path, io.BufferedWriter]:
    """A file of its own beside another: nobody can have put a link of its name there."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    while True:
        beside = path.with_name(f".{path.name[:60]}.{secrets.token_hex(8)}.part")
        try:
            return beside, os.fdopen(os.open(beside, flags, 0o666), "wb")
        except FileExistsError:
            continue


def _put_in_place(beside: Path, path: Path) -> None:
    try:
        os.replace(beside, path)
    except PermissionError as error:
        if os.name != "nt":
            raise
        # There nobody replaces a file that a program holds open, as most viewers do.
        why = f"{path.name} cannot be replaced: close it in the program that has it open"
        raise PermissionError(error.errno, why) from None


def flush_to_disk(opened: int) -> None:
    """Has what was written on the disk itself. On macOS ``fsync`` leaves it in the disk's own memory, and a call of its
    own does more (man 2 fsync there); a file system that does not know it is flushed as elsewhere."""
    full = getattr(fcntl, "F_FULLFSYNC", None)
    if full is not None:
        with contextlib.suppress(OSError):
            fcntl.fcntl(opened, full)
            return
    os.fsync(opened)


def _flush_folder(folder: Path) -> None:
    """The new name too survives the machine's going down. Windows has no such call, and some file systems refuse it."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            flush_to_disk(opened)
        finally:
            os.close(opened)
